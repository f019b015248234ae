//! Heat times by measured thickness and room temperature, under one worst-case margin shared by all rows.

use super::bend::Bend;
use super::explore::Span;
use super::unknown::{Unknown, Unknowns};
use super::verdict::{Verdict, choose, solve};
use crate::physics::fault::Fault;
use crate::physics::section::{Follow, Resolution, Solver};
use crate::units::Known;

/// Step of the rows by thickness, m.
pub const STEP: f64 = 1e-4;

/// One row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Measured thickness this row is for, ± half a step, m.
    pub thickness: f64,
    /// Room temperature this row is for, ± half a band, K.
    pub ambient: f64,
    /// Ready and over at the row's own nominal, bounds by the shared margin, s.
    pub ready: Span,
    /// See `ready`.
    pub over: Span,
    /// How far the row's window is open.
    pub verdict: Verdict,
    /// Heat time to use, whole seconds.
    pub heat: Option<f64>,
    /// Time in the arm to use, whole seconds rounded up.
    pub hold: Option<f64>,
}

/// The rows and what they share.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// Factors on a row's nominal ready for its bounds: earliest, latest.
    pub on_ready: [f64; 2],
    /// The same for over.
    pub on_over: [f64; 2],
    /// The same for set.
    pub on_set: [f64; 2],
    /// By thickness, and within it by room temperature.
    pub rows: Vec<Row>,
}

/// Rows from the thinnest to the thickest sheet in steps of 0.1 mm, for each room temperature (K) given.
///
/// The margin is worked out once, at the nominal sheet and room, with thickness known to half a step and room
/// temperature to half of `band` (K); each row then is one nominal solve.
pub fn rows(solver: &mut Solver, bend: &Bend<'_>, rooms: &[f64], band: f64) -> Result<Rows, Fault> {
    let thickness = bend.unknowns.get(Unknown::Thickness);
    let mut shared = bend.clone();
    around(&mut shared.unknowns, Unknown::Thickness, thickness.nominal, 0.5 * STEP);
    let room = bend.unknowns.get(Unknown::Ambient).nominal;
    around(&mut shared.unknowns, Unknown::Ambient, room, 0.5 * band);
    let window = solve(solver, &shared)?;
    let on_ready = factors(window.ready);
    let on_over = factors(window.over);
    let on_set = window.set.map_or([1.0; 2], factors);
    let mut rows = Vec::new();
    for thickness in steps(thickness) {
        for &ambient in rooms {
            let mut point = bend.unknowns.nominal();
            point[Unknown::Thickness.place()] = thickness;
            point[Unknown::Ambient.place()] = ambient;
            let section = bend.section(&point);
            let resolution = Resolution::NORMAL.for_thickness(thickness);
            let heat = solver.heat(&section, resolution, Follow::UntilKnown)?;
            let span = |time: Option<f64>, [low, high]: [f64; 2]| {
                let nominal = time.unwrap_or(f64::INFINITY);
                Span { nominal, low: nominal * low, high: nominal * high }
            };
            let (ready, over) = (span(heat.ready, on_ready), span(heat.over, on_over));
            let (verdict, chosen) = choose(ready, over, bend.horizon);
            let hold = match chosen {
                Some(time) if time <= heat.solved => {
                    let set = solver.run(&section, time)?.set;
                    let factor = if verdict == Verdict::Proved { on_set[1] } else { 1.0 };
                    set.map(|set| (set * factor).ceil()).filter(|set| set.is_finite())
                }
                _ => None,
            };
            rows.push(Row { thickness, ambient, ready, over, verdict, heat: chosen, hold });
        }
    }
    Ok(Rows { on_ready, on_over, on_set, rows })
}

/// Sets an unknown to a value ± half a width.
fn around(unknowns: &mut Unknowns, unknown: Unknown, value: f64, half: f64) {
    unknowns.set(unknown, Known { nominal: value, low: value - half, high: value + half });
}

/// Bounds as factors on the nominal; a nominal that is never reached gives nothing to scale.
fn factors(span: Span) -> [f64; 2] {
    if span.nominal.is_finite() && span.nominal > 0.0 {
        [span.low / span.nominal, span.high / span.nominal]
    } else {
        [1.0, f64::INFINITY]
    }
}

/// Whole multiples of the step that cover what is known of the thickness; at most 200.
fn steps(thickness: Known) -> impl Iterator<Item = f64> {
    let first = (thickness.low / STEP + 1e-6).floor();
    let last = (thickness.high / STEP - 1e-6).ceil();
    (0..200_u16).map(move |row| first + f64::from(row)).take_while(move |step| *step <= last).map(|step| step * STEP)
}

#[cfg(test)]
mod tests {
    use super::{Known, steps};

    #[test]
    fn steps_cover_what_is_known() {
        let rows: Vec<f64> = steps(Known { nominal: 3e-3, low: 2.78e-3, high: 3.1e-3 }).collect();
        assert_eq!(rows.len(), 5);
        assert!((rows[0] - 2.7e-3).abs() < 1e-12 && (rows[4] - 3.1e-3).abs() < 1e-12);
        assert_eq!(steps(Known { nominal: 3e-3, low: 3e-3, high: 3e-3 }).count(), 1);
    }
}
