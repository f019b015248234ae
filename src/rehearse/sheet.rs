//! What a heat, as it really was, has done to the sheet.

use crate::physics::Fault;
use crate::physics::section::{Follow, Resolution, Sample, Section, Solver, Stage};
use crate::physics::window::{Bend, Point};
use crate::rehearse::outcome::SheetEnds;

/// A heat as it was.
#[derive(Clone, Debug)]
pub struct Heat {
    /// Shares of full power, one after the other; the last ends when the sheet leaves the heater.
    pub stages: Vec<Stage>,
    /// How warm the shields were when it began, K.
    pub shields: [f64; 2],
    /// From the end of the heat to the finished bend, s; none if it was not bent.
    pub transfer: Option<f64>,
    /// How long the arm held, s.
    pub hold: f64,
}

/// Moments of a curve while it is heated.
const MOMENTS: f64 = 60.0;
/// The distance of the moments after it, s.
const STEP: f64 = 5.0;
/// More changes of level than this the solver does not take; a heat of a program has a handful.
const MOST_STAGES: usize = 60;

/// Ends and curve of a sheet at one point of what is known.
pub fn follow(
    solver: &mut Solver,
    bend: &Bend<'_>,
    point: &Point,
    heat: &Heat,
) -> Result<(SheetEnds, Vec<Sample>), Fault> {
    let stages: Vec<Stage> = heat.stages.iter().take(MOST_STAGES).copied().collect();
    let planned = bend.section(point);
    let mut section = Section { stages: &stages, transfer: heat.transfer.unwrap_or(0.0), ..planned };
    for (face, shield) in section.faces.iter_mut().zip(heat.shields) {
        if let Some(own) = face.line.as_mut().and_then(|line| line.shield.as_mut()) {
            own.start = shield;
        }
    }
    let length: f64 = stages.iter().map(|stage| stage.duration).sum();
    section.horizon = length.max(0.2);
    let mesh = Resolution::NORMAL.for_thickness(section.sheet.thickness);
    solver.heat(&section, mesh, Follow::Until(length))?;
    let mut samples: Vec<Sample> = Vec::new();
    let mut index = 0.0;
    while index <= MOMENTS {
        samples.push(solver.sample_heating(length * index / MOMENTS));
        index += 1.0;
    }
    // Every moment at which a level ends may be the hottest.
    let mut ends = vec![length];
    ends.extend(stages.iter().scan(0.0, |at, stage| {
        *at += stage.duration;
        Some(*at)
    }));
    let hottest = ends.into_iter().map(|at| solver.hottest_at(at.min(length))).fold(0.0, f64::max);
    let run = solver.run(&section, length)?;
    if heat.transfer.is_some() {
        samples.extend(solver.samples_after(&section, length, heat.hold, STEP)?);
    }
    let limits = section.limits;
    let ends = SheetEnds {
        hottest,
        surface: run.faces[0].max(run.faces[1]),
        mean: run.mean,
        coldest: run.coldest,
        set: run.set,
        softened: limits.softened,
        forming: limits.forming,
        ceiling: limits.ceiling,
    };
    Ok((ends, samples))
}
