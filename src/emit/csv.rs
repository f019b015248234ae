use crate::emit::calls::call;
use crate::emit::shown::{Units, judged};
use crate::plan::{Action, BatchPlan, RecipePlan, Step};

/// The header of `steps.csv`.
const COLUMNS: [&str; 18] = [
    "step",
    "lane",
    "start_s",
    "do",
    "bend",
    "place_mm",
    "place_shown",
    "face",
    "heater",
    "heat_s",
    "heat_percent",
    "window_low_s",
    "window_high_s",
    "verdict",
    "swing_deg",
    "hold_s",
    "supply_a",
    "call",
];

/// The step table of one part, RFC 4180.
pub fn recipe_csv(plan: &RecipePlan, units: Units) -> String {
    let rows = plan.steps.iter().enumerate().map(|(index, step)| row(plan, step, index + 1, 0.0, units));
    write(&COLUMNS, rows)
}

/// The runs of a batch, RFC 4180.
pub fn batch_csv(plan: &BatchPlan) -> String {
    let rows = plan.runs.iter().enumerate().map(|(index, run)| {
        vec![
            (index + 1).to_string(),
            decimal(run.start, 1),
            run.plan.recipe.name.clone(),
            run.times.to_string(),
            run.spare.to_string(),
            run.plan.recipe.part.sheet.name.clone(),
            decimal(run.plan.cycle_time, 1),
            decimal(run.plan.cycle_time * run.times as f64, 1),
        ]
    });
    write(&["run", "start_s", "recipe", "times", "spare", "sheet", "cycle_s", "lasts_s"], rows)
}

fn write(columns: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let mut writer = ::csv::WriterBuilder::new().terminator(::csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory cannot fail; a row of another length would be a fault of this file, and is not written.
    let _ = writer.write_record(columns);
    for row in rows {
        let _ = writer.write_record(&row);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

fn row(plan: &RecipePlan, step: &Step, number: usize, offset: f64, units: Units) -> Vec<String> {
    let arm = step.arm.and_then(|arm| plan.recipe.bench.arms.get(arm));
    let bend = step.bend.and_then(|bend| plan.bends.get(bend));
    let heats = step.action == Action::Heat;
    let lays = matches!(step.action, Action::Load | Action::Reposition);
    let swings = lays || step.action == Action::Bend;
    let when = |shown: bool, text: Option<String>| if shown { text.unwrap_or_default() } else { String::new() };
    let total: f64 = bend.map_or(0.0, |bend| bend.heat.iter().map(|level| level.time).sum());
    let thermal = bend.and_then(|bend| bend.thermal.as_ref());
    let drawn = step.share.filter(|share| *share > 0.0).and(bend).map(|bend| bend.electric.current.nominal());
    vec![
        number.to_string(),
        "1".to_owned(),
        decimal(offset + step.start, 1),
        step.action.word().to_owned(),
        step.bend.map(|bend| plan.recipe.part.bend_label(bend)).unwrap_or_default(),
        when(lays, step.fence.map(|(fence, _)| decimal(fence * 1e3, 2))),
        when(lays, step.fence.map(|(fence, _)| units.length(fence))),
        if step.turned_over { "upper" } else { "lower" }.to_owned(),
        when(heats, arm.map(|arm| arm.heater.name.clone())),
        when(heats, Some(decimal(step.lasts, 1))),
        when(heats, step.share.map(|share| decimal(share * 100.0, 1))),
        when(heats, thermal.map(|thermal| seconds(thermal.window.ready.nominal))),
        when(heats, thermal.map(|thermal| seconds(thermal.window.over.nominal))),
        when(heats, thermal.map(|thermal| judged(&thermal.window, total).to_owned())),
        when(swings, step.swing.map(|swing| decimal(swing.to_degrees(), 2))),
        when(step.action == Action::Set, Some(decimal(step.lasts, 1))),
        when(heats, drawn.map(|amperes| decimal(amperes, 2))),
        call(plan, step, units),
    ]
}

/// A time of a window; empty if it is never reached.
fn seconds(time: f64) -> String {
    if time.is_finite() { decimal(time, 1) } else { String::new() }
}

/// A number with at most so many decimals, without zeros at the end.
pub fn decimal(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}
