//! A heat that somebody has given, held against its window.

use super::bend::Bend;
use super::explore::Explorer;
use super::verdict::{Verdict, Window, solve};
use crate::physics::fault::Fault;
use crate::physics::section::Solver;

/// The window of a bend, with the set and the run that follow from a given heat time (s, all stages together).
pub fn solve_given(solver: &mut Solver, bend: &Bend<'_>, heat: f64) -> Result<Window, Fault> {
    let mut window = solve(solver, bend)?;
    window.heat = Some(heat);
    window.set = None;
    window.hold = None;
    window.run = None;
    if heat > bend.horizon || heat <= 0.0 {
        return Ok(window);
    }
    let set = Explorer { solver, bend }.sets(heat)?;
    let hold = if window.verdict == Verdict::Proved { set.high } else { set.nominal };
    window.set = Some(set);
    window.hold = hold.is_finite().then(|| hold.ceil());
    window.run = Some(solver.run(&bend.section(&bend.unknowns.nominal()), heat)?);
    Ok(window)
}
