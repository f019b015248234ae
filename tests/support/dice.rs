//! Random points of a bend's box, and whether they stay inside its stated window.

use withy::physics::section::{Follow, Resolution, Solver};
use withy::physics::window::{Bend, Point, Window};

#[path = "random.rs"]
mod random;

pub use random::Dice;

impl Dice {
    /// A point of the box: anywhere in one of three throws, at a random corner in another, a mixture in the third.
    pub fn point(&mut self, bend: &Bend<'_>) -> Point {
        let style = self.next();
        let mut point = bend.unknowns.nominal();
        for unknown in bend.unknowns.wide() {
            let bounds = bend.unknowns.get(unknown);
            let throw = self.next();
            let at_bound = style < 0.33 || (style < 0.66 && self.next() < 0.5);
            let part = if at_bound { throw.round() } else { throw };
            point[unknown as usize] = bounds.low + part * (bounds.high - bounds.low);
        }
        point
    }
}

/// Throws points into a bend's box until ready, over or set of one lies outside the bend's window: which, if any.
pub fn escape(bend: &Bend<'_>, window: &Window, throws: usize, seed: u64) -> Option<String> {
    let mut solver = Solver::new();
    let mut dice = Dice(seed);
    for throw in 0..throws {
        let point = dice.point(bend);
        let section = bend.section(&point);
        let resolution = Resolution::NORMAL.for_thickness(section.sheet.thickness);
        let heat = solver.heat(&section, resolution, Follow::UntilKnown).unwrap();
        let mut found = vec![
            ("ready", window.ready, heat.ready.unwrap_or(f64::INFINITY)),
            ("over", window.over, heat.over.unwrap_or(f64::INFINITY)),
        ];
        if let (Some(time), Some(set)) = (window.heat, window.set) {
            solver.heat(&section, resolution, Follow::Until(time)).unwrap();
            found.push(("set", set, solver.run(&section, time).unwrap().set.unwrap_or(f64::INFINITY)));
        }
        for (output, span, time) in found {
            // Written so that what is no number is outside.
            if !(span.low <= time && time <= span.high) {
                return Some(format!("throw {throw}: {output} {time} outside {span:?} at {point:?}"));
            }
        }
    }
    None
}
