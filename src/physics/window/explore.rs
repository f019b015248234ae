//! The extremes of ready, over and set over the box of what is not known.
//!
//! One unknown at a time is moved to its bounds on a coarse mesh; the signs of what follows choose a corner of the box
//! for each output. At the corner, unknowns that may bend an output back (and those whose effect is small enough to turn
//! elsewhere in the box) are tried again, inside their bounds as well; where that moves the output far, all of them, until
//! nothing does. The corner itself is solved on the fine mesh.

use serde::{Deserialize, Serialize};

use super::bend::Bend;
use super::unknown::{COUNT, Point, Unknown};
use crate::physics::fault::Fault;
use crate::physics::section::{Follow, Heat, Resolution, Section, Solver};

/// A time over the box, s; an infinite time is never within the horizon.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// At the nominal point.
    pub nominal: f64,
    /// Earliest over the box, widened by the solver's own error.
    pub low: f64,
    /// Latest over the box, widened by the solver's own error.
    pub high: f64,
}

/// What a time may be wrong by because of mesh and steps: a share, and seconds (measured: `tests/physics_thermal.rs`).
const SOLVER_SHARE: f64 = 0.006;
const SOLVER_SECONDS: f64 = 0.1;

/// An effect below this share of the largest may change its sign elsewhere in the box.
const SMALL: f64 = 0.01;

/// A corner that was moved by more than this share is looked at again with every unknown, so many times at most.
const MOVED: f64 = 0.02;
const PASSES: usize = 4;

/// Scores from here on are no times: what is never reached scores this and a second for every kelvin it falls short, so
/// that the search sees which way reaching lies.
const NEVER: f64 = 1e6;

/// A time for a score: infinite if never reached.
pub(super) fn time_of(score: f64) -> f64 {
    if score < NEVER { score } else { f64::INFINITY }
}

/// The outputs that are explored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Output {
    Ready,
    Over,
    /// Set after a fixed heat time.
    Set,
}

impl Output {
    /// Whether an unknown can move the output at all.
    fn depends_on(self, unknown: Unknown) -> bool {
        match unknown {
            Unknown::Release | Unknown::FirstSetting | Unknown::SecondSetting => self == Self::Set,
            Unknown::Softened | Unknown::Forming => self == Self::Ready,
            Unknown::Ceiling => self == Self::Over,
            Unknown::Transfer => self != Self::Over,
            _ => true,
        }
    }
}

/// Scores of an output on the coarse mesh: at the nominal point, and with each unknown at its low and high bound.
#[derive(Clone, Debug)]
pub(super) struct Effects {
    pub nominal: f64,
    pub bounds: [[f64; 2]; COUNT],
}

/// Score of over.
fn over_score(section: &Section<'_>, heat: &Heat) -> f64 {
    heat.over.unwrap_or_else(|| NEVER + (section.limits.ceiling - heat.hottest).max(0.0))
}

/// Explores one bend.
pub(super) struct Explorer<'a, 'b> {
    pub solver: &'a mut Solver,
    pub bend: &'a Bend<'b>,
}

impl Explorer<'_, '_> {
    /// The mesh for a point.
    fn mesh(resolution: Resolution, point: &Point) -> Resolution {
        resolution.for_thickness(point[Unknown::Thickness.place()])
    }

    /// Scores of ready and over at a point.
    pub fn times(&mut self, point: &Point, resolution: Resolution) -> Result<[f64; 2], Fault> {
        let section = self.bend.section(point);
        let heat = self.solver.heat(&section, Self::mesh(resolution, point), Follow::UntilKnown)?;
        Ok([heat.ready.unwrap_or(NEVER + heat.short), over_score(&section, &heat)])
    }

    /// Score of the set after a heat time at a point.
    fn set(&mut self, point: &Point, heat_time: f64, resolution: Resolution) -> Result<f64, Fault> {
        let section = self.bend.section(point);
        self.solver.heat(&section, Self::mesh(resolution, point), Follow::Until(heat_time))?;
        Ok(self.solver.run(&section, heat_time)?.set.unwrap_or(NEVER))
    }

    /// Ready and over over the box, and what every unknown alone does to them.
    pub fn windows(&mut self) -> Result<([Span; 2], [Effects; 2]), Fault> {
        let effects = self.effects_on_times()?;
        let [ready, over] = self.times(&self.bend.unknowns.nominal(), Resolution::NORMAL)?;
        let ready = self.span(Output::Ready, 0.0, ready, &effects[0])?;
        let over = self.span(Output::Over, 0.0, over, &effects[1])?;
        Ok(([ready, over], effects))
    }

    /// Set after a heat time over the box.
    pub fn sets(&mut self, heat: f64) -> Result<Span, Fault> {
        let effects = self.effects_on_set(heat)?;
        let nominal = self.set(&self.bend.unknowns.nominal(), heat, Resolution::NORMAL)?;
        self.span(Output::Set, heat, nominal, &effects)
    }

    /// Score of one output at a point.
    fn output(&mut self, output: Output, heat: f64, point: &Point, resolution: Resolution) -> Result<f64, Fault> {
        match output {
            Output::Ready => Ok(self.times(point, resolution)?[0]),
            Output::Over => {
                let section = self.bend.section(point);
                let heat = self.solver.heat(&section, Self::mesh(resolution, point), Follow::UntilOver)?;
                Ok(over_score(&section, &heat))
            }
            Output::Set => self.set(point, heat, resolution),
        }
    }

    /// Effects of every unknown alone on ready and over.
    fn effects_on_times(&mut self) -> Result<[Effects; 2], Fault> {
        let centre = self.bend.unknowns.nominal();
        let [ready, over] = self.times(&centre, Resolution::COARSE)?;
        let mut effects = [ready, over].map(|nominal| Effects { nominal, bounds: [[nominal; 2]; COUNT] });
        for unknown in self.bend.unknowns.wide() {
            if !Output::Ready.depends_on(unknown) && !Output::Over.depends_on(unknown) {
                continue;
            }
            let known = self.bend.unknowns.get(unknown);
            for (side, value) in [known.low, known.high].into_iter().enumerate() {
                let mut point = centre;
                point[unknown.place()] = value;
                let times = self.times(&point, Resolution::COARSE)?;
                for (effects, time) in effects.iter_mut().zip(times) {
                    effects.bounds[unknown.place()][side] = time;
                }
            }
        }
        Ok(effects)
    }

    /// Effects of every unknown alone on the set after a heat time.
    fn effects_on_set(&mut self, heat: f64) -> Result<Effects, Fault> {
        let centre = self.bend.unknowns.nominal();
        let nominal = self.set(&centre, heat, Resolution::COARSE)?;
        let mut effects = Effects { nominal, bounds: [[nominal; 2]; COUNT] };
        for unknown in self.bend.unknowns.wide().filter(|unknown| Output::Set.depends_on(*unknown)) {
            let known = self.bend.unknowns.get(unknown);
            for (side, value) in [known.low, known.high].into_iter().enumerate() {
                let mut point = centre;
                point[unknown.place()] = value;
                effects.bounds[unknown.place()][side] = self.set(&point, heat, Resolution::COARSE)?;
            }
        }
        Ok(effects)
    }

    /// An output over the box, given its score at the nominal; `heat` is the heat time of a set and else not read.
    fn span(&mut self, output: Output, heat: f64, nominal: f64, effects: &Effects) -> Result<Span, Fault> {
        let low = self.extreme(output, heat, effects, -1.0)?.min(nominal);
        let high = self.extreme(output, heat, effects, 1.0)?.max(nominal);
        let (nominal, low, high) = (time_of(nominal), time_of(low), time_of(high));
        Ok(Span {
            nominal,
            low: (low * (1.0 - SOLVER_SHARE) - SOLVER_SECONDS).max(0.0),
            high: high * (1.0 + SOLVER_SHARE) + SOLVER_SECONDS,
        })
    }

    /// The score at which `sense` times an output is greatest over the box.
    fn extreme(&mut self, output: Output, heat: f64, effects: &Effects, sense: f64) -> Result<f64, Fault> {
        let mut corner = self.bend.unknowns.nominal();
        let concerned: Vec<Unknown> = self.bend.unknowns.wide().filter(|unknown| output.depends_on(*unknown)).collect();
        let size = |unknown: Unknown| {
            let [low, high] = effects.bounds[unknown.place()];
            (low - effects.nominal).abs().max((high - effects.nominal).abs())
        };
        let largest =
            concerned.iter().map(|unknown| size(*unknown)).filter(|size| *size < 0.5 * NEVER).fold(0.0, f64::max);
        for unknown in &concerned {
            let known = self.bend.unknowns.get(*unknown);
            let [low, high] = effects.bounds[unknown.place()];
            let mut best = (sense * effects.nominal, known.nominal);
            for (value, at) in [(sense * low, known.low), (sense * high, known.high)] {
                if value > best.0 {
                    best = (value, at);
                }
            }
            corner[unknown.place()] = best.1;
        }
        let mut doubtful: Vec<Unknown> =
            concerned.iter().copied().filter(|unknown| unknown.is_bent() || size(*unknown) < SMALL * largest).collect();
        let mut here = sense * self.output(output, heat, &corner, Resolution::COARSE)?;
        for _ in 0..PASSES {
            let before = here;
            for unknown in &doubtful {
                let known = self.bend.unknowns.get(*unknown);
                let middle = 0.5 * (known.low + known.high);
                let inner = unknown.is_bent().then_some(middle);
                let tried = corner[unknown.place()];
                for value in
                    [known.low, known.high].into_iter().chain(inner).filter(|value| value.to_bits() != tried.to_bits())
                {
                    let mut point = corner;
                    point[unknown.place()] = value;
                    let there = sense * self.output(output, heat, &point, Resolution::COARSE)?;
                    if there > here {
                        (here, corner) = (there, point);
                    }
                }
            }
            if here - before <= MOVED * before.abs() {
                break;
            }
            // So far from the nominal, no sign found there need hold.
            doubtful.clone_from(&concerned);
        }
        self.output(output, heat, &corner, Resolution::NORMAL)
    }
}
