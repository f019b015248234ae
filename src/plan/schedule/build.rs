use std::collections::BTreeMap;

use crate::model::Recipe;
use crate::names::DeclId;
use crate::physics::supply::continuous_limit;
use crate::plan::recipe::BendPlan;
use crate::plan::schedule::drawn::{amount, heats, room, uses};
use crate::plan::schedule::lanes::{MINIMUM_OFF, PRESS, by_lane, lane, least_lays};
use crate::plan::schedule::problem::{Piece, Problem, Unit};
use crate::plan::schedule::solve::{Effort, Solved, orders, solve};
use crate::plan::schedule::tasks::{Meaning, Place, assign, tasks};
use crate::plan::schedule::{ArmUse, Lane, PartLoop, Pass, Schedule, Task, Work};

/// One recipe that is to be made, so many times.
#[derive(Clone, Copy, Debug)]
pub struct Job<'a> {
    /// The recipe.
    pub recipe: &'a Recipe,
    /// How its bends are made.
    pub bends: &'a [BendPlan],
    /// In which order; a group is made at once.
    pub order: &'a [Vec<usize>],
    /// The run of the batch, from 0.
    pub run: usize,
    /// Parts asked for; 0 for a recipe, of which one part is scheduled.
    pub times: u64,
    /// Parts beyond those, which have no tasks.
    pub spare: u64,
}

/// What a schedule is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// One part on a warm bench.
    Part,
    /// A batch from the morning on: the shields are warmed up first.
    Batch,
}

/// How much a schedule is searched for. On one core of 2020 it takes well under a second.
const EFFORT: Effort = Effort { placements: 100_000, decisions: 60_000 };

/// At most so many orders of runs are tried.
const MOST_ORDERS: usize = 24;

/// The schedule with the least total time that can be found, and its distance from the least there can be.
pub fn schedule(jobs: &[Job<'_>], purpose: Purpose) -> Schedule {
    let lanes = by_lane(jobs);
    let variants = variants(&lanes);
    let tried = variants.len().max(1);
    let mut effort = EFFORT;
    effort.placements /= tried;
    let mut best: Option<(Solved, Vec<Lane>, Vec<Vec<Meaning>>)> = None;
    let mut bound: Option<i64> = None;
    let limits = limits(jobs);
    for (left, variant) in variants.iter().enumerate() {
        let lanes: Vec<Lane> = variant.iter().filter_map(|order| lane(jobs, order)).collect();
        let (problem, meanings) = problem(&lanes, &limits, purpose);
        // What an earlier order has left over, the later ones may use.
        let share = effort.decisions / (tried - left) as u64;
        let mut own = Effort { decisions: share, ..effort };
        let known = best.as_ref().map(|(solved, _, _)| solved.end);
        let solved = solve(&problem, known, &mut own);
        effort.decisions -= share - own.decisions;
        bound = Some(bound.map_or(solved.bound, |least| least.min(solved.bound)));
        if known.is_none_or(|known| solved.end < known) {
            best = Some((solved, lanes, meanings));
        }
    }
    let Some((solved, lanes, meanings)) = best else { return Schedule::default() };
    let bound = if complete(&lanes, variants.len()) { bound.unwrap_or(0) } else { relaxed(&lanes, jobs, purpose) };
    timed(&solved, bound.min(solved.end), lanes, &meanings, jobs)
}

/// Orders of the jobs of each lane, in every combination; the given order first.
fn variants(lanes: &[Vec<usize>]) -> Vec<Vec<Vec<usize>>> {
    let mut variants: Vec<Vec<Vec<usize>>> = vec![Vec::new()];
    for jobs in lanes {
        let own = orders(jobs.len(), MOST_ORDERS);
        let longer = variants.iter().flat_map(|variant| {
            own.iter().map(|order| {
                let order = order.iter().filter_map(|place| jobs.get(*place)).copied().collect();
                variant.iter().cloned().chain([order]).collect()
            })
        });
        variants = longer.take(MOST_ORDERS).collect();
    }
    variants
}

/// Whether so many variants are all there are.
fn complete(lanes: &[Lane], variants: usize) -> bool {
    let all = lanes.iter().flat_map(|lane| 1..=lane.loops.len()).fold(1_usize, usize::saturating_mul);
    variants >= all
}

/// A bound that holds for every order of the runs: each lane, with nothing to be set for the first part of each run.
fn relaxed(lanes: &[Lane], jobs: &[Job<'_>], purpose: Purpose) -> i64 {
    let whole = |lane: &Lane| {
        let loops = lane.loops.iter().map(|part_loop| {
            let set: u64 = part_loop.again.iter().map(|lay| lay.lasts).sum();
            let handling = jobs.iter().find(|job| job.run == part_loop.run).map(|job| &job.recipe.bench.handling);
            let bare = handling.map_or(0, |handling| least_lays(handling, part_loop.again.len()));
            part_loop.times.max(1) * one_more(part_loop) - set + bare
        });
        let warm = if purpose == Purpose::Batch { lane.warm_ups.iter().map(|own| PRESS + own.lasts).sum() } else { 0 };
        warm + loops.sum::<u64>()
    };
    lanes.iter().map(whole).max().and_then(|most| i64::try_from(most).ok()).unwrap_or(0)
}

/// How long one part more takes at its lane.
fn one_more(part_loop: &PartLoop) -> u64 {
    let passes = part_loop.passes.iter().map(|pass| PRESS + pass.heat + pass.transfer + pass.set).sum::<u64>();
    passes + part_loop.again.iter().map(|lay| lay.lasts).sum::<u64>() + part_loop.unload
}

/// What may be drawn for long from each supply, A: rating × continuous share, or the fuse if it is less.
fn limits(jobs: &[Job<'_>]) -> BTreeMap<DeclId, f64> {
    let supplies = jobs.iter().flat_map(|job| job.recipe.bench.arms.iter().map(|arm| &arm.heater.supply));
    let limit = |supply: &crate::model::Supply| {
        let long = continuous_limit(supply.rated.value.low(), supply.continuous).unwrap_or(0.0);
        supply.fuse.map_or(long, |fuse| fuse.value.min(long))
    };
    supplies.map(|supply| (supply.id, limit(supply))).collect()
}

/// The resources: operators of each bench, then supplies.
fn problem(lanes: &[Lane], limits: &BTreeMap<DeclId, f64>, purpose: Purpose) -> (Problem, Vec<Vec<Meaning>>) {
    let mut benches: Vec<DeclId> = lanes.iter().map(|lane| lane.bench).collect();
    benches.sort_unstable();
    benches.dedup();
    let supplies: Vec<DeclId> = limits.keys().copied().collect();
    let hands = |lane: &Lane| benches.iter().position(|bench| *bench == lane.bench).unwrap_or(0);
    let supply = |id: DeclId| benches.len() + supplies.iter().position(|supply| *supply == id).unwrap_or(0);
    let mut capacities = vec![1; benches.len()];
    for lane in lanes {
        capacities[hands(lane)] = i64::try_from(lane.operators).unwrap_or(1);
    }
    capacities.extend(limits.values().map(|limit| room(*limit)));
    let (mut chains, mut meanings) = (Vec::new(), Vec::new());
    for lane in lanes {
        let rows = units(lane, purpose, hands(lane), &supply);
        let (units, means): (Vec<Unit>, Vec<Meaning>) = rows.into_iter().unzip();
        chains.push(units);
        meanings.push(means);
    }
    // A heat that is more than its supply gives would wait for ever. It is planned alone; a rule reports it.
    for piece in chains.iter().flatten().flat_map(|unit| &unit.pieces) {
        if let Some(capacity) = capacities.get_mut(piece.resource) {
            *capacity = (*capacity).max(piece.amount);
        }
    }
    (Problem { chains, capacities }, meanings)
}

/// What is done in a lane, one unit after the other.
fn units(lane: &Lane, purpose: Purpose, hands: usize, supply: &impl Fn(DeclId) -> usize) -> Vec<(Unit, Meaning)> {
    let ms = |time: u64| i64::try_from(time).unwrap_or(0);
    let by_hand = |from: i64, until: i64| Piece { from, until, resource: hands, amount: 1 };
    let mut units: Vec<(Unit, Meaning)> = Vec::new();
    if purpose == Purpose::Batch {
        for (number, warm_up) in lane.warm_ups.iter().enumerate() {
            let (press, lasts) = (ms(PRESS), ms(PRESS + warm_up.lasts));
            let claim = Piece {
                from: press,
                until: lasts,
                resource: supply(warm_up.claim.supply),
                amount: amount(warm_up.claim.amperes),
            };
            units.push((Unit { lasts, pieces: vec![by_hand(0, lasts), claim] }, Meaning::WarmUp(number)));
        }
        // The line that was warmed up last may be the next to heat.
        let lay = lane.loops.first().and_then(|first| first.first.first()).map_or(0, |lay| lay.lasts);
        if let Some((last, _)) = units.last_mut() {
            last.lasts += (ms(MINIMUM_OFF) - ms(PRESS) - ms(lay)).max(0);
        }
    }
    let handled = |lasts: u64| Unit { lasts: ms(lasts), pieces: vec![by_hand(0, ms(lasts))] };
    let bent = |pass: &Pass| {
        let (press, off) = (ms(PRESS), ms(PRESS + pass.heat));
        let bent = off + ms(pass.transfer);
        let claims = pass.claims.iter().map(|claim| Piece {
            from: press,
            until: off,
            resource: supply(claim.supply),
            amount: amount(claim.amperes),
        });
        let lasts = (bent + ms(pass.set)).max(off + ms(MINIMUM_OFF) - ms(PRESS));
        let hands = if lane.attended { vec![by_hand(0, bent)] } else { vec![by_hand(0, press), by_hand(off, bent)] };
        Unit { lasts, pieces: hands.into_iter().chain(claims).collect() }
    };
    for (number, part_loop) in lane.loops.iter().enumerate() {
        let bends: Vec<Unit> = part_loop.passes.iter().map(bent).collect();
        for part in 0..part_loop.times.max(1) {
            let lays = if part == 0 { &part_loop.first } else { &part_loop.again };
            let place = |pass| Place { part_loop: number, part, pass };
            for (pass, (lay, bend)) in lays.iter().zip(&bends).enumerate() {
                units.push((handled(lay.lasts), Meaning::Lay(place(pass))));
                units.push((bend.clone(), Meaning::Pass(place(pass))));
            }
            units.push((handled(part_loop.unload), Meaning::Unload(place(bends.len().saturating_sub(1)))));
        }
    }
    units
}

/// The schedule with all that follows from the starts.
fn timed(solved: &Solved, bound: i64, lanes: Vec<Lane>, meanings: &[Vec<Meaning>], jobs: &[Job<'_>]) -> Schedule {
    let mut all: Vec<Task> = Vec::new();
    for (number, ((lane, meanings), starts)) in lanes.iter().zip(meanings).zip(&solved.starts).enumerate() {
        for (meaning, start) in meanings.iter().zip(starts) {
            all.extend(tasks(lane, number, *meaning, u64::try_from(*start).unwrap_or(0)));
        }
    }
    all.sort_by_key(|task| (task.start, task.end, task.lane));
    assign(&mut all, &lanes);
    let total = u64::try_from(solved.end).unwrap_or(0);
    let on = heats(&lanes, &all, jobs);
    Schedule {
        supplies: uses(&on, &limits(jobs)),
        arms: arm_uses(&lanes, &all, total),
        hands: all.iter().filter(|task| task.work.by_hand()).map(|task| task.end - task.start).sum(),
        spare: spare(&lanes, jobs),
        total,
        bound: u64::try_from(bound).unwrap_or(0),
        tasks: all,
        lanes,
    }
}

fn arm_uses(lanes: &[Lane], tasks: &[Task], total: u64) -> Vec<ArmUse> {
    let mut uses: BTreeMap<(usize, usize), ArmUse> = BTreeMap::new();
    for (number, lane) in lanes.iter().enumerate() {
        for arm in &lane.arms {
            let unused = ArmUse { lane: number, arm: *arm, heating: 0, setting: 0, idle: total };
            uses.insert((number, *arm), unused);
        }
    }
    for task in tasks {
        let lasts = task.end - task.start;
        for arm in &task.arms {
            let Some(own) = uses.get_mut(&(task.lane, *arm)) else { continue };
            own.idle = own.idle.saturating_sub(lasts);
            match task.work {
                Work::Heat | Work::WarmUp => own.heating += lasts,
                Work::Set => own.setting += lasts,
                _ => {}
            }
        }
    }
    uses.into_values().collect()
}

/// How long one part more takes at its lane, by run.
fn spare(lanes: &[Lane], jobs: &[Job<'_>]) -> Vec<u64> {
    let loops = || lanes.iter().flat_map(|lane| &lane.loops);
    jobs.iter().map(|job| loops().find(|own| own.run == job.run).map_or(0, one_more)).collect()
}

#[cfg(test)]
mod tests {
    use super::variants;
    use crate::plan::schedule::drawn::{AMPERE, amount, room};

    #[test]
    fn what_is_drawn_is_rounded_up_and_what_there_is_down() {
        assert_eq!((amount(10.001), room(10.009)), (1001, 1000));
        assert_eq!(amount(24.0), room(24.0));
        assert!((f64::from(2400) / AMPERE - 24.0).abs() < 1e-12);
    }

    #[test]
    fn every_order_of_runs_is_tried_the_given_one_first() {
        let found = variants(&[vec![0, 2], vec![1, 3, 4]]);
        assert_eq!(found.len(), 12);
        assert_eq!(found[0], [vec![0, 2], vec![1, 3, 4]]);
    }
}
