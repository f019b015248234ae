//! From the plan of a recipe or batch to its timing program.

mod lanes;
mod machine;
mod rows;

use std::collections::BTreeMap;

use crate::emit;
use crate::library::check::Plan;
use crate::library::compile::Output;
use crate::library::figures::runs;
use crate::library::program::lanes::Lanes;
use crate::library::program::machine::{Wired, wired};
use crate::library::program::rows::with_heat_rows;
use crate::model::{Controller, Lot};
use crate::physics::window::Verdict as Window;
use crate::plan::schedule::Schedule;
use crate::plan::{HeatRows, RecipePlan, Studies, heat_rows};
use crate::program::{EventKind, FaultCode, InputRole, Logged, NO_LANE, ProgramPlan, Verdict, encode, listing, verify};
use crate::text::{Files, Span};

/// A value times a factor, rounded down; what lies a hair below a whole number through rounding is that number.
pub(super) fn floor(value: f64, factor: f64) -> u32 {
    whole(libm::floor(value * factor + 1e-6))
}

/// The same, rounded up.
pub(super) fn ceil(value: f64, factor: f64) -> u32 {
    whole(libm::ceil(value * factor - 1e-6))
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is clamped to what fits")]
fn whole(value: f64) -> u32 {
    value.clamp(0.0, f64::from(u32::MAX)) as u32
}

/// A timing program in the making, and what its lanes are.
pub(super) struct Making {
    pub plan: ProgramPlan,
    /// The names of the bench and of its controller.
    pub names: (String, String),
    /// The lane of the schedule that each lane is.
    pub lanes: Vec<usize>,
    /// The heat times that the row button chooses.
    pub rows: Option<HeatRows>,
    /// The output of each arm of the bench.
    pub arms: Vec<Option<u8>>,
    /// Why what the schedule has side by side is made one after the other, where it is.
    pub note: Option<String>,
}

/// The timing program of a recipe or batch, none on a bench without a controller; or why there is none although there is
/// a controller, in words. Its digest is still to be set.
pub(super) fn making(files: &Files, name: &str, plan: &Plan, studies: &mut Studies) -> Result<Option<Making>, String> {
    let Some(plain) = plain(files, name, plan)? else { return Ok(None) };
    let Plain { plan: made, names, order, arms, note, .. } = plain;
    let schedule = match plan {
        Plan::Recipe(plan) => &plan.schedule,
        Plan::Batch(plan) => &plan.schedule,
    };
    let rows = chosen_rows(&runs(plan), &made, &order, schedule, studies);
    let (plan, rows) = rows.map_or((made, None), |(plan, rows)| (plan, Some(rows)));
    verify(&encode(&plan).image, Some(&plan.machine)).map_err(|refusal| refusal.to_string())?;
    Ok(Some(Making { plan, names, lanes: order, rows, arms, note }))
}

/// How many bytes the program of a recipe or batch has, and for which controller; none where it has no program at all.
pub(super) fn image_size<'p>(files: &Files, name: &str, plan: &'p Plan) -> Option<(usize, &'p Controller)> {
    let made = plain(files, name, plan).ok()??;
    Some((encode(&made.plan).image.len(), made.controller))
}

/// A program with one heat time for each bend.
struct Plain<'p> {
    plan: ProgramPlan,
    controller: &'p Controller,
    names: (String, String),
    order: Vec<usize>,
    arms: Vec<Option<u8>>,
    note: Option<String>,
}

fn plain<'p>(files: &Files, name: &str, plan: &'p Plan) -> Result<Option<Plain<'p>>, String> {
    let with_lots = runs(plan);
    let runs: Vec<&RecipePlan> = with_lots.iter().map(|(run, _)| *run).collect();
    let Some(first) = with_lots.first().map(|(run, _)| *run) else { return Err("nothing is made".to_owned()) };
    if runs.iter().any(|run| run.recipe.bench.id != first.recipe.bench.id) {
        return Err("its runs are made on several benches, and each controller gets programs of its own".to_owned());
    }
    let Some(controller) = &first.recipe.bench.controller else { return Ok(None) };
    let Wired { machine, arms } = wired(&first.recipe.bench, controller)?;
    let schedule = match plan {
        Plan::Recipe(plan) => &plan.schedule,
        Plan::Batch(plan) => &plan.schedule,
    };
    let made_of = Lanes { files, schedule, runs: &runs, arms: &arms };
    let (lanes, order) = made_of.all()?;
    let steps = u16::try_from(runs.iter().map(|run| run.steps.len()).sum::<usize>()).unwrap_or(u16::MAX);
    let verdict = if proved(&runs, None) { Verdict::Proved } else { Verdict::Nominal };
    let plan = ProgramPlan { digest: [0; 16], verdict, name: name.to_owned(), steps, machine, lanes };
    let note = made_of.one_after_the_other().then(|| {
        "its lanes are made one after the other: with several people and one start button, a press could begin the heat of \
         an arm where somebody lays a sheet in"
            .to_owned()
    });
    let names = (first.recipe.bench.name.clone(), controller.name.clone());
    Ok(Some(Plain { plan, controller, names, order, arms, note }))
}

/// The plan with heat times by measured thickness, where there is a button to choose them with, some time hangs on the
/// thickness, and an image can hold the tables.
fn chosen_rows(
    runs: &[(&RecipePlan, Option<&Lot>)],
    plan: &ProgramPlan,
    order: &[usize],
    schedule: &Schedule,
    studies: &mut Studies,
) -> Option<(ProgramPlan, HeatRows)> {
    plan.machine.input(InputRole::Row)?;
    let longest = plan.machine.outputs.iter().map(|output| output.longest).max().unwrap_or(0);
    let rows = heat_rows(runs, f64::from(longest) / 10.0, studies)?;
    let mut with_rows = plan.clone();
    with_rows.lanes = with_heat_rows(&plan.lanes, &rows, order, schedule);
    let plans: Vec<&RecipePlan> = runs.iter().map(|(run, _)| *run).collect();
    with_rows.verdict = if proved(&plans, Some(&rows)) { Verdict::Proved } else { Verdict::Nominal };
    verify(&encode(&with_rows).image, Some(&with_rows.machine)).ok()?;
    Some((with_rows, rows))
}

/// Whether every heat holds over all that is not known.
fn proved(runs: &[&RecipePlan], rows: Option<&HeatRows>) -> bool {
    runs.iter().enumerate().all(|(number, run)| {
        run.bends.iter().enumerate().all(|(bend, made)| {
            if let Some(own) = rows.and_then(|rows| rows.of(number, bend)) {
                return own.proved;
            }
            let heat: f64 = made.heat.iter().map(|level| level.time).sum();
            made.thermal.as_ref().is_some_and(|thermal| {
                let window = &thermal.window;
                window.verdict == Window::Proved && heat >= window.ready.high && heat <= window.over.low
            })
        })
    })
}

/// The files that hold a timing program.
pub(super) fn outputs(making: &Making, digest: [u8; 16]) -> Result<Vec<Output>, String> {
    let plan = ProgramPlan { digest, ..making.plan.clone() };
    let encoded = encode(&plan);
    verify(&encoded.image, Some(&plan.machine)).map_err(|refusal| refusal.to_string())?;
    let text = |name: &str, text: String| Output { name: name.to_owned(), bytes: text.into_bytes() };
    let hex = emit::intel_hex(&encoded.image).ok_or("it cannot be written as Intel HEX")?;
    Ok(vec![
        Output { name: "program.wtp".to_owned(), bytes: encoded.image.clone() },
        text("program.h", emit::c_array(&encoded.image, &plan)),
        text("program.hex", hex),
        text("program.lst", listing(&encoded.image, &encoded.notes)),
        text("program.st", emit::structured_text(&plan)),
        text("machine.h", emit::machine_header(&making.names.0, &making.names.1, &plan.machine)),
    ])
}

/// A place in the source, for listings.
fn place(files: &Files, span: Span) -> String {
    let file = files.get(span.file);
    let at = file.lines().position(file.text(), span.start);
    format!("{}:{}:{}", file.path(), at.line, at.column)
}

/// The listing of an image, and whether every proof holds.
pub fn program_listing(image: &[u8]) -> (String, bool) {
    (listing(image, &BTreeMap::new()), verify(image, None).is_ok())
}

/// The image that a file holds: as it is, or as Intel HEX from address 0.
pub fn image_of(bytes: &[u8]) -> Result<Vec<u8>, String> {
    match std::str::from_utf8(bytes) {
        Ok(text) if text.starts_with(':') => from_intel_hex(text),
        _ => Ok(bytes.to_vec()),
    }
}

fn from_intel_hex(text: &str) -> Result<Vec<u8>, String> {
    let mut image = Vec::new();
    for (index, record) in ihex::Reader::new(text).enumerate() {
        match record.map_err(|error| format!("record {}: {error}", index + 1))? {
            ihex::Record::Data { offset, value } if usize::from(offset) == image.len() => image.extend(value),
            ihex::Record::EndOfFile => return Ok(image),
            _ => return Err(format!("record {} does not continue the one before it", index + 1)),
        }
    }
    Err("its last record is missing".to_owned())
}

/// An event of a controller's log, for people.
pub fn event_line(event: Logged) -> String {
    let kind = EventKind::ALL.into_iter().find(|kind| kind.number() == event.kind);
    let word = kind.map_or_else(|| format!("event {}", event.kind), |kind| kind.word().to_owned());
    let lane = if event.lane == NO_LANE { "-".to_owned() } else { event.lane.to_string() };
    let fault = u8::try_from(event.detail).ok().filter(|_| kind == Some(EventKind::Fault));
    let why = fault.and_then(FaultCode::from_number).map_or(String::new(), |code| format!(": {}", code.text()));
    let Logged { time, step, detail, .. } = event;
    format!("{:9}.{:03} s  lane {lane}  step {step:3}  {word} {detail}{why}", time / 1000, time % 1000)
}
