use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::model::{Arm, Bench, Controller, OutputRole};
use crate::plan::BatchPlan;
use crate::plan::schedule::{Schedule, Task, Work};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "unattended-heat",
    class: Class::Danger,
    group: "heat",
    summary: "A line is hot while the operator is elsewhere.",
    page: include_str!("unattended_heat.md"),
    check: Check::Schedule(check),
};

/// A heat that the bench's controller does not switch, while whoever pressed for it works elsewhere. Schedules let hands
/// go from the press on wherever there is a controller, since it ends the heat; here it does not. Once an arm.
pub fn check(plan: &BatchPlan, report: &mut Vec<Diagnostic>) {
    let schedule = &plan.schedule;
    for (number, lane) in schedule.lanes.iter().enumerate() {
        let run = lane.loops.first().and_then(|part_loop| Some(part_loop.run).zip(plan.runs.get(part_loop.run)));
        let Some((run, bench)) = run.map(|(number, run)| (number, &run.plan.recipe.bench)) else { continue };
        let Some(controller) = &bench.controller else { continue };
        for (index, arm) in lane.arms.iter().filter_map(|arm| Some((*arm, bench.arms.get(*arm)?))) {
            if switched(controller, arm) {
                continue;
            }
            let Some((heat, away)) = left_alone(schedule, number, index) else { continue };
            let other = away.arms.first().and_then(|arm| bench.arms.get(*arm));
            report.push(finding(plan, run, (bench, controller, arm), (heat, away, other)));
        }
    }
}

fn switched(controller: &Controller, arm: &Arm) -> bool {
    controller.outputs.iter().any(|output| output.role == OutputRole::Heats(arm.heater.id))
}

/// The first heat of an arm during which whoever pressed for it is busy in another lane, and with what.
fn left_alone(schedule: &Schedule, lane: usize, arm: usize) -> Option<(&Task, &Task)> {
    let tasks = &schedule.tasks;
    let heats = tasks.iter().enumerate().filter(|(_, task)| task.lane == lane && task.work == Work::Heat);
    heats.filter(|(_, heat)| heat.arms.contains(&arm)).find_map(|(number, heat)| {
        let pressed = tasks.get(..number)?.iter().rposition(|task| {
            let same = (task.lane, task.part_loop, task.part, task.pass);
            task.work == Work::Press && same == (heat.lane, heat.part_loop, heat.part, heat.pass)
        })?;
        // Tasks are sorted by start, and whoever presses does nothing else before.
        let (press, later) = tasks.get(pressed..)?.split_first()?;
        let operator = press.operator?;
        let mut meanwhile = later.iter().take_while(|task| task.start < heat.end);
        let away = meanwhile.find(|task| task.operator == Some(operator) && task.lane != lane && task.end > heat.start);
        away.map(|away| (heat, away))
    })
}

fn finding(
    plan: &BatchPlan,
    run: usize,
    (bench, controller, arm): (&Bench, &Controller, &Arm),
    (heat, away, other): (&Task, &Task, Option<&Arm>),
) -> Diagnostic {
    let place = plan.batch.runs.get(run).map_or(plan.batch.span, |run| run.span);
    let (from, until, at) = (heat.start / 1000, heat.end.div_ceil(1000), away.start / 1000);
    let other = other.map_or("", |arm| arm.name.as_str());
    RULE.finding(place, format!("nothing ends a heat at arm `{}` while the operator is elsewhere", arm.name))
        .here("in the schedule of this run")
        .also(arm.span, format!("`{}` heats here", arm.heater.name))
        .also(controller.span, format!("no `output … heats {}` here", arm.heater.name))
        .note(format!(
            "The first time, the line is hot from {from} s to {until} s after the start, and from {at} s on the operator is \
             busy at arm `{other}`."
        ))
        .help(format!(
            "Let the controller switch it, and write `output … heats {}`; or leave `controller` out of bench `{}`: then \
             whoever presses start stays until the bend is made.",
            arm.heater.name, bench.name
        ))
}
