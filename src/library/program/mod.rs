//! From the plan of a recipe or batch to its timing program.

mod machine;

use std::collections::BTreeMap;

use crate::emit;
use crate::library::check::Plan;
use crate::library::compile::Output;
use crate::library::figures::runs;
use crate::library::program::machine::{Wired, wired};
use crate::physics::window::Verdict as Window;
use crate::plan::{Action, RecipePlan, Step};
use crate::program::{
    EventKind, FaultCode, Heating, LanePlan, Logged, Mark, NO_LANE, PartLoop, Pass, ProgramPlan, Stage, StageTime,
    Verdict, WarmUp, encode, listing, verify,
};
use crate::text::{Files, Span};

/// The operator is kept free from so long before the end of a heat, ms (our choice).
const READY: u32 = 5000;

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

/// The files that hold the timing program of a recipe or batch, none on a bench without a controller; or why there is
/// none although there is a controller, in words.
pub(super) fn program(files: &Files, name: &str, plan: &Plan, digest: [u8; 16]) -> Result<Vec<Output>, String> {
    let runs: Vec<&RecipePlan> = runs(plan).into_iter().map(|(run, _)| run).collect();
    let Some(first) = runs.first() else { return Err("nothing is made".to_owned()) };
    if runs.iter().any(|run| run.recipe.bench.id != first.recipe.bench.id) {
        return Err("its runs are made on several benches, and each controller gets programs of its own".to_owned());
    }
    let Some(controller) = &first.recipe.bench.controller else { return Ok(Vec::new()) };
    let Wired { machine, arms } = wired(&first.recipe.bench, controller)?;
    let counts: Vec<(Option<u16>, u16)> = match plan {
        Plan::Recipe(_) => vec![(None, 0)],
        Plan::Batch(batch) => batch.runs.iter().map(|run| (Some(short(run.times)), short(run.spare))).collect(),
    };
    let mut lane = LanePlan { warm_ups: warm_ups(files, &runs, &arms), loops: Vec::new() };
    let mut steps = 0;
    for (run, (times, spare)) in runs.iter().zip(counts) {
        let (passes, unload) = Passes { files, run, arms: &arms, before: steps }.all()?;
        lane.loops.push(PartLoop { times, spare, passes, unload });
        steps += run.steps.len();
    }
    let bends = || runs.iter().flat_map(|run| &run.bends);
    let proved = bends().all(|bend| {
        let heat: f64 = bend.heat.iter().map(|level| level.time).sum();
        bend.thermal.as_ref().is_some_and(|thermal| {
            let window = &thermal.window;
            window.verdict == Window::Proved && heat >= window.ready.high && heat <= window.over.low
        })
    });
    let verdict = if proved { Verdict::Proved } else { Verdict::Nominal };
    let steps = u16::try_from(steps).unwrap_or(u16::MAX);
    let plan = ProgramPlan { digest, verdict, name: name.to_owned(), steps, machine, lanes: vec![lane] };
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
        text("machine.h", emit::machine_header(&first.recipe.bench.name, &controller.name, &plan.machine)),
    ])
}

/// Each heater that is used and asks for it is warmed up once, before the first part.
fn warm_ups(files: &Files, runs: &[&RecipePlan], arms: &[Option<u8>]) -> Vec<WarmUp> {
    let mut all: Vec<WarmUp> = Vec::new();
    for run in runs {
        for step in &run.steps {
            let Some(arm) = step.arm.and_then(|arm| run.recipe.bench.arms.get(arm)) else { continue };
            let output = step.arm.and_then(|arm| arms.get(arm).copied().flatten());
            let (Some(output), Some(time)) = (output, arm.heater.warm_up) else { continue };
            if all.iter().any(|warm_up| warm_up.output == output) {
                continue;
            }
            let call = Some(format!("warm up {}: no sheet, stay", arm.name));
            let mark = Mark { step: None, call, place: place(files, time.span) };
            all.push(WarmUp { output, lasts: floor(time.value, 1000.0), mark });
        }
    }
    all
}

/// A place in the source, for listings.
fn place(files: &Files, span: Span) -> String {
    let file = files.get(span.file);
    let at = file.lines().position(file.text(), span.start);
    format!("{}:{}:{}", file.path(), at.line, at.column)
}

fn short(count: u64) -> u16 {
    u16::try_from(count).unwrap_or(u16::MAX)
}

/// The passes of one part, read off the steps of its plan.
struct Passes<'a> {
    files: &'a Files,
    run: &'a RecipePlan,
    arms: &'a [Option<u8>],
    /// Rows of the step table that belong to earlier runs.
    before: usize,
}

impl Passes<'_> {
    fn all(&self) -> Result<(Vec<Pass>, Mark), String> {
        let mut passes: Vec<Pass> = Vec::new();
        let mut unload = Mark::default();
        for (index, step) in self.run.steps.iter().enumerate() {
            let mark = self.mark(index, step);
            match step.action {
                Action::Load | Action::Reposition => passes.push(Pass {
                    lay: mark,
                    heats: Vec::new(),
                    bend: Mark::default(),
                    transfer: 0,
                    hold: Mark::default(),
                    set: 0,
                    reservation: (0, 0),
                }),
                Action::Unload => unload = mark,
                Action::Heat | Action::Bend | Action::Set => {
                    let Some(pass) = passes.last_mut() else { return Err("its first step lays nothing in".to_owned()) };
                    self.add(pass, step, mark)?;
                }
            }
        }
        for pass in &mut passes {
            let sum = |heat: &Heating| heat.stages.iter().map(stage_time).sum::<u32>();
            let heat = pass.heats.iter().map(sum).max().unwrap_or(0);
            let from = heat.saturating_sub(READY);
            pass.reservation = (from, heat - from + pass.transfer);
        }
        Ok((passes, unload))
    }

    fn add(&self, pass: &mut Pass, step: &Step, mark: Mark) -> Result<(), String> {
        match step.action {
            Action::Heat => {
                let bench = &self.run.recipe.bench;
                let arm = step.arm.unwrap_or(usize::MAX);
                let Some(output) = self.arms.get(arm).copied().flatten() else {
                    let name = bench.arms.get(arm).map_or("", |arm| arm.heater.name.as_str());
                    return Err(format!("no output of the controller heats `{name}`"));
                };
                let level = level(step.share.unwrap_or(1.0));
                let stage = Stage { time: StageTime::Fixed(floor(step.lasts, 1000.0)), level, mark };
                match pass.heats.iter_mut().find(|heat| heat.output == output) {
                    Some(heat) => heat.stages.push(stage),
                    None => pass.heats.push(Heating { output, stages: vec![stage] }),
                }
            }
            Action::Bend => {
                let transfer = floor(step.lasts, 1000.0);
                if pass.bend == Mark::default() {
                    pass.bend = mark;
                    pass.transfer = transfer;
                }
                // Bends that are made at once are late when the first of them is.
                pass.transfer = pass.transfer.min(transfer);
            }
            _ => {
                if pass.hold == Mark::default() {
                    pass.hold = mark;
                }
                pass.set = pass.set.max(ceil(step.lasts, 1000.0));
            }
        }
        Ok(())
    }

    fn mark(&self, index: usize, step: &Step) -> Mark {
        let recipe = &self.run.recipe;
        let bend = step.bend.and_then(|bend| recipe.bends.get(bend));
        let arm = step.arm.and_then(|arm| recipe.bench.arms.get(arm)).map_or("", |arm| arm.name.as_str());
        let call = match step.action {
            Action::Load | Action::Reposition => Some(emit::short_call(self.run, step)),
            Action::Heat | Action::Set => None,
            Action::Bend => Some(format!("swing {arm} now")),
            Action::Unload => Some("take the part out".to_owned()),
        };
        Mark {
            step: u16::try_from(self.before + index + 1).ok(),
            call,
            place: place(self.files, bend.map_or(recipe.span, |bend| bend.span)),
        }
    }
}

fn stage_time(stage: &Stage) -> u32 {
    match &stage.time {
        StageTime::Fixed(time) => *time,
        StageTime::Rows(rows) => rows.iter().map(|row| row.time).max().unwrap_or(0),
    }
}

/// A share of full power in 255ths, rounded down; only none at all is dark.
fn level(share: f64) -> u8 {
    if share <= 0.0 { 0 } else { u8::try_from(floor(share, 255.0)).unwrap_or(u8::MAX).max(1) }
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
