//! The verdict on a bend: proved, nominal or none; the times to use; and what closes the window.

use serde::{Deserialize, Serialize};

use super::bend::Bend;
use super::explore::{Effects, Explorer, Span, time_of};
use super::unknown::Unknown;
use crate::physics::fault::Fault;
use crate::physics::section::{Follow, Resolution, Run, Solver};

/// How far the window is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Verdict {
    /// Closed even at the nominal point.
    None,
    /// Open at the nominal point only.
    Nominal,
    /// Open over everything that is not known.
    Proved,
}

/// What one unknown alone does to the window.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closing {
    /// Which.
    pub unknown: Unknown,
    /// How much later the bend may be ready than at the nominal, s; infinite if then never.
    pub ready_later: f64,
    /// How much earlier it may be over, s.
    pub over_earlier: f64,
}

impl Closing {
    /// What it takes from the window in all, s.
    pub fn taken(&self) -> f64 {
        self.ready_later + self.over_earlier
    }
}

/// The window of one bend.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Earliest heat time after which the bend can be made.
    pub ready: Span,
    /// Heat time at which the hottest point reaches the ceiling.
    pub over: Span,
    /// Time in the arm after the chosen heat time; none without a window.
    pub set: Option<Span>,
    /// How far the window is open.
    pub verdict: Verdict,
    /// Heat time to use, whole seconds, never above over; none without a window.
    pub heat: Option<f64>,
    /// Time in the arm to use, whole seconds rounded up; none without a window, or if it never sets.
    pub hold: Option<f64>,
    /// How long after over the model is void, at the nominal; none if it does not get there.
    pub void_after: Option<f64>,
    /// What the chosen heat time leads to at the nominal.
    pub run: Option<Run>,
    /// What every unknown alone takes from the window, most first.
    pub closings: Vec<Closing>,
}

/// A window that stays open without end is used as if it ended at this multiple of ready.
const LONG_ENOUGH: f64 = 1.5;

/// Solves a bend over its whole box, and chooses a heat time.
pub fn solve(solver: &mut Solver, bend: &Bend<'_>) -> Result<Window, Fault> {
    solved(solver, bend, None)
}

/// The same window, with the set and the run that follow from a given heat time (s, all stages together).
pub fn solve_given(solver: &mut Solver, bend: &Bend<'_>, heat: f64) -> Result<Window, Fault> {
    solved(solver, bend, Some(heat))
}

fn solved(solver: &mut Solver, bend: &Bend<'_>, given: Option<f64>) -> Result<Window, Fault> {
    bend.check()?;
    let nominal = bend.unknowns.nominal();
    let mut explorer = Explorer { solver, bend };
    let ([ready, over], [on_ready, on_over]) = explorer.windows()?;
    let (verdict, chosen) = choose(ready, over, bend.horizon);
    let heat = given.or(chosen);
    let mut window = Window {
        ready,
        over,
        set: None,
        verdict,
        heat,
        hold: None,
        void_after: None,
        run: None,
        closings: closings(bend, &on_ready, &on_over),
    };
    let followed_up = heat.filter(|heat| *heat > 0.0 && *heat <= bend.horizon);
    if let Some(heat) = followed_up {
        let set = explorer.sets(heat)?;
        let hold = if verdict == Verdict::Proved { set.high } else { set.nominal };
        window.set = Some(set);
        window.hold = hold.is_finite().then(|| hold.ceil());
    }
    let section = bend.section(&nominal);
    let resolution = Resolution::NORMAL.for_thickness(section.sheet.thickness);
    let mut followed = solver.heat(&section, resolution, Follow::ToVoid)?;
    window.void_after = followed.void.zip(followed.over).map(|(void, over)| void - over);
    // Past void nothing is reported, not even when the bend would be ready.
    if followed.void.is_some_and(|void| window.ready.nominal > void) {
        (window.ready.nominal, window.ready.high) = (f64::INFINITY, f64::INFINITY);
    }
    if let Some(heat) = given.and(followed_up).filter(|heat| *heat > followed.solved) {
        followed = solver.heat(&section, resolution, Follow::Until(heat))?;
    }
    // A run follows what was heated last, which is the nominal section.
    let within = followed_up.filter(|heat| *heat <= followed.solved);
    window.run = within.map(|heat| solver.run(&section, heat)).transpose()?;
    Ok(window)
}

/// The verdict and the heat time of a window.
///
/// The middle of the nominal window, kept inside the proved one; whole seconds, never above over.
pub(super) fn choose(ready: Span, over: Span, horizon: f64) -> (Verdict, Option<f64>) {
    let upper = over.nominal.min(LONG_ENOUGH * ready.nominal).min(horizon);
    if !ready.nominal.is_finite() || ready.nominal.ceil() > upper.floor() {
        return (Verdict::None, None);
    }
    let middle = (0.5 * (ready.nominal + upper)).floor().max(ready.nominal.ceil());
    let (from, to) = (ready.high.ceil(), over.low.min(horizon).floor());
    if from <= to { (Verdict::Proved, Some(middle.clamp(from, to))) } else { (Verdict::Nominal, Some(middle)) }
}

/// What every unknown alone takes from the window, most first; the order of the box decides between equals.
fn closings(bend: &Bend<'_>, on_ready: &Effects, on_over: &Effects) -> Vec<Closing> {
    let worse = |from: f64, to: f64| if time_of(to) > time_of(from) { time_of(to) - time_of(from) } else { 0.0 };
    let mut all: Vec<Closing> = bend
        .unknowns
        .wide()
        .map(|unknown| {
            let ready = on_ready.bounds[unknown.place()];
            let over = on_over.bounds[unknown.place()];
            Closing {
                unknown,
                ready_later: worse(on_ready.nominal, ready[0].max(ready[1])),
                over_earlier: worse(over[0].min(over[1]), on_over.nominal),
            }
        })
        .filter(|closing| closing.taken() > 0.0)
        .collect();
    all.sort_by(|a, b| b.taken().total_cmp(&a.taken()));
    all
}

/// What knowing one unknown exactly would give.
#[derive(Clone, Debug, PartialEq)]
pub struct Worth {
    /// Which.
    pub unknown: Unknown,
    /// Latest ready and earliest over that would be left, s.
    pub left: (f64, f64),
    /// The verdict then.
    pub verdict: Verdict,
}

/// What measuring one unknown would give, if it came out at its nominal value.
pub fn worth(solver: &mut Solver, bend: &Bend<'_>, unknown: Unknown) -> Result<Worth, Fault> {
    let mut measured = bend.clone();
    measured.unknowns.fix(unknown);
    let ([ready, over], _) = Explorer { solver, bend: &measured }.windows()?;
    let (verdict, _) = choose(ready, over, measured.horizon);
    Ok(Worth { unknown, left: (ready.high, over.low), verdict })
}

#[cfg(test)]
mod tests {
    use super::{Span, Verdict, choose};

    fn span(low: f64, nominal: f64, high: f64) -> Span {
        Span { nominal, low, high }
    }

    #[test]
    fn the_middle_is_kept_inside_what_is_proved() {
        let over = span(150.0, 170.0, 190.0);
        assert_eq!(choose(span(100.0, 130.0, 140.2), over, 900.0), (Verdict::Proved, Some(150.0)));
        assert_eq!(choose(span(100.0, 130.0, 160.0), over, 900.0), (Verdict::Nominal, Some(150.0)));
        assert_eq!(choose(span(100.0, 120.0, 149.4), over, 900.0), (Verdict::Proved, Some(150.0)));
        assert_eq!(choose(span(100.0, 171.0, 180.0), over, 900.0), (Verdict::None, None));
    }

    #[test]
    fn a_window_without_end_is_used_near_ready() {
        let never = span(f64::INFINITY, f64::INFINITY, f64::INFINITY);
        assert_eq!(choose(span(90.0, 100.0, 110.0), never, 900.0), (Verdict::Proved, Some(125.0)));
        assert_eq!(choose(never, never, 900.0), (Verdict::None, None));
        assert_eq!(choose(span(1.0, 1000.0, 1100.0), never, 900.0), (Verdict::None, None));
    }

    #[test]
    fn no_whole_second_between_ready_and_over_is_no_window() {
        assert_eq!(choose(span(100.3, 100.3, 100.3), span(100.8, 100.8, 100.8), 900.0), (Verdict::None, None));
    }
}
