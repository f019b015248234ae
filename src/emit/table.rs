use std::fmt::Write;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use crate::emit::calls::call;
use crate::emit::csv::decimal;
use crate::emit::schedule::{Scheduled, figure_lines, schedule_text};
use crate::emit::shown::{Units, clock, figure, judged, time};
use crate::physics::window::{Verdict, Window};
use crate::plan::{Action, BatchPlan, BendRows, Change, HeatRows, RecipePlan};
use crate::units::{Kind, Unit, show_rounded};

/// What the person at the bench must have seen to before the first step (common practice, no source).
const CAUTION: &str = "  Before the first heat: film off the heated zone, air drawn off, gloves on, extinguisher in reach.\n  \
                       Never leave a hot line. Local code and the sheet maker's data go before these figures.";

/// The step table of a recipe for a terminal `width` columns wide, with its headline figures.
pub fn recipe_table(plan: &RecipePlan, rows: Option<&HeatRows>, units: Units, width: u16) -> String {
    let recipe = &plan.recipe;
    let mut text = format!("{}: {} on {}\n", recipe.name, recipe.part.name, recipe.bench.name);
    for (name, value) in part_lines(plan, units) {
        let _ = writeln!(text, "  {name:<13}{value}");
    }
    text.push_str(&figure_lines(&Scheduled::recipe(plan)));
    text.push_str(&windows(plan, width));
    text.push_str(&heat_rows(&[plan], rows, width));
    let mut table = plain_table(width);
    table.set_header(["step", "at", "do", "bend", "takes", "how"]);
    for (index, step) in plan.steps.iter().enumerate() {
        let lasts = if step.action == Action::Bend { format!("≤ {}", time(step.lasts)) } else { time(step.lasts) };
        table.add_row([
            (index + 1).to_string(),
            clock(step.start),
            step.action.word().to_owned(),
            step.bend.map(|bend| recipe.part.bend_label(bend)).unwrap_or_default(),
            lasts,
            call(plan, step, units),
        ]);
    }
    for column in [0, 1, 4] {
        if let Some(column) = table.column_mut(column) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let _ = writeln!(text, "{}\n\n{CAUTION}", table.trim_fmt());
    text
}

fn part_lines(plan: &RecipePlan, units: Units) -> Vec<(&'static str, String)> {
    let recipe = &plan.recipe;
    let sheet = &recipe.part.sheet;
    let source = if sheet.by_standard { ", as its material allows" } else { "" };
    let memory = if sheet.material.computed_times { "" } else { "; its thermal data are from memory" };
    let lines: Vec<String> = plan
        .blank
        .lines
        .iter()
        .enumerate()
        .map(|(bend, line)| format!("{} {}", recipe.part.bend_label(bend), units.length(line.from_start)))
        .collect();
    let mut rows = vec![
        ("sheet", format!("{}, {}{source}{memory}", sheet.name, units.known_length(&sheet.thickness.value))),
        ("blank", format!("{} × {}", units.known_length(&plan.blank.length), units.length(plan.blank.width))),
        ("bend lines", format!("{} from the start", lines.join(", "))),
        ("order", order(plan)),
        ("handling", handling(plan)),
        ("fence", fence(plan, units)),
        ("springback", "none measured: stops stand at the drawn angle, and a bend may open by up to 5 deg".to_owned()),
    ];
    if plan.blank.lines.is_empty() {
        rows.retain(|row| row.0 != "fence");
    }
    let told = recipe.bends.iter().all(|bend| bend.swing.is_some());
    if told || !recipe.part.springback_assumed {
        rows.retain(|row| row.0 != "springback");
    }
    if plan.blank.lines.is_empty() {
        rows.retain(|row| row.0 != "bend lines");
    }
    if plan.blank.lines.len() < 2 {
        rows.retain(|row| !matches!(row.0, "order" | "handling"));
    }
    rows
}

/// `lip then front then back`, and who said so.
fn order(plan: &RecipePlan) -> String {
    let group = |group: &Vec<usize>| {
        let labels: Vec<String> = group.iter().map(|bend| plan.recipe.part.bend_label(*bend)).collect();
        labels.join(" with ")
    };
    let groups: Vec<String> = plan.handling.order.iter().map(group).collect();
    let source = if plan.handling.computed { " (computed: none needs fewer hands)" } else { "" };
    format!("{}{source}", groups.join(" then "))
}

/// In which steps it is set, what that does to the part, and what is supposed of its shape.
fn fence(plan: &RecipePlan, units: Units) -> String {
    let fence = &plan.recipe.bench.fence;
    let step = fence.reads.value;
    let mut text = format!("set in whole steps of {}: a bend line can lie half a step off", units.length(step));
    let mm = |metres: f64| format!("{} mm", decimal(metres * 1e3, 1));
    let (height, thickness) = (mm(fence.height()), mm(fence.thickness()));
    let supposed = match (&fence.height, &fence.thickness) {
        (Some(_), Some(_)) => return text,
        (None, None) => format!("{height} high and {thickness} thick"),
        (None, Some(_)) => format!("{height} high"),
        (Some(_), None) => format!("{thickness} thick"),
    };
    let _ = write!(text, "; supposed to be {supposed}");
    text
}

/// What is done between the bends.
fn handling(plan: &RecipePlan) -> String {
    let count = |change: Change, one: &str, many: &str| {
        let count = plan.steps.iter().filter(|step| step.changes.contains(&change)).count();
        format!("{count} {}", if count == 1 { one } else { many })
    };
    [
        count(Change::TurnOver, "turn-over", "turn-overs"),
        count(Change::Swing, "swing change", "swing changes"),
        count(Change::Fence, "fence change", "fence changes"),
    ]
    .join(", ")
}

/// The window of each bend, with how far it is open and what is left on either side of the time that is used.
fn windows(plan: &RecipePlan, width: u16) -> String {
    let mut table = plain_table(width);
    table.set_header(["bend", "heat", "window", "proved", "margin", "set", "wire", "line power", "verdict"]);
    for (index, bend) in plan.bends.iter().enumerate() {
        let line = bend.electric.lines.first();
        let total: f64 = bend.heat.iter().map(|level| level.time).sum();
        let (window, proved, margin, word) = match &bend.thermal {
            Some(thermal) => {
                let window = &thermal.window;
                (window_range(window), proved_range(window), margin(window, total), judged(window, total))
            }
            None => ("-".to_owned(), "-".to_owned(), "-".to_owned(), "not computed"),
        };
        table.add_row([
            plan.recipe.part.bend_label(index),
            format!("{} s", decimal(total, 1)),
            window,
            proved,
            margin,
            format!("{} s", decimal(bend.set, 1)),
            line.map(|line| figure(Kind::Temperature, line.temperature, 3)).unwrap_or_default(),
            line.map(|line| per_inch(line.line_power.nominal())).unwrap_or_default(),
            word.to_owned(),
        ]);
    }
    if plan.bends.is_empty() { String::new() } else { format!("\n{}\n{}\n", table.trim_fmt(), legend(plan)) }
}

/// What the verdicts of a table mean, as far as they stand in it.
fn legend(plan: &RecipePlan) -> String {
    let verdicts =
        |verdict| plan.bends.iter().filter_map(|bend| bend.thermal.as_ref()).any(|it| it.window.verdict == verdict);
    let mut text = String::new();
    if verdicts(Verdict::Nominal) {
        text.push_str(" nominal: right if all is as expected, so a starting point for trial strips\n");
    }
    if verdicts(Verdict::Proved) {
        text.push_str(" proved: right over all that is not known of this bench and sheet\n");
    }
    text
}

/// From ready to over, if all is as expected.
pub(super) fn window_range(window: &Window) -> String {
    range(window.ready.nominal, window.over.nominal)
}

/// From ready to over, over all that is not known; a dash where nothing is proved.
pub(super) fn proved_range(window: &Window) -> String {
    if window.verdict == Verdict::Proved { range(window.ready.high, window.over.low) } else { "-".to_owned() }
}

/// From the heat time to the nearer end of its window: of the proved one where there is one, else of the nominal one.
pub(super) fn margin(window: &Window, heat: f64) -> String {
    let (ready, over) = match window.verdict {
        Verdict::Proved => (window.ready.high, window.over.low),
        Verdict::Nominal | Verdict::None => (window.ready.nominal, window.over.nominal),
    };
    let left = (heat - ready).min(over - heat);
    if left.is_finite() { format!("{} s", decimal(left, 1)) } else { "-".to_owned() }
}

fn range(from: f64, to: f64) -> String {
    match (from.is_finite(), to.is_finite()) {
        (true, true) => format!("{}..{} s", from.ceil(), to.floor()),
        (true, false) => format!("from {} s", from.ceil()),
        _ => "never ready".to_owned(),
    }
}

/// Line power as the trade says it.
pub(super) fn per_inch(watts_per_metre: f64) -> String {
    Unit::parse("W/in").map_or_else(|_| String::new(), |unit| show_rounded(watts_per_metre, &unit, 3))
}

fn plain_table(width: u16) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table
}

/// The lanes and runs of a batch for a terminal, and what hands do when.
pub fn batch_table(plan: &BatchPlan, rows: Option<&HeatRows>, width: u16) -> String {
    let own = Scheduled::batch(plan);
    let parts: u64 = plan.runs.iter().map(|run| run.times).sum();
    let mut text = format!("{}: {}\n", plan.batch.name, counted(parts, plan.schedule.lanes.len()));
    text.push_str(&figure_lines(&own));
    let mut table = plain_table(width);
    table.set_header(["arm", "run", "recipe", "parts", "from", "until", "each", "spare"]);
    for (number, lane) in plan.schedule.lanes.iter().enumerate() {
        for part_loop in &lane.loops {
            let Some(run) = plan.runs.get(part_loop.run) else { continue };
            let arms: Vec<&str> = lane.arms.iter().map(|arm| own.arm(number, *arm)).collect();
            let each = plan.schedule.spare.get(part_loop.run).map(|ms| *ms as f64 / 1e3);
            table.add_row([
                arms.join(" + "),
                (part_loop.run + 1).to_string(),
                run.plan.recipe.name.clone(),
                run.times.to_string(),
                clock(run.start),
                clock(run.end),
                each.map(time).unwrap_or_default(),
                run.spare.to_string(),
            ]);
        }
    }
    let _ = writeln!(text, "\n{}\n", table.trim_fmt());
    text.push_str(&schedule_text(&own, width));
    for (index, (run, planned)) in plan.batch.runs.iter().zip(&plan.runs).enumerate() {
        let sheet = &run.recipe.part.sheet.name;
        let from = run.lot.as_ref().map_or_else(|| sheet.clone(), |lot| format!("lot {} of {sheet}", lot.name));
        let _ = write!(text, "\nrun {}, {} from {from}:{}", index + 1, run.recipe.name, windows(&planned.plan, width));
    }
    let plans: Vec<&RecipePlan> = plan.runs.iter().map(|run| &run.plan).collect();
    text.push_str(&heat_rows(&plans, rows, width));
    let _ = writeln!(text, "{CAUTION}");
    text
}

/// The rows that the controller's row button chooses, by measured thickness.
fn heat_rows(plans: &[&RecipePlan], rows: Option<&HeatRows>, width: u16) -> String {
    let Some(rows) = rows else { return String::new() };
    let mut table = plain_table(width);
    let several = plans.len() > 1;
    let name = |own: &BendRows| {
        let label = plans.get(own.run).map(|plan| plan.recipe.part.bend_label(own.bend)).unwrap_or_default();
        if several { format!("{} {label}", own.run + 1) } else { label }
    };
    let head = ["row", "measured"].into_iter().map(str::to_owned);
    table.set_header(head.chain(rows.bends.iter().map(name)));
    for (index, thickness) in rows.thicknesses.iter().enumerate() {
        let cells = [(index + 1).to_string(), format!("{} mm", decimal(f64::from(*thickness) / 100.0, 2))];
        let heats = rows.bends.iter().map(|own| own.heats.get(index).map_or(String::new(), |heat| time(*heat)));
        table.add_row(cells.into_iter().chain(heats));
    }
    format!("{}\n\n", table.trim_fmt()) + ROWS
}

/// How a row is chosen.
const ROWS: &str = " The heat time hangs on the thickness: measure the sheet, and choose its row with the row button before the start.\n \
                    The lamp blinks the row. A controller that nobody has set is in row 1, the thinnest. Sheet that is in no\n \
                    row has no heat that suits all its bends.\n\n";

/// `60 parts in 2 lanes`.
fn counted(parts: u64, lanes: usize) -> String {
    let parts = if parts == 1 { "1 part".to_owned() } else { format!("{parts} parts") };
    let places = if lanes == 1 {
        "one after the other".to_owned()
    } else {
        format!("in {lanes} lanes, each one part at a time")
    };
    format!("{parts}, {places}")
}
