//! The questions asked of a section: when is it ready, when is it too hot, when has it set.

mod history;

use serde::{Deserialize, Serialize};

use super::field::{EXTRAS, Phase, SHIELD, TAKEN, WIRE};
use super::march::{March, Moment, between};
use super::trail::Trail;
use super::zone::View;
use super::{Resolution, Section, Stage};
use crate::physics::fault::{Fault, Input, within};

pub use history::Sample;

/// Longest time in the arm that is looked at, s.
const LONGEST_SET: f64 = 7200.0;

/// Steps granted to one question; a bench's section takes some sixty.
const MOST_STEPS: usize = 20_000;

/// Temperature (K) past which not even the comparison of a hopeless heat with another has any sense.
const SENSELESS: f64 = 900.0;

/// What a transfer may add to the margin before it was looked at, K.
const MOST_ADDED: f64 = 20.0;

/// How far a heat is followed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Follow {
    /// Until it is known when the section is ready and when over.
    UntilKnown,
    /// Until it is known when it is over; ready is not looked for.
    UntilOver,
    /// Until both are known, and on to the void limit.
    ToVoid,
    /// To a given heat time (s), whatever happens; nothing is looked for.
    Until(f64),
}

/// What a heat was found to do. Times are whole heat times, s, from the first switching on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Earliest heat time after which the bend can be made; none if not before the horizon or settling. Past `over`, or
    /// past the void limit, it is a continuation of the model that only tells that there is no window.
    pub ready: Option<f64>,
    /// Heat time at which the hottest point reaches the ceiling; none if it never does within the horizon.
    pub over: Option<f64>,
    /// Heat time at which it reaches the void limit, where it was followed so far.
    pub void: Option<f64>,
    /// The longest heat time that was solved.
    pub solved: f64,
    /// The hottest any point became, K.
    pub hottest: f64,
    /// By how much (K) the longest heat solved was too cold for the bend; nought if ready was found or not looked for.
    pub short: f64,
}

/// What one heat time leads to. Temperatures in K.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Hottest point of the zone at the end of the heat.
    pub hottest: f64,
    /// Coldest point of the zone when the bend is finished.
    pub coldest: f64,
    /// Mean through the thickness at the line when the bend is finished.
    pub mean: f64,
    /// Temperatures at the line on both faces when the bend is finished.
    pub faces: [f64; 2],
    /// Full width softened through when the bend is finished, m.
    pub softened_width: f64,
    /// Time in the arm until the hottest point of the zone is at or below release, s; none if not in two hours.
    pub set: Option<f64>,
    /// Net heat the sheet took from the start to the end of the heat, J/m, both halves.
    pub taken: f64,
    /// Temperatures of the wires at the end of the heat.
    pub wires: [f64; 2],
    /// Temperatures of the shields at the end of the heat.
    pub shields: [f64; 2],
}

/// A solver with its buffers; one is kept for thousands of sections, and none of them influences the next.
#[derive(Clone, Debug, Default)]
pub struct Solver {
    march: March,
    trail: Trail,
    spare: Moment,
    /// What the transfer was last found to add to the margin, K.
    transfer_adds: f64,
}

impl Solver {
    /// A solver with empty buffers.
    pub fn new() -> Self {
        Self::default()
    }

    /// Heats a section and says when it is ready and when over.
    pub fn heat(&mut self, section: &Section<'_>, resolution: Resolution, follow: Follow) -> Result<Heat, Fault> {
        section.check()?;
        let horizon = match follow {
            Follow::Until(time) => within(Input::HeatTime, time, 0.0, 7200.0)?,
            Follow::UntilKnown | Follow::UntilOver | Follow::ToVoid => section.horizon,
        };
        self.march.prepare(section, resolution);
        self.march.budget = MOST_STEPS;
        self.trail.clear();
        self.transfer_adds = MOST_ADDED;
        let mut heat =
            Heat { ready: None, over: None, void: None, solved: 0.0, hottest: section.sheet.start, short: 0.0 };
        let (mut begun, mut settled) = (0.0, false);
        let last = section.stages.len() - 1;
        for (index, stage) in section.stages.iter().enumerate() {
            let end = if index == last { horizon } else { (begun + stage.duration).min(horizon) };
            self.march.enter(section, Phase::Heating(stage.level));
            self.trail.push(&self.march.now);
            while self.march.now.time < end && !settled {
                self.march.step(section, end)?;
                self.trail.push(&self.march.now);
                if !matches!(follow, Follow::Until(_)) {
                    self.note_crossings(section, &mut heat);
                    settled = heat.hottest > SENSELESS
                        || (follow == Follow::ToVoid && heat.void.is_some())
                        || (index == last && self.enough(section, begun, follow, &mut heat)?);
                }
            }
            if settled || self.march.now.time >= horizon {
                break;
            }
            begun = end;
        }
        heat.solved = self.trail.moments().last().map_or(0.0, |moment| moment.time);
        let looked_for = matches!(follow, Follow::UntilKnown | Follow::ToVoid);
        let stretched: f64 = section.stages.iter().take(last).map(|stage| stage.duration).sum();
        if looked_for && heat.ready.is_none() && heat.solved >= stretched {
            let last = self.margin(section, heat.solved)?;
            heat.ready = self.ready(section, stretched, (heat.solved, last))?;
            if heat.ready.is_none() {
                heat.short = (-last).max(0.0);
            }
        }
        Ok(heat)
    }

    /// Follows one heat time of the section last heated to the end of its set; heat times past `solved` are refused.
    pub fn run(&mut self, section: &Section<'_>, heat_time: f64) -> Result<Run, Fault> {
        let solved = self.trail.moments().last().map_or(0.0, |moment| moment.time);
        within(Input::HeatTime, heat_time, 0.0, solved)?;
        self.march.budget = MOST_STEPS;
        self.bend_after(section, heat_time)?;
        let start = &self.spare;
        let hottest = View { grid: &self.march.field.grid, sheet: &start.sheet }.hottest(section.zone);
        let [taken, wires, shields] = [
            [start.extras[TAKEN]; 2],
            [start.extras[WIRE], start.extras[WIRE + 1]],
            [start.extras[SHIELD], start.extras[SHIELD + 1]],
        ];
        let view = self.view();
        let mut run = Run {
            hottest,
            coldest: view.coldest(section.zone),
            mean: view.mean_at_line(),
            faces: view.faces_at_line(),
            softened_width: view.softened_width(section.limits.softened),
            set: None,
            taken: taken[0],
            wires,
            shields,
        };
        run.set = self.set(section)?;
        Ok(run)
    }

    /// Temperature (K) at `x` m from the line and `y` m from the first face, `time` s after the first switching on of
    /// the section last heated.
    pub fn temperature(&mut self, x: f64, y: f64, time: f64) -> f64 {
        self.trail.at(time, &mut self.spare);
        View { grid: &self.march.field.grid, sheet: &self.spare.sheet }.point(x, y)
    }

    /// Hottest point of the zone (K) `time` s into the arm, after a heat of `heat_time` s.
    pub fn hottest_in_arm(&mut self, section: &Section<'_>, heat_time: f64, time: f64) -> Result<f64, Fault> {
        within(Input::HeatTime, time, 0.0, LONGEST_SET)?;
        self.march.budget = MOST_STEPS;
        self.bend_after(section, heat_time)?;
        self.follow(section, Phase::Arm, time)?;
        Ok(self.view().hottest(section.zone))
    }

    /// Net heat taken by the sheet (J/m) since the start, and the enthalpy it holds above its start, at a heat time:
    /// two ways to the same figure, so that a test can close the balance.
    pub fn balance(&mut self, section: &Section<'_>, heat_time: f64) -> (f64, f64) {
        self.trail.at(heat_time, &mut self.spare);
        let grid = &self.march.field.grid;
        let sheet = &section.sheet;
        let mut held = 0.0;
        for (row, height) in grid.height.iter().enumerate() {
            let from = row * self.march.field.stride + 1;
            let values = self.spare.sheet.get(from..from + grid.columns()).unwrap_or(&[]);
            for (temperature, width) in values.iter().zip(&grid.width) {
                held += width * height * sheet.specific_heat.integral(sheet.start, *temperature);
            }
        }
        (self.spare.extras[TAKEN], 2.0 * held * sheet.density * sheet.specific_heat_factor)
    }

    /// Accepted time steps of everything done since the section was last heated.
    pub fn steps(&self) -> usize {
        self.march.steps
    }

    /// The present state on its mesh.
    fn view(&self) -> View<'_> {
        View { grid: &self.march.field.grid, sheet: &self.march.now.sheet }
    }

    /// Notes when the hottest point passes the ceiling and the void limit during the last step.
    fn note_crossings(&mut self, section: &Section<'_>, heat: &mut Heat) {
        let hottest = self.view().hottest_node();
        heat.hottest = heat.hottest.max(hottest);
        if heat.over.is_none() && hottest >= section.limits.ceiling {
            heat.over = Some(self.crossing(section.limits.ceiling, hottest_node));
        }
        if heat.void.is_none() && hottest >= section.limits.void {
            heat.void = Some(self.crossing(section.limits.void, hottest_node));
        }
    }

    /// The time in the last step at which a figure of the state passes a limit, by bisection on the interpolant.
    fn crossing(&mut self, limit: f64, figure: impl Fn(&View<'_>) -> f64) -> f64 {
        let (before, now) = (&self.march.before, &self.march.now);
        let grid = &self.march.field.grid;
        let (mut low, mut high) = (before.time, now.time);
        let rising = figure(&View { grid, sheet: &now.sheet }) >= limit;
        // 30 halvings of a step end below a microsecond.
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            between(before, now, middle, &mut self.spare);
            if (figure(&View { grid, sheet: &self.spare.sheet }) >= limit) == rising {
                high = middle;
            } else {
                low = middle;
            }
        }
        0.5 * (low + high)
    }

    /// Whether the last stage has been followed far enough.
    fn enough(&mut self, section: &Section<'_>, begun: f64, follow: Follow, heat: &mut Heat) -> Result<bool, Fault> {
        let now = self.march.now.time;
        let fastest = self.march.fastest;
        // What is left of the horizon could not change a temperature by a tenth of a kelvin.
        if fastest * (section.horizon - now) < 0.1 {
            return Ok(true);
        }
        if heat.over.is_none() || (follow == Follow::ToVoid && section.limits.void.is_finite()) {
            return Ok(false);
        }
        if follow == Follow::UntilOver {
            return Ok(true);
        }
        // What the transfer adds to the margin hardly changes from step to step, so it is asked for but rarely.
        let alone = margin(&self.view(), section);
        if heat.ready.is_none() && alone + self.transfer_adds >= 0.0 {
            // Looking for ready disturbs the march, so the present moment is kept aside.
            let (kept, before, steps) = (self.march.now.clone(), self.march.before.clone(), self.march.steps);
            let later = self.margin(section, now)?;
            self.transfer_adds = later - alone;
            if later >= 0.0 {
                heat.ready = self.ready(section, begun, (now, later))?;
            }
            (self.march.now, self.march.before, self.march.steps) = (kept, before, steps);
            if heat.ready.is_none() {
                let level = section.stages.last().map_or(1.0, |stage: &Stage| stage.level);
                self.march.enter(section, Phase::Heating(level));
            }
        }
        Ok(heat.ready.is_some())
    }

    /// The margin by which a bend made after a heat time would be warm enough, K; below zero it is too cold.
    fn margin(&mut self, section: &Section<'_>, heat_time: f64) -> Result<f64, Fault> {
        self.bend_after(section, heat_time)?;
        Ok(margin(&self.view(), section))
    }

    /// Earliest heat time from `from` to the first of `to`, whose margin is the second, at which the margin passes zero.
    ///
    /// What the transfer adds to the margin hardly changes with the heat time, so it is taken from one try, the heat time
    /// at which the margin of the heat alone would balance it is the next, and a few tries meet within milliseconds.
    fn ready(&mut self, section: &Section<'_>, from: f64, to: (f64, f64)) -> Result<Option<f64>, Fault> {
        let (to, last) = to;
        let (mut low, mut high) = (from, to);
        if last < 0.0 || !last.is_finite() {
            return Ok(None);
        }
        let mut adds = last - self.heat_margin(section, to);
        let first = self.heat_margin(section, from);
        if first + adds.max(MOST_ADDED) >= 0.0 && self.margin(section, from)? >= 0.0 {
            return Ok(Some(from));
        }
        for turn in 0..40 {
            if high - low < 1e-3 {
                break;
            }
            // A search that does not come to rest is a bisection from some turn on.
            let guess = if turn < 8 { self.balanced(section, low, high, adds) } else { 0.5 * (low + high) };
            let margin = self.margin(section, guess)?;
            if margin.abs() < 0.05 {
                return Ok(Some(guess));
            }
            adds = margin - self.heat_margin(section, guess);
            if margin >= 0.0 {
                high = guess;
            } else {
                low = guess;
            }
        }
        Ok(Some(high))
    }

    /// The heat time between two at which the margin of the heat alone is `−adds`, by bisection on the trail.
    fn balanced(&mut self, section: &Section<'_>, from: f64, to: f64, adds: f64) -> f64 {
        let (mut low, mut high) = (from, to);
        while high - low > 5e-4 {
            let middle = 0.5 * (low + high);
            if self.heat_margin(section, middle) + adds >= 0.0 {
                high = middle;
            } else {
                low = middle;
            }
        }
        0.5 * (low + high)
    }

    /// The margin at the end of a heat time itself, before any transfer, K.
    fn heat_margin(&mut self, section: &Section<'_>, heat_time: f64) -> f64 {
        self.trail.at(heat_time, &mut self.spare);
        margin(&View { grid: &self.march.field.grid, sheet: &self.spare.sheet }, section)
    }

    /// Brings the march to the end of the transfer after a heat time; `spare` keeps the state at the end of the heat.
    fn bend_after(&mut self, section: &Section<'_>, heat_time: f64) -> Result<(), Fault> {
        self.trail.at(heat_time, &mut self.spare);
        self.march.now.time = 0.0;
        self.march.now.sheet.clone_from(&self.spare.sheet);
        self.march.now.extras = self.spare.extras;
        self.follow(section, Phase::Transfer, section.transfer)
    }

    /// Marches through a phase of a given length; the clock of the phase starts at nought.
    fn follow(&mut self, section: &Section<'_>, phase: Phase, length: f64) -> Result<(), Fault> {
        self.march.now.time = 0.0;
        self.march.enter(section, phase);
        while self.march.now.time < length {
            self.march.step(section, length)?;
        }
        Ok(())
    }

    /// Time in the arm until the zone may be let go, from the present state at the end of a transfer.
    fn set(&mut self, section: &Section<'_>) -> Result<Option<f64>, Fault> {
        let (zone, release) = (section.zone, section.limits.release);
        if self.view().hottest(zone) <= release {
            return Ok(Some(0.0));
        }
        self.march.now.time = 0.0;
        self.march.enter(section, Phase::Arm);
        while self.march.now.time < LONGEST_SET {
            self.march.step(section, LONGEST_SET)?;
            if self.view().hottest(zone) <= release {
                return Ok(Some(self.crossing(release, |view| view.hottest(zone))));
            }
            let fastest = self.march.fastest;
            if fastest * LONGEST_SET < 0.1 {
                break;
            }
        }
        Ok(None)
    }
}

/// The margin by which a state is warm enough to be bent, K; below zero it is too cold.
fn margin(view: &View<'_>, section: &Section<'_>) -> f64 {
    let mean = view.mean_at_line() - section.limits.forming;
    mean.min(view.coldest(section.zone) - section.limits.softened)
}

/// Hottest node of a state, as a function that can be passed for any state.
fn hottest_node(view: &View<'_>) -> f64 {
    view.hottest_node()
}

// The extras are read by place above; this keeps the places within the array.
const _: () = assert!(TAKEN < EXTRAS && SHIELD + 1 < EXTRAS);
