use std::collections::{BTreeMap, BTreeSet};

use crate::model::{Arm, Handling};
use crate::plan::recipe::changes;
use crate::plan::schedule::build::Job;
use crate::plan::schedule::drawn::{AMPERE, amount};
use crate::plan::schedule::{Claim, Heating, Lane, Lay, PartLoop, Pass, Reservation, Stage, WarmUp};
use crate::plan::steps::Change;

/// The operator presses start at each heat, ms (our choice).
pub const PRESS: u64 = 2_000;

/// The least time between two heats of one heater, ms (our choice; the controller has a limit of its own).
pub const MINIMUM_OFF: u64 = 10_000;

/// A program has no more code sections than these.
const MOST_LANES: usize = 4;

/// Jobs that are made at one place, by their number.
pub type Together = Vec<usize>;

/// Jobs by lane: those that share an arm are made at one place.
pub fn by_lane(jobs: &[Job<'_>]) -> Vec<Together> {
    let mut lanes: Vec<(BTreeSet<Seat>, Together)> = Vec::new();
    for (number, job) in jobs.iter().enumerate() {
        let mut seats: BTreeSet<Seat> = job.order.iter().flatten().filter_map(|bend| seat(jobs, job, *bend)).collect();
        let mut together = vec![number];
        lanes.retain_mut(|(taken, others)| {
            let apart = taken.is_disjoint(&seats);
            if !apart {
                seats.append(taken);
                together.append(others);
            }
            apart
        });
        together.sort_unstable();
        lanes.push((seats, together));
    }
    lanes.sort();
    let mut by_bench: BTreeMap<usize, Vec<Together>> = BTreeMap::new();
    for (seats, together) in lanes {
        let Some((bench, _)) = seats.first() else { continue };
        let own = by_bench.entry(*bench).or_default();
        match own.get_mut(MOST_LANES - 1) {
            // What is more than a program has lanes for waits at the last one.
            Some(last) => last.extend(together),
            None => own.push(together),
        }
    }
    by_bench.into_values().flatten().collect()
}

/// An arm on one of the benches, which are numbered as the jobs name them.
type Seat = (usize, usize);

fn seat(jobs: &[Job<'_>], job: &Job<'_>, bend: usize) -> Option<Seat> {
    let bench = jobs.iter().position(|other| other.recipe.bench.id == job.recipe.bench.id)?;
    Some((bench, job.recipe.bends.get(bend)?.arm))
}

/// A lane that makes these jobs in this order; none without a job.
pub fn lane(jobs: &[Job<'_>], order: &[usize]) -> Option<Lane> {
    let made: Vec<&Job<'_>> = order.iter().filter_map(|job| jobs.get(*job)).collect();
    let bench = &made.first()?.recipe.bench;
    let arms: BTreeSet<usize> = made.iter().flat_map(|job| job.recipe.bends.iter().map(|bend| bend.arm)).collect();
    let mut stops = Stops { swings: vec![None; bench.arms.len()], last: None };
    let loops = made.iter().map(|job| part_loop(job, &mut stops)).collect();
    let warm_ups = arms.iter().filter_map(|arm| warm_up(&made, *arm)).collect();
    Some(Lane {
        bench: bench.id,
        arms: arms.into_iter().collect(),
        operators: bench.operators,
        attended: bench.controller.is_none(),
        warm_ups,
        loops,
    })
}

fn warm_up(made: &[&Job<'_>], arm: usize) -> Option<WarmUp> {
    let (job, bend) = made.iter().find_map(|job| {
        let bend = job.recipe.bends.iter().position(|bend| bend.arm == arm)?;
        Some((job, bend))
    })?;
    let heater = &job.recipe.bench.arms.get(arm)?.heater;
    let lasts = up(heater.warm_up?.value);
    let amperes = job.bends.get(bend)?.electric.current.high();
    Some(WarmUp { arm, heater: heater.id, lasts, claim: Claim { supply: heater.supply.id, amperes } })
}

/// How the stops of a lane stand.
struct Stops {
    /// The swing of each arm, where it is known.
    swings: Vec<Option<f64>>,
    /// Which face lies down, and the fence.
    last: Option<(bool, f64)>,
}

fn part_loop(job: &Job<'_>, stops: &mut Stops) -> PartLoop {
    let first = lays(job, stops);
    let again = lays(job, stops);
    PartLoop {
        run: job.run,
        times: job.times,
        spare: job.spare,
        passes: job.order.iter().map(|group| pass(job, group)).collect(),
        unload: up(job.recipe.bench.handling.unload),
        first,
        again,
    }
}

/// How one part is laid in, before each pass; what stands already need not be set.
fn lays(job: &Job<'_>, stops: &mut Stops) -> Vec<Lay> {
    let handling = &job.recipe.bench.handling;
    let mut lays = Vec::new();
    for (number, group) in job.order.iter().enumerate() {
        let mut changes = changes(job.recipe, job.bends, group, &stops.swings, stops.last);
        // A sheet that is laid in lies with either face down at once.
        changes.retain(|change| number > 0 || *change != Change::TurnOver);
        let base = if number == 0 { handling.load } else { handling.reposition };
        let lasts = base + changes.iter().map(|change| change.takes(handling)).sum::<f64>();
        lays.push(Lay { changes, lasts: up(lasts) });
        let made = group.iter().filter_map(|bend| Some((job.recipe.bends.get(*bend)?.arm, job.bends.get(*bend)?)));
        for (place, (arm, bend)) in made.enumerate() {
            if let Some(swing) = stops.swings.get_mut(arm) {
                *swing = Some(bend.swing);
            }
            if place == 0 {
                stops.last = Some((bend.turned_over, bend.fence));
            }
        }
    }
    lays
}

/// A part of so many passes is laid in no faster than this, whatever stands already, ms.
pub fn least_lays(handling: &Handling, passes: usize) -> u64 {
    let again = u64::try_from(passes.saturating_sub(1)).unwrap_or(0);
    up(handling.load) + again * up(handling.reposition)
}

fn pass(job: &Job<'_>, group: &[usize]) -> Pass {
    let whole = |stages: &[Stage]| stages.iter().map(|stage| stage.lasts).sum::<u64>();
    let mut heats: Vec<Heating> = group.iter().filter_map(|bend| heating(job, *bend)).collect();
    let heat = heats.iter().map(|heating| whole(&heating.stages)).max().unwrap_or(0);
    for heating in &mut heats {
        heating.after = heat - whole(&heating.stages);
    }
    let longest = |time: fn(&Job<'_>, usize) -> Option<f64>| {
        group.iter().filter_map(|bend| time(job, *bend)).map(up).max().unwrap_or(0)
    };
    let transfer = longest(|job, bend| Some(job.recipe.bends.get(bend)?.transfer));
    Pass {
        claims: claims(job, &heats),
        heats,
        heat,
        transfer,
        set: longest(|job, bend| Some(job.bends.get(bend)?.set)),
        reservation: Reservation { after: heat, lasts: transfer },
    }
}

fn heating(job: &Job<'_>, bend: usize) -> Option<Heating> {
    let made = job.bends.get(bend)?;
    let arm = job.recipe.bends.get(bend)?.arm;
    let heater = &job.recipe.bench.arms.get(arm)?.heater;
    let stages = made.heat.iter().map(|level| Stage { lasts: down(level.time), share: level.share }).collect();
    Some(Heating { bend, arm, heater: heater.id, after: 0, stages, amperes: made.electric.current.high() })
}

/// The most that is drawn at once from each supply.
fn claims(job: &Job<'_>, heats: &[Heating]) -> Vec<Claim> {
    let supply = |heating: &Heating| job.recipe.bench.arms.get(heating.arm).map(|arm: &Arm| arm.heater.supply.id);
    let supplies: BTreeSet<_> = heats.iter().filter_map(supply).collect();
    let claim = |id| {
        let drawn = |at: u64| {
            let on = heats.iter().filter(|heating| supply(heating) == Some(id) && heating.draws(at));
            on.map(|heating| amount(heating.amperes)).sum::<i64>()
        };
        let moments = heats.iter().flat_map(Heating::moments);
        let most = moments.map(drawn).max().unwrap_or(0);
        Claim { supply: id, amperes: most as f64 / AMPERE }
    };
    supplies.into_iter().map(claim).collect()
}

impl Heating {
    /// When its stages begin, from the press, with what they draw.
    pub fn timed(&self) -> impl Iterator<Item = (u64, &Stage)> {
        let mut at = self.after;
        self.stages.iter().map(move |stage| {
            let start = at;
            at += stage.lasts;
            (start, stage)
        })
    }

    fn moments(&self) -> Vec<u64> {
        self.timed().map(|(start, _)| start).collect()
    }

    /// Whether it draws at a time from the press.
    fn draws(&self, at: u64) -> bool {
        self.timed().any(|(start, stage)| stage.share > 0.0 && (start..start + stage.lasts).contains(&at))
    }
}

/// Seconds in whole milliseconds, no fewer; a millionth forgives what arithmetic leaves behind.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "times are limited by the language")]
fn up(seconds: f64) -> u64 {
    (seconds.max(0.0) * 1e3 - 1e-6).ceil() as u64
}

/// Seconds in whole milliseconds, no more.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "times are limited by the language")]
fn down(seconds: f64) -> u64 {
    (seconds.max(0.0) * 1e3 + 1e-6).floor() as u64
}
