//! Every number behind the bends of a recipe or batch, as JSON and as text.

mod sources;
mod text;

use serde::Serialize;

use crate::emit::schedule::{FiguresBody, Scheduled, figures_body};
use crate::emit::shown::verdict;
use crate::physics::window::{Row, Rows, Span};
use crate::plan::{Account, Figure, Holds, Input, RecipePlan, unknown_kind, unknown_name};
use crate::units::{Known, Unit, in_unit};

pub use sources::{Source, Sources, plain_doc};
pub use text::figures_text;

/// The version of the shape that `grammar/figures.schema.json` describes; within a version fields are only added.
pub const FIGURES_SCHEMA: &str = "withy:figures:1";

/// The accounts of one recipe, or of one run of a batch.
#[derive(Debug)]
pub struct Accounted<'a> {
    /// The plan.
    pub plan: &'a RecipePlan,
    /// The lot whose sheet it takes.
    pub lot: Option<&'a str>,
    /// The bends that were asked for.
    pub accounts: Vec<Account>,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    name: &'a str,
    compiler: &'static str,
    schedule: FiguresBody<'a>,
    runs: Vec<RunBody<'a>>,
}

#[derive(Serialize)]
struct RunBody<'a> {
    recipe: &'a str,
    part: &'a str,
    bench: &'a str,
    sheet: &'a str,
    lot: Option<&'a str>,
    bends: Vec<BendBody<'a>>,
}

#[derive(Serialize)]
struct BendBody<'a> {
    bend: &'a str,
    arm: &'a str,
    heater: &'a str,
    verdict: Option<&'static str>,
    calibrated: bool,
    from_memory: bool,
    heat: Vec<LevelBody>,
    figures: Vec<FigureBody<'a>>,
    inputs: Vec<InputBody<'a>>,
    closings: Vec<ClosingBody>,
    worths: Vec<WorthBody>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rows: Option<Vec<RowBody>>,
}

#[derive(Serialize)]
struct LevelBody {
    time_s: f64,
    percent: f64,
}

/// A number in a unit; null for what is without end.
#[derive(Serialize)]
struct ValueBody {
    nominal: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'static str,
}

#[derive(Serialize)]
struct FigureBody<'a> {
    group: &'static str,
    name: &'a str,
    #[serde(flatten)]
    value: ValueBody,
    also: Vec<ValueBody>,
    limit: Option<LimitBody<'a>>,
    formula: &'a str,
    basis: &'a str,
    simplification: Option<&'a str>,
    inputs: &'a [String],
}

#[derive(Serialize)]
struct LimitBody<'a> {
    value: Option<f64>,
    side: &'static str,
    what: &'a str,
    holds: &'static str,
}

#[derive(Serialize)]
struct InputBody<'a> {
    name: &'a str,
    symbol: &'static str,
    #[serde(flatten)]
    value: ValueBody,
    source: Source,
}

#[derive(Serialize)]
struct ClosingBody {
    unknown: &'static str,
    kind: &'static str,
    ready_later_s: Option<f64>,
    over_earlier_s: Option<f64>,
}

#[derive(Serialize)]
struct WorthBody {
    unknown: &'static str,
    ready_latest_s: Option<f64>,
    over_earliest_s: Option<f64>,
    verdict: &'static str,
}

#[derive(Serialize)]
struct RowBody {
    thickness_mm: f64,
    room_c: f64,
    ready_s: SpanBody,
    over_s: SpanBody,
    verdict: &'static str,
    heat_s: Option<f64>,
    set_s: Option<f64>,
}

#[derive(Serialize)]
struct SpanBody {
    nominal: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

/// `figures.json` of a recipe or batch.
pub fn figures_json(own: &Scheduled<'_>, runs: &[Accounted<'_>], sources: &Sources<'_>) -> String {
    let document = Document {
        schema: FIGURES_SCHEMA,
        name: own.name,
        compiler: env!("CARGO_PKG_VERSION"),
        schedule: figures_body(own),
        runs: runs.iter().map(|run| run_body(run, sources)).collect(),
    };
    // A document of numbers and strings can always be written.
    let mut text = serde_json::to_string_pretty(&document).unwrap_or_default();
    text.push('\n');
    text
}

fn run_body<'a>(run: &'a Accounted<'_>, sources: &Sources<'_>) -> RunBody<'a> {
    let recipe = &run.plan.recipe;
    RunBody {
        recipe: &recipe.name,
        part: &recipe.part.name,
        bench: &recipe.bench.name,
        sheet: &recipe.part.sheet.name,
        lot: run.lot,
        bends: run.accounts.iter().map(|account| bend_body(account, sources)).collect(),
    }
}

fn bend_body<'a>(account: &'a Account, sources: &Sources<'_>) -> BendBody<'a> {
    BendBody {
        bend: &account.bend,
        arm: &account.arm,
        heater: &account.heater,
        verdict: account.verdict.map(verdict),
        calibrated: account.calibrated,
        from_memory: account.from_memory,
        heat: account.heat.iter().map(|level| LevelBody { time_s: level.time, percent: level.share * 100.0 }).collect(),
        figures: account.figures.iter().map(figure_body).collect(),
        inputs: account.inputs.iter().map(|input| input_body(input, sources)).collect(),
        closings: account
            .closings
            .iter()
            .map(|closing| ClosingBody {
                unknown: unknown_name(closing.unknown),
                kind: unknown_kind(closing.unknown),
                ready_later_s: finite(closing.ready_later),
                over_earlier_s: finite(closing.over_earlier),
            })
            .collect(),
        worths: account
            .worths
            .iter()
            .map(|worth| WorthBody {
                unknown: unknown_name(worth.unknown),
                ready_latest_s: finite(worth.left.0),
                over_earliest_s: finite(worth.left.1),
                verdict: verdict(worth.verdict),
            })
            .collect(),
        rows: account.rows.as_ref().map(row_bodies),
    }
}

fn figure_body(figure: &Figure) -> FigureBody<'_> {
    let usual = figure.units.first().copied().unwrap_or("");
    FigureBody {
        group: figure.group.word(),
        name: &figure.name,
        value: value_body(figure.value, usual),
        also: figure.units.iter().skip(1).map(|unit| value_body(figure.value, unit)).collect(),
        limit: figure.limit.as_ref().map(|limit| LimitBody {
            value: finite(converted(limit.value, usual)),
            side: if limit.least { "at least" } else { "at most" },
            what: &limit.what,
            holds: match figure.holds() {
                Some(Holds::No) => "no",
                Some(Holds::Nominal) => "nominal",
                _ => "always",
            },
        }),
        formula: figure.formula,
        basis: figure.basis,
        simplification: figure.simplification,
        inputs: &figure.inputs,
    }
}

fn input_body<'a>(input: &'a Input, sources: &Sources<'_>) -> InputBody<'a> {
    InputBody {
        name: &input.name,
        symbol: input.symbol,
        value: value_body(input.value, input.unit),
        source: sources.of(&input.origin),
    }
}

fn value_body(value: Known, unit: &'static str) -> ValueBody {
    let at = |value: f64| finite(converted(value, unit));
    ValueBody { nominal: at(value.nominal), low: at(value.low), high: at(value.high), unit }
}

/// An SI value in a unit; without a unit it is a plain number.
fn converted(value: f64, unit: &str) -> f64 {
    match Unit::parse(unit) {
        Ok(unit) if value.is_finite() => in_unit(value, &unit),
        _ => value,
    }
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

fn row_bodies(rows: &Rows) -> Vec<RowBody> {
    let span = |span: Span| SpanBody { nominal: finite(span.nominal), low: finite(span.low), high: finite(span.high) };
    let body = |row: &Row| RowBody {
        thickness_mm: converted(row.thickness, "mm"),
        room_c: converted(row.ambient, "degC"),
        ready_s: span(row.ready),
        over_s: span(row.over),
        verdict: verdict(row.verdict),
        heat_s: row.heat,
        set_s: row.hold,
    };
    rows.rows.iter().map(body).collect()
}
