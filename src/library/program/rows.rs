//! Puts heat times by measured thickness in place of the fixed ones.

use crate::library::program::lanes::short;
use crate::library::program::{ceil, floor};
use crate::plan::HeatRows;
use crate::plan::schedule::{self, Schedule};
use crate::program::{HeatRow, LanePlan, PartLoop, Pass, Stage, StageTime};

/// The lanes with the times of the rows; each is the lane of the schedule that `order` names. What is one lane of the
/// program and several of the schedule has the loops of all of them.
pub(super) fn with_heat_rows(
    lanes: &[LanePlan],
    rows: &HeatRows,
    order: &[usize],
    schedule: &Schedule,
) -> Vec<LanePlan> {
    let planned = order.iter().filter_map(|lane| schedule.lanes.get(*lane)).flat_map(|lane| &lane.loops);
    let mut planned = planned.collect::<Vec<_>>().into_iter();
    let mut made = lanes.to_vec();
    for part_loop in made.iter_mut().flat_map(|lane| &mut lane.loops) {
        let Some(own) = planned.next() else { continue };
        part_with_rows(part_loop, own, rows);
    }
    made
}

fn part_with_rows(part_loop: &mut PartLoop, planned: &schedule::PartLoop, rows: &HeatRows) {
    for (pass, own) in part_loop.passes.iter_mut().zip(&planned.passes) {
        let mut hangs = false;
        for (heating, bend) in pass.heats.iter_mut().zip(&own.heats) {
            let Some(bend) = rows.of(planned.run, bend.bend) else { continue };
            let heats = bend.heats.iter().map(|heat| floor(*heat, 1000.0));
            stretch_last(&mut heating.stages, heats, &rows.thicknesses);
            pass.set = bend.hold.map_or(pass.set, |hold| pass.set.max(ceil(hold, 1000.0)));
            hangs = true;
        }
        if hangs {
            reserve(pass, own);
        }
    }
}

/// The last stage takes what the earlier ones leave of the whole heat.
fn stretch_last(stages: &mut [Stage], heats: impl Iterator<Item = u32>, thicknesses: &[u16]) {
    let Some((last, before)) = stages.split_last_mut() else { return };
    let before: u32 = before.iter().map(|stage| stage.time.longest()).sum();
    let rows = heats.zip(thicknesses);
    let rows = rows.map(|(heat, thickness)| HeatRow { thickness: *thickness, time: heat.saturating_sub(before) });
    last.time = StageTime::Rows(rows.collect());
}

/// The operator is kept free for the end of the heat in whichever row, as long before it as for the planned heat.
fn reserve(pass: &mut Pass, planned: &schedule::Pass) {
    let whole = |time: fn(&StageTime) -> u32| {
        let sums = pass.heats.iter().map(|heat| heat.stages.iter().map(|stage| time(&stage.time)).sum::<u32>());
        sums.max().unwrap_or(0)
    };
    let before = short(planned.heat).saturating_sub(pass.reservation.0);
    let from = whole(StageTime::shortest).saturating_sub(before);
    pass.reservation = (from, whole(StageTime::longest) + short(planned.transfer) - from);
}
