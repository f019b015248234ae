//! What would open a window that is closed: another heat, another heater, another sheet.

use serde::{Deserialize, Serialize};

use super::bend::{Bend, HeaterLine};
use super::explore::{Explorer, time_of};
use super::unknown::Unknown;
use super::verdict::Window;
use crate::physics::circuit::Wiring;
use crate::physics::fault::Fault;
use crate::physics::section::{Resolution, Solver, Stage};
use crate::units::Known;

/// One thing that would open the window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Change {
    /// Less power for longer: a share of full power.
    Level(f64),
    /// A staged heat; its last stage is the one that stretches.
    Staged(Vec<Stage>),
    /// A wider opening of the shield, m.
    Channel(f64),
    /// A second line like the first in front of the other face, both at a share of full power.
    BothFaces(f64),
    /// A thinner sheet, m.
    Thickness(f64),
}

impl Change {
    /// Whether a switch that is only on or off cannot make it.
    fn needs_part_power(&self) -> bool {
        let part = |level: f64| level > 0.0 && level < 1.0;
        match self {
            Self::Level(level) | Self::BothFaces(level) => part(*level),
            Self::Staged(stages) => stages.iter().any(|stage| part(stage.level)),
            Self::Channel(_) | Self::Thickness(_) => false,
        }
    }
}

/// A change with the nominal window it would give.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// What to change.
    pub change: Change,
    /// Ready then, s.
    pub ready: f64,
    /// Over then, s; infinite if never.
    pub over: f64,
}

/// A window is offered if it is at least this wide relative to its middle; a narrower one is no help at a bench.
const WORTHWHILE: f64 = 0.05;

/// Nominal ready and over of a bend.
fn nominal(solver: &mut Solver, bend: &Bend<'_>, resolution: Resolution) -> Result<[f64; 2], Fault> {
    let point = bend.unknowns.nominal();
    Ok(Explorer { solver, bend }.times(&point, resolution)?.map(time_of))
}

/// Width of a window relative to its middle; below zero it is closed.
fn width([ready, over]: [f64; 2]) -> f64 {
    if ready.is_finite() { (over.min(1.5 * ready) - ready) / ready } else { f64::NEG_INFINITY }
}

/// Whether a window is wide enough to be of use at a bench.
pub fn is_worthwhile(window: &Window) -> bool {
    width([window.ready.nominal, window.over.nominal]) >= WORTHWHILE
}

/// The least of each kind of change that opens a worthwhile window; each kind alone, none if none helps.
pub fn what_opens(solver: &mut Solver, bend: &Bend<'_>) -> Result<Vec<Opening>, Fault> {
    bend.check()?;
    let mut found = Vec::new();
    let levels = [0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3].map(Change::Level);
    let channel = bend.unknowns.get(Unknown::Channel).nominal;
    let channels = [1.25, 1.5, 2.0].map(|factor| Change::Channel(factor * channel));
    let thickness = bend.unknowns.get(Unknown::Thickness).nominal;
    let sheets = [0.85, 0.7, 0.5].map(|factor| Change::Thickness(factor * thickness));
    let faces = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3].map(Change::BothFaces);
    let both: &[Change] = if bend.second.is_none() { &faces } else { &[] };
    for kind in [&levels[..], &channels[..], both, &sheets[..]] {
        for change in kind.iter().filter(|change| bend.part_power || !change.needs_part_power()) {
            let changed = apply(bend, change);
            let times = nominal(solver, &changed, Resolution::NORMAL)?;
            if width(times) >= WORTHWHILE {
                found.push(Opening { change: change.clone(), ready: times[0], over: times[1] });
                break;
            }
        }
    }
    if let Some(stages) = search_stages(solver, bend)? {
        let change = Change::Staged(stages);
        let [ready, over] = nominal(solver, &apply(bend, &change), Resolution::NORMAL)?;
        found.push(Opening { change, ready, over });
    }
    Ok(found)
}

/// The bend with a change made to it.
fn apply<'a>(bend: &Bend<'a>, change: &Change) -> Bend<'a> {
    let mut changed = bend.clone();
    let set = |changed: &mut Bend<'a>, unknown: Unknown, value: f64| {
        changed.unknowns.set(unknown, Known { nominal: value, low: value, high: value });
    };
    match change {
        Change::Level(level) => changed.stages = vec![Stage { level: *level, duration: 0.0 }],
        Change::Staged(stages) => changed.stages.clone_from(stages),
        Change::Channel(channel) => set(&mut changed, Unknown::Channel, *channel),
        Change::Thickness(thickness) => set(&mut changed, Unknown::Thickness, *thickness),
        Change::BothFaces(level) => {
            changed.stages = vec![Stage { level: *level, duration: 0.0 }];
            changed.second = Some(HeaterLine { above: !bend.first.above, ..bend.first });
            changed.wiring = Wiring::Parallel;
            let gap = bend.unknowns.get(Unknown::Gap);
            changed.unknowns.set(Unknown::SecondGap, gap);
        }
    }
    changed
}

/// A staged heat with a worthwhile nominal window, or none: the shortest of those within a tenth of the widest.
///
/// Three families are looked at: full power up to near the ceiling and then a lower level; the same, a soak with the
/// heater off, and full power again; several such pulses. Each on the coarse mesh; the choice is checked on the fine one.
pub fn search_stages(solver: &mut Solver, bend: &Bend<'_>) -> Result<Option<Vec<Stage>>, Fault> {
    bend.check()?;
    let full = apply(bend, &Change::Level(1.0));
    let [_, over] = nominal(solver, &full, Resolution::COARSE)?;
    if !over.is_finite() {
        return Ok(None);
    }
    let mut tried: Vec<([f64; 2], Vec<Stage>)> = Vec::new();
    for stages in candidates(over) {
        let change = Change::Staged(stages.clone());
        if change.needs_part_power() && !bend.part_power {
            continue;
        }
        let times = nominal(solver, &apply(bend, &change), Resolution::COARSE)?;
        if width(times) >= WORTHWHILE {
            tried.push((times, stages));
        }
    }
    let widest = tried.iter().map(|(times, _)| width(*times)).fold(0.0, f64::max);
    tried.retain(|(times, _)| width(*times) >= 0.9 * widest);
    tried.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    for (_, stages) in tried {
        let times = nominal(solver, &apply(bend, &Change::Staged(stages.clone())), Resolution::NORMAL)?;
        if width(times) >= WORTHWHILE {
            return Ok(Some(stages));
        }
    }
    Ok(None)
}

/// Heats to try, given how long full power may last; durations in whole seconds, as a controller takes them.
fn candidates(over: f64) -> Vec<Vec<Stage>> {
    let stage = |level: f64, duration: f64| Stage { level, duration: duration.floor() };
    let mut all = Vec::new();
    for share in [0.6, 0.75, 0.9] {
        let first = stage(1.0, share * over);
        for level in [0.8, 0.7, 0.6, 0.5, 0.4] {
            all.push(vec![first, stage(level, 0.0)]);
        }
        for soak in [0.15, 0.3, 0.5] {
            let pause = stage(0.0, soak * over);
            all.push(vec![first, pause, stage(1.0, 0.0)]);
            for again in [0.15, 0.3] {
                let pulse = stage(1.0, again * over);
                all.push(vec![first, pause, pulse, pause, stage(1.0, 0.0)]);
                all.push(vec![first, pause, pulse, pause, pulse, pause, stage(1.0, 0.0)]);
            }
        }
    }
    all
}
