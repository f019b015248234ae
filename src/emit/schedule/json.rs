use serde::Serialize;

use crate::emit::schedule::{Scheduled, word};
use crate::names::DeclId;
use crate::plan::schedule::{ArmUse, Lane, SupplyUse};
use crate::units::{Bounded, Known};

/// A schedule in `steps.json`.
#[derive(Serialize)]
pub struct ScheduleBody<'a> {
    total_s: f64,
    bound_s: f64,
    hands_s: f64,
    energy_j: Known,
    lanes: Vec<LaneBody<'a>>,
    arms: Vec<ArmBody<'a>>,
    supplies: Vec<SupplyBody<'a>>,
    tasks: Vec<TaskBody<'a>>,
}

#[derive(Serialize)]
struct LaneBody<'a> {
    arms: Vec<&'a str>,
    operators: u64,
    warm_ups: Vec<WarmUpBody<'a>>,
    runs: Vec<LoopBody>,
}

#[derive(Serialize)]
struct WarmUpBody<'a> {
    heater: &'a str,
    lasts_s: f64,
    claim_a: f64,
}

/// A counted loop: which run, and what its presses ask for.
#[derive(Serialize)]
struct LoopBody {
    run: usize,
    times: u64,
    spare: u64,
    spare_s: f64,
    passes: Vec<PassBody>,
}

#[derive(Serialize)]
struct PassBody {
    heat_s: f64,
    transfer_s: f64,
    set_s: f64,
    claim_a: f64,
}

#[derive(Serialize)]
struct ArmBody<'a> {
    arm: &'a str,
    lane: usize,
    heating_s: f64,
    setting_s: f64,
    idle_s: f64,
}

#[derive(Serialize)]
struct SupplyBody<'a> {
    supply: &'a str,
    current_a: Known,
    highest_a: f64,
    long_a: f64,
    profile: Vec<(f64, f64)>,
}

#[derive(Serialize)]
struct TaskBody<'a> {
    start_s: f64,
    end_s: f64,
    #[serde(rename = "do")]
    work: &'static str,
    lane: usize,
    arms: Vec<&'a str>,
    run: Option<usize>,
    part: Option<u64>,
    bends: Vec<String>,
    operator: Option<u64>,
}

fn seconds(ms: u64) -> f64 {
    ms as f64 / 1e3
}

/// The schedule with names for numbers; lanes, runs, parts and operators count from 1.
pub fn body<'a>(own: &Scheduled<'a>) -> ScheduleBody<'a> {
    let schedule = own.schedule;
    let lane = |(number, lane): (usize, &'a Lane)| LaneBody {
        arms: lane.arms.iter().map(|arm| own.arm(number, *arm)).collect(),
        operators: lane.operators,
        warm_ups: lane
            .warm_ups
            .iter()
            .map(|warm_up| WarmUpBody {
                heater: own.heater(number, warm_up.arm),
                lasts_s: seconds(warm_up.lasts),
                claim_a: warm_up.claim.amperes,
            })
            .collect(),
        runs: lane
            .loops
            .iter()
            .map(|part_loop| LoopBody {
                run: part_loop.run + 1,
                times: part_loop.times,
                spare: part_loop.spare,
                spare_s: seconds(schedule.spare.get(part_loop.run).copied().unwrap_or(0)),
                passes: part_loop
                    .passes
                    .iter()
                    .map(|pass| PassBody {
                        heat_s: seconds(pass.heat),
                        transfer_s: seconds(pass.transfer),
                        set_s: seconds(pass.set),
                        claim_a: pass.claims.iter().map(|claim| claim.amperes).fold(0.0, f64::max),
                    })
                    .collect(),
            })
            .collect(),
    };
    let task = |task: &'a crate::plan::schedule::Task| {
        let plan = own.plan(task);
        let label = |bend: usize| plan.map_or_else(String::new, |plan| plan.recipe.part.bend_label(bend));
        TaskBody {
            start_s: seconds(task.start),
            end_s: seconds(task.end),
            work: word(task.work),
            lane: task.lane + 1,
            arms: task.arms.iter().map(|arm| own.arm(task.lane, *arm)).collect(),
            run: own.part_loop(task).map(|part_loop| part_loop.run + 1),
            part: task.part_loop.map(|_| task.part + 1),
            bends: own.bends(task).into_iter().map(label).collect(),
            operator: task.operator.map(|operator| operator + 1),
        }
    };
    ScheduleBody {
        total_s: seconds(schedule.total),
        bound_s: seconds(schedule.bound),
        hands_s: seconds(schedule.hands),
        energy_j: Known::from(own.energy),
        lanes: schedule.lanes.iter().enumerate().map(lane).collect(),
        arms: arms(own),
        supplies: supplies(own),
        tasks: schedule.tasks.iter().map(task).collect(),
    }
}

fn arms<'a>(own: &Scheduled<'a>) -> Vec<ArmBody<'a>> {
    let body = |used: &ArmUse| ArmBody {
        arm: own.arm(used.lane, used.arm),
        lane: used.lane + 1,
        heating_s: seconds(used.heating),
        setting_s: seconds(used.setting),
        idle_s: seconds(used.idle),
    };
    own.schedule.arms.iter().map(body).collect()
}

fn supplies<'a>(own: &Scheduled<'a>) -> Vec<SupplyBody<'a>> {
    let body = |(id, used): (&DeclId, &SupplyUse)| SupplyBody {
        supply: own.supply(*id),
        current_a: own.currents.get(id).map_or(Known::exact(used.peak), Known::from),
        highest_a: used.peak,
        long_a: used.capacity,
        profile: used.profile.iter().map(|(at, amperes)| (seconds(*at), *amperes)).collect(),
    };
    own.schedule.supplies.iter().map(body).collect()
}

/// What a schedule comes to, in `figures.json`.
#[derive(Serialize)]
pub struct FiguresBody<'a> {
    cycle_time_s: f64,
    bound_s: f64,
    hands_s: f64,
    energy_j: Known,
    arms: Vec<ArmBody<'a>>,
    supplies: Vec<DrawnBody<'a>>,
}

#[derive(Serialize)]
struct DrawnBody<'a> {
    supply: &'a str,
    peak_current_a: Known,
    long_a: f64,
}

/// What a schedule comes to.
pub fn figures_body<'a>(own: &Scheduled<'a>) -> FiguresBody<'a> {
    let schedule = own.schedule;
    let drawn = |(id, current): (&DeclId, &Bounded)| DrawnBody {
        supply: own.supply(*id),
        peak_current_a: Known::from(current),
        long_a: schedule.supplies.get(id).map_or(0.0, |used| used.capacity),
    };
    FiguresBody {
        cycle_time_s: seconds(schedule.total),
        bound_s: seconds(schedule.bound),
        hands_s: seconds(schedule.hands),
        energy_j: Known::from(own.energy),
        arms: arms(own),
        supplies: own.currents.iter().map(drawn).collect(),
    }
}
