use serde::Serialize;

use crate::emit::calls::call;
use crate::emit::schedule::{ScheduleBody, Scheduled, body as schedule};
use crate::emit::shown::{Units, judged};
use crate::model::Level;
use crate::physics::window::Span;
use crate::plan::{Action, BatchPlan, HeatRows, RecipePlan, Step, Thermal};
use crate::report::json::Finding;
use crate::units::{Bounded, Known};

/// The version of the shape that `grammar/steps.schema.json` describes; within a version fields are only added.
pub const SCHEMA: &str = "withy:steps:1";

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    kind: &'static str,
    name: &'a str,
    compiler: &'static str,
    digest: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    recipe: Option<RecipeBody<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    runs: Vec<RunBody<'a>>,
    cycle_time_s: f64,
    schedule: ScheduleBody<'a>,
    heat_rows: Vec<HeatRowBody>,
    findings: &'a [Finding<'a>],
}

/// What the row button of a controller chooses between.
#[derive(Serialize)]
struct HeatRowBody {
    row: usize,
    thickness_mm: f64,
    heats: Vec<RowHeatBody>,
}

#[derive(Serialize)]
struct RowHeatBody {
    run: usize,
    bend: String,
    heat_s: f64,
}

#[derive(Serialize)]
struct RecipeBody<'a> {
    part: &'a str,
    bench: &'a str,
    sheet: &'a str,
    thickness_mm: Known,
    blank: BlankBody,
    bends: Vec<BendBody<'a>>,
    supplies: Vec<SupplyBody<'a>>,
    energy_j: Known,
    steps: Vec<StepBody<'a>>,
}

#[derive(Serialize)]
#[expect(clippy::struct_field_names, reason = "the unit belongs to each name")]
struct BlankBody {
    length_mm: Known,
    width_mm: f64,
    legs_mm: Vec<Known>,
}

#[derive(Serialize)]
struct BendBody<'a> {
    bend: String,
    number: usize,
    arm: &'a str,
    heater: &'a str,
    direction: &'static str,
    angle_deg: f64,
    from_start_mm: f64,
    from_end_mm: f64,
    arc_mm: Known,
    heat: Vec<LevelBody>,
    set_s: f64,
    swing_deg: f64,
    fence_mm: f64,
    current_a: Known,
    window: Option<WindowBody>,
    lines: Vec<LineBody>,
}

/// Times in s; null for what is never reached.
#[derive(Serialize)]
struct WindowBody {
    verdict: &'static str,
    calibrated: bool,
    from_memory: bool,
    ready_s: SpanBody,
    over_s: SpanBody,
    set_s: Option<SpanBody>,
    radius_mm: f64,
}

#[derive(Serialize)]
struct SpanBody {
    nominal: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct LevelBody {
    time_s: f64,
    percent: f64,
}

#[derive(Serialize)]
struct LineBody {
    line_power_w_per_m: Known,
    current_a: Known,
    cold_ohm: Known,
    hot_ohm: Known,
    wire_c: f64,
}

#[derive(Serialize)]
struct SupplyBody<'a> {
    supply: &'a str,
    current_a: Known,
}

#[derive(Serialize)]
struct StepBody<'a> {
    step: usize,
    lane: usize,
    start_s: f64,
    lasts_s: f64,
    #[serde(rename = "do")]
    action: &'static str,
    bend: Option<String>,
    arm: Option<&'a str>,
    place_mm: Option<f64>,
    place_shown: Option<String>,
    against_fence: Option<&'static str>,
    face: &'static str,
    heat_percent: Option<f64>,
    swing_deg: Option<f64>,
    call: String,
}

#[derive(Serialize)]
struct RunBody<'a> {
    recipe: &'a str,
    made: RecipeBody<'a>,
    times: u64,
    spare: u64,
    lot: Option<&'a str>,
    start_s: f64,
    end_s: f64,
    cycle_time_s: f64,
}

/// `steps.json` of a recipe. The digest stands for all resolved inputs.
pub fn recipe_json(
    plan: &RecipePlan,
    rows: Option<&HeatRows>,
    units: Units,
    digest: &str,
    findings: &[Finding<'_>],
) -> String {
    write(&Document {
        schema: SCHEMA,
        kind: "recipe",
        name: &plan.recipe.name,
        compiler: env!("CARGO_PKG_VERSION"),
        digest,
        recipe: Some(body(plan, units)),
        runs: Vec::new(),
        cycle_time_s: plan.cycle_time,
        schedule: schedule(&Scheduled::recipe(plan)),
        heat_rows: heat_rows(&[plan], rows),
        findings,
    })
}

/// `steps.json` of a batch.
pub fn batch_json(
    plan: &BatchPlan,
    rows: Option<&HeatRows>,
    units: Units,
    digest: &str,
    findings: &[Finding<'_>],
) -> String {
    let plans: Vec<&RecipePlan> = plan.runs.iter().map(|run| &run.plan).collect();
    let runs = plan.batch.runs.iter().zip(&plan.runs).map(|(run, planned)| RunBody {
        recipe: &run.recipe.name,
        made: body(&planned.plan, units),
        times: run.times,
        spare: run.spare,
        lot: run.lot.as_ref().map(|lot| lot.name.as_str()),
        start_s: planned.start,
        end_s: planned.end,
        cycle_time_s: planned.plan.cycle_time,
    });
    write(&Document {
        schema: SCHEMA,
        kind: "batch",
        name: &plan.batch.name,
        compiler: env!("CARGO_PKG_VERSION"),
        digest,
        recipe: None,
        runs: runs.collect(),
        cycle_time_s: plan.cycle_time,
        schedule: schedule(&Scheduled::batch(plan)),
        heat_rows: heat_rows(&plans, rows),
        findings,
    })
}

fn heat_rows(plans: &[&RecipePlan], rows: Option<&HeatRows>) -> Vec<HeatRowBody> {
    let Some(rows) = rows else { return Vec::new() };
    let row = |(index, thickness): (usize, &u16)| HeatRowBody {
        row: index + 1,
        thickness_mm: f64::from(*thickness) / 100.0,
        heats: rows
            .bends
            .iter()
            .filter_map(|own| {
                let bend = plans.get(own.run)?.recipe.part.bend_label(own.bend);
                Some(RowHeatBody { run: own.run + 1, bend, heat_s: *own.heats.get(index)? })
            })
            .collect(),
    };
    rows.thicknesses.iter().enumerate().map(row).collect()
}

fn write(document: &Document<'_>) -> String {
    // A document of numbers and strings can always be written.
    let mut text = serde_json::to_string_pretty(document).unwrap_or_default();
    text.push('\n');
    text
}

/// In another unit; the bounds are rounded outward, so that they stay bounds.
fn scaled(value: &Bounded, factor: f64) -> Known {
    let nominal = value.nominal() * factor;
    if value.is_exact() {
        return Known::exact(nominal);
    }
    Known::between(nominal, (value.low() * factor).next_down(), (value.high() * factor).next_up())
}

fn body(plan: &RecipePlan, units: Units) -> RecipeBody<'_> {
    let recipe = &plan.recipe;
    let supply_name = |id| {
        let supplies = recipe.bench.arms.iter().map(|arm| &arm.heater.supply);
        supplies.into_iter().find(|supply| supply.id == id).map_or("", |supply| supply.name.as_str())
    };
    RecipeBody {
        part: &recipe.part.name,
        bench: &recipe.bench.name,
        sheet: &recipe.part.sheet.name,
        thickness_mm: scaled(&recipe.part.sheet.thickness.value, 1e3),
        blank: BlankBody {
            length_mm: scaled(&plan.blank.length, 1e3),
            width_mm: plan.blank.width * 1e3,
            legs_mm: plan.blank.legs.iter().map(|leg| scaled(leg, 1e3)).collect(),
        },
        bends: (0..plan.bends.len()).map(|bend| bend_body(plan, bend)).collect(),
        supplies: plan
            .currents
            .iter()
            .map(|(id, current)| SupplyBody { supply: supply_name(*id), current_a: Known::from(current) })
            .collect(),
        energy_j: Known::from(&plan.energy),
        steps: plan.steps.iter().enumerate().map(|(index, step)| step_body(plan, step, index + 1, units)).collect(),
    }
}

fn bend_body(plan: &RecipePlan, index: usize) -> BendBody<'_> {
    let recipe = &plan.recipe;
    let (bend, made, line) = (&recipe.part.bends[index], &plan.bends[index], &plan.blank.lines[index]);
    let arm = &recipe.bench.arms[recipe.bends[index].arm];
    BendBody {
        bend: recipe.part.bend_label(index),
        number: index + 1,
        arm: &arm.name,
        heater: &arm.heater.name,
        direction: if bend.direction == crate::model::Direction::Up { "up" } else { "down" },
        angle_deg: bend.angle.value.to_degrees(),
        from_start_mm: line.from_start * 1e3,
        from_end_mm: (plan.blank.length.nominal() - line.from_start) * 1e3,
        arc_mm: scaled(&line.arc, 1e3),
        heat: made.heat.iter().map(|level| LevelBody { time_s: level.time, percent: level.share * 100.0 }).collect(),
        set_s: made.set,
        swing_deg: made.swing.to_degrees(),
        fence_mm: made.fence * 1e3,
        current_a: Known::from(&made.electric.current),
        window: made.thermal.as_ref().map(|thermal| window_body(thermal, &made.heat)),
        lines: made
            .electric
            .lines
            .iter()
            .map(|line| LineBody {
                line_power_w_per_m: Known::from(&line.line_power),
                current_a: Known::from(&line.current),
                cold_ohm: Known::from(&line.cold),
                hot_ohm: Known::from(&line.hot),
                wire_c: line.temperature - 273.15,
            })
            .collect(),
    }
}

fn window_body(thermal: &Thermal, heat: &[Level]) -> WindowBody {
    let total = heat.iter().map(|level| level.time).sum();
    let reached = |time: f64| time.is_finite().then_some(time);
    let span =
        |span: Span| SpanBody { nominal: reached(span.nominal), low: reached(span.low), high: reached(span.high) };
    WindowBody {
        verdict: judged(&thermal.window, total),
        calibrated: thermal.calibrated,
        from_memory: thermal.from_memory,
        ready_s: span(thermal.window.ready),
        over_s: span(thermal.window.over),
        set_s: thermal.window.set.map(span),
        radius_mm: thermal.radius * 1e3,
    }
}

fn step_body<'a>(plan: &'a RecipePlan, step: &Step, number: usize, units: Units) -> StepBody<'a> {
    StepBody {
        step: number,
        lane: 1,
        start_s: step.start,
        lasts_s: step.lasts,
        action: step.action.word(),
        bend: step.bend.map(|bend| plan.recipe.part.bend_label(bend)),
        arm: step.arm.and_then(|arm| plan.recipe.bench.arms.get(arm)).map(|arm| arm.name.as_str()),
        place_mm: step.fence.map(|(fence, _)| fence * 1e3),
        place_shown: step.fence.map(|(fence, _)| units.length(fence)),
        against_fence: step.fence.map(|(_, side)| match side {
            crate::model::FenceSide::Front => "front",
            crate::model::FenceSide::Back => "back",
        }),
        face: if step.turned_over { "upper" } else { "lower" },
        heat_percent: step.share.map(|share| share * 100.0),
        swing_deg: step.swing.filter(|_| step.action != Action::Unload).map(f64::to_degrees),
        call: call(plan, step, units),
    }
}
