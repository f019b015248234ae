use std::collections::{BTreeMap, BTreeSet};

use crate::names::DeclId;
use crate::plan::schedule::build::Job;
use crate::plan::schedule::{Lane, SupplyUse, Task, Work};

/// Currents are counted in steps of 10 mA, as a program does.
pub const AMPERE: f64 = 100.0;

/// What is drawn, rounded up to whole steps.
#[expect(clippy::cast_possible_truncation, reason = "currents are limited by the language")]
pub fn amount(amperes: f64) -> i64 {
    (amperes * AMPERE - 1e-6).ceil() as i64
}

/// What may be drawn, rounded down to whole steps.
#[expect(clippy::cast_possible_truncation, reason = "currents are limited by the language")]
pub fn room(amperes: f64) -> i64 {
    (amperes * AMPERE + 1e-6).floor() as i64
}

/// A stretch in which a line is on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct On {
    /// ms
    pub from: u64,
    /// ms
    pub until: u64,
    /// What it draws from.
    pub supply: DeclId,
    /// The lane, by number.
    pub lane: usize,
    /// The arm, by its number on the bench.
    pub arm: usize,
    /// The run whose bend it is, or whose bend is made with the line that is warmed up.
    pub run: usize,
    /// That bend, by its number in the profile.
    pub bend: usize,
    /// At its highest, in steps of 10 mA.
    pub amount: i64,
    /// Share of full power.
    pub share: f64,
}

/// Every stretch in which a line draws current, by start.
pub fn heats(lanes: &[Lane], tasks: &[Task], jobs: &[Job<'_>]) -> Vec<On> {
    let mut on = Vec::new();
    for task in tasks.iter().filter(|task| matches!(task.work, Work::Heat | Work::WarmUp)) {
        let Some(lane) = lanes.get(task.lane) else { continue };
        on.extend(stretches(lane, task, jobs));
    }
    on.sort_by_key(|on| (on.from, on.until, on.lane, on.arm));
    on
}

fn stretches(lane: &Lane, task: &Task, jobs: &[Job<'_>]) -> Vec<On> {
    let Some(arm) = task.arms.first().copied() else { return Vec::new() };
    let with_arm = |run: usize| {
        let job = jobs.iter().find(|job| job.run == run)?;
        let supply = job.recipe.bench.arms.get(arm)?.heater.supply.id;
        Some((job.recipe.bends.iter().position(|bend| bend.arm == arm)?, supply))
    };
    let Some((loop_number, pass)) = task.part_loop.zip(task.pass) else {
        let warm_up = lane.warm_ups.iter().find(|warm_up| warm_up.arm == arm);
        let run = lane.loops.iter().find_map(|part_loop| Some((part_loop.run, with_arm(part_loop.run)?.0)));
        let Some((warm_up, (run, bend))) = warm_up.zip(run) else { return Vec::new() };
        let (supply, amount) = (warm_up.claim.supply, amount(warm_up.claim.amperes));
        let (from, until, lane) = (task.start, task.end, task.lane);
        return vec![On { from, until, supply, lane, arm, run, bend, amount, share: 1.0 }];
    };
    let Some(part_loop) = lane.loops.get(loop_number) else { return Vec::new() };
    let heating = part_loop.passes.get(pass).and_then(|pass| pass.heats.iter().find(|heating| heating.arm == arm));
    let Some((heating, (_, supply))) = heating.zip(with_arm(part_loop.run)) else { return Vec::new() };
    let drawing = heating.timed().filter(|(_, stage)| stage.share > 0.0 && stage.lasts > 0);
    let on = drawing.map(|(after, stage)| {
        let from = task.start + after - heating.after;
        On {
            from,
            until: from + stage.lasts,
            supply,
            lane: task.lane,
            arm,
            run: part_loop.run,
            bend: heating.bend,
            amount: amount(heating.amperes),
            share: stage.share,
        }
    });
    on.collect()
}

/// What is drawn from each supply over time.
pub fn uses(on: &[On], capacities: &BTreeMap<DeclId, f64>) -> BTreeMap<DeclId, SupplyUse> {
    let mut steps: BTreeMap<DeclId, BTreeMap<u64, i64>> = BTreeMap::new();
    for stretch in on {
        let steps = steps.entry(stretch.supply).or_default();
        *steps.entry(stretch.from).or_default() += stretch.amount;
        *steps.entry(stretch.until).or_default() -= stretch.amount;
    }
    let used = |(supply, steps): (DeclId, BTreeMap<u64, i64>)| {
        let mut drawn = 0;
        let mut profile: Vec<(u64, f64)> = Vec::new();
        for (at, step) in steps {
            drawn += step;
            let amperes = drawn as f64 / AMPERE;
            if profile.last().is_none_or(|(_, last)| (last - amperes).abs() > 1e-9) {
                profile.push((at, amperes));
            }
        }
        let peak = profile.iter().map(|step| step.1).fold(0.0, f64::max);
        (supply, SupplyUse { capacity: capacities.get(&supply).copied().unwrap_or(0.0), profile, peak })
    };
    steps.into_iter().map(used).collect()
}

/// The bends (run and number) whose lines are on at one moment, by supply; every set that occurs.
pub fn at_once(on: &[On]) -> BTreeMap<DeclId, BTreeSet<Vec<(usize, usize)>>> {
    let mut sets: BTreeMap<DeclId, BTreeSet<Vec<(usize, usize)>>> = BTreeMap::new();
    let mut active: Vec<&On> = Vec::new();
    for stretch in on {
        active.retain(|other| other.until > stretch.from);
        active.push(stretch);
        let with = active.iter().filter(|other| other.supply == stretch.supply);
        let mut set: Vec<(usize, usize)> = with.map(|other| (other.run, other.bend)).collect();
        set.sort_unstable();
        sets.entry(stretch.supply).or_default().insert(set);
    }
    sets
}
