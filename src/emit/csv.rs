use crate::emit::calls::call;
use crate::emit::schedule::{Scheduled, word};
use crate::emit::shown::{Units, judged, time};
use crate::plan::schedule::{Task, Work};
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

/// The step table of a batch, RFC 4180: every step of every part asked for, by start, with run, part and whose hands.
pub fn batch_csv(plan: &BatchPlan, units: Units) -> String {
    let own = Scheduled::batch(plan);
    let mut rows: Vec<Vec<String>> = Vec::new();
    for task in &plan.schedule.tasks {
        for mut row in batch_rows(&own, task, units) {
            row[0] = (rows.len() + 1).to_string();
            row[1] = (task.lane + 1).to_string();
            row.push(own.part_loop(task).map(|part_loop| (part_loop.run + 1).to_string()).unwrap_or_default());
            row.push(task.part_loop.map(|_| (task.part + 1).to_string()).unwrap_or_default());
            row.push(task.operator.map(|operator| (operator + 1).to_string()).unwrap_or_default());
            rows.push(row);
        }
    }
    let columns: Vec<&str> = COLUMNS.into_iter().chain(["run", "part", "operator"]).collect();
    write(&columns, rows.into_iter())
}

/// The rows of one task: one for each stage of a heat and for each bend that is made at once.
fn batch_rows(own: &Scheduled<'_>, task: &Task, units: Units) -> Vec<Vec<String>> {
    let start = task.start as f64 / 1e3;
    if task.work == Work::WarmUp {
        return vec![warm_up(own, task)];
    }
    let (Some(plan), Some(action)) = (own.plan(task), action(task.work)) else { return Vec::new() };
    let bends = own.bends(task);
    let lays = matches!(action, Action::Load | Action::Reposition);
    let meant = |step: &&Step| step.action == action && step.bend.is_none_or(|bend| bends.contains(&bend));
    let steps: Vec<&Step> = plan.steps.iter().filter(meant).collect();
    let first = steps.iter().map(|step| step.start).fold(f64::INFINITY, f64::min);
    let changes = own.part_loop(task).zip(task.pass).and_then(|(part_loop, pass)| {
        let lays = if task.part == 0 { &part_loop.first } else { &part_loop.again };
        lays.get(pass).map(|lay| lay.changes.clone())
    });
    let row = |step: &&Step| {
        let mut step = Step { start: start + step.start - first, ..(*step).clone() };
        if let Some(changes) = changes.clone().filter(|_| lays) {
            step.changes = changes;
        }
        row(plan, &step, 0, 0.0, units)
    };
    steps.iter().map(row).collect()
}

fn action(work: Work) -> Option<Action> {
    match work {
        Work::Load => Some(Action::Load),
        Work::Reposition => Some(Action::Reposition),
        Work::Heat => Some(Action::Heat),
        Work::Bend => Some(Action::Bend),
        Work::Set => Some(Action::Set),
        Work::Unload => Some(Action::Unload),
        // The heat begins with it.
        Work::Press | Work::WarmUp => None,
    }
}

fn warm_up(own: &Scheduled<'_>, task: &Task) -> Vec<String> {
    let lasts = (task.end - task.start) as f64 / 1e3;
    let arm = task.arms.first().copied().unwrap_or(0);
    let heater = own.heater(task.lane, arm);
    let runs = own.schedule.lanes.get(task.lane).into_iter().flat_map(|lane| &lane.loops);
    let mut plans = runs.filter_map(|part_loop| own.plans.get(part_loop.run));
    let amperes = plans.find_map(|plan| {
        let bend = plan.recipe.bends.iter().position(|bend| bend.arm == arm)?;
        Some(plan.bends.get(bend)?.electric.current.nominal())
    });
    let call = format!("no sheet in, arm {} home: {heater} on for {}; stay", own.arm(task.lane, arm), time(lasts));
    let cells = [
        (2, decimal(task.start as f64 / 1e3, 1)),
        (3, word(task.work).to_owned()),
        (8, heater.to_owned()),
        (9, decimal(lasts, 1)),
        (10, "100".to_owned()),
        (16, amperes.map(|amperes| decimal(amperes, 2)).unwrap_or_default()),
        (17, call),
    ];
    let mut row = vec![String::new(); COLUMNS.len()];
    for (column, cell) in cells {
        row[column] = cell;
    }
    row
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
