//! Rehearses the program of a recipe or batch on a simulated bench.

use std::collections::BTreeMap;

use crate::emit;
use crate::library::check::{Checked, Made, Plan};
use crate::library::compile::digest_of;
use crate::library::figures::{runs, unknown};
use crate::library::load::Loaded;
use crate::library::program::{Making, making};
use crate::model::{Bench, InputRole, Lot, Supply};
use crate::physics::section::Stage;
use crate::physics::window::Unknown;
use crate::plan::schedule::{Schedule, Work};
use crate::plan::{Action, Modelled, RecipePlan, Studies};
use crate::program::{ProgramPlan, encode};
use crate::rehearse::{
    Condition, Deed, Fault, Hand, Rehearsal, Scene, SceneBend, SceneHeater, SceneRow, TaskKey, Trouble, rehearse as run,
};

/// What is to be rehearsed.
#[derive(Clone, Copy, Debug)]
pub struct Rehearse<'a> {
    /// A recipe or batch; none where the file declares one only.
    pub name: Option<&'a str>,
    /// What goes wrong.
    pub faults: &'a [Fault],
    /// How many parts of a recipe.
    pub parts: u64,
}

/// A rehearsal in all forms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rehearsed {
    /// For a terminal.
    pub text: String,
    /// For programs.
    pub json: String,
    /// The chart.
    pub svg: String,
    /// Whether nothing was spoilt or dangerous.
    pub clean: bool,
}

/// Why nothing was rehearsed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotRehearsed {
    /// No such recipe or batch, or a fault that makes no sense on its bench; the sentence that says so.
    Wrong(String),
    /// It may not be compiled: its findings say why.
    Blocked(String),
    /// It has no timing program; why.
    NoProgram(String),
}

/// The share of the longest transfer that the person takes: all of it, as the schedule has it.
const SWING: f64 = 1.0;

/// Runs the program of a recipe or batch in the interpreter, on a simulated bench, and tells of it. It starts nothing
/// real.
pub fn rehearse(
    loaded: &Loaded,
    checked: &Checked,
    asked: Rehearse<'_>,
    width: u16,
) -> Result<Rehearsed, NotRehearsed> {
    let rehearsal = rehearsal(loaded, checked, asked)?;
    Ok(Rehearsed {
        text: emit::rehearsal_text(&rehearsal, width),
        json: emit::rehearsal_json(&rehearsal),
        svg: emit::rehearsal_svg(&rehearsal),
        clean: rehearsal.is_clean(),
    })
}

/// The same, with every moment and every curve.
pub fn rehearsal(loaded: &Loaded, checked: &Checked, asked: Rehearse<'_>) -> Result<Rehearsal, NotRehearsed> {
    let made = chosen(loaded, checked, asked.name).map_err(NotRehearsed::Wrong)?;
    let Some(plan) = made.plan.as_ref().filter(|_| !made.blocked) else {
        return Err(NotRehearsed::Blocked(made.name.clone()));
    };
    let files = loaded.files_from_root();
    let program = making(&files, &made.name, plan, &mut Studies::default()).map_err(NotRehearsed::NoProgram)?;
    let Some(program) = program else {
        return Err(NotRehearsed::NoProgram("its bench has no controller that could run one".to_owned()));
    };
    let digest = digest_of(&files, plan, program.rows.as_ref());
    let scene = scene(&made.name, plan, &program, digest, asked);
    run(&scene, asked.faults).map_err(NotRehearsed::Wrong)
}

fn chosen<'a>(loaded: &Loaded, checked: &'a Checked, name: Option<&str>) -> Result<&'a Made, String> {
    let here: Vec<&Made> = checked.made.iter().filter(|made| loaded.asked.contains(&made.span.file)).collect();
    let names: Vec<&str> = here.iter().map(|made| made.name.as_str()).collect();
    match (name, here.as_slice()) {
        (Some(name), _) => {
            here.iter().find(|made| made.name == name).copied().ok_or_else(|| unknown("recipe or batch", name, &names))
        }
        (None, [one]) => Ok(one),
        (None, []) => Err("no recipe or batch is declared here: there is nothing to rehearse".to_owned()),
        (None, _) => Err(format!("name the recipe or batch to rehearse: {}", names.join(", "))),
    }
}

fn schedule_of(plan: &Plan) -> &Schedule {
    match plan {
        Plan::Recipe(plan) => &plan.schedule,
        Plan::Batch(plan) => &plan.schedule,
    }
}

fn scene(name: &str, plan: &Plan, making: &Making, digest: [u8; 16], asked: Rehearse<'_>) -> Scene {
    let runs = runs(plan);
    let schedule = schedule_of(plan);
    let program = ProgramPlan { digest, ..making.plan.clone() };
    let bench = runs.first().map(|(run, _)| &*run.recipe.bench);
    let mut bends = scene_bends(&runs, making);
    let thickness = thickness(&bends, asked.faults);
    let row = making.rows.as_ref().zip(thickness).map_or(0, |(rows, thickness)| rows.nearest(thickness));
    if let Some(rows) = &making.rows {
        for bend in &mut bends {
            let number = runs.get(bend.run).and_then(|(run, _)| {
                (0..run.bends.len()).find(|number| run.recipe.part.bend_label(*number) == bend.label)
            });
            let own = number.and_then(|number| rows.of(bend.run, number)).and_then(|own| own.heats.get(row));
            if let Some(heat) = own {
                let before: f64 = bend.stages.iter().rev().skip(1).map(|stage| stage.duration).sum();
                if let Some(last) = bend.stages.last_mut() {
                    last.duration = (heat - before).max(0.0);
                }
            }
        }
    }
    let batch = matches!(plan, Plan::Batch(_));
    Scene {
        name: name.to_owned(),
        bench: bench.map_or(String::new(), |bench| bench.name.clone()),
        batch,
        parts: if batch { 1 } else { asked.parts },
        image: encode(&program).image,
        machine: making.plan.machine.clone(),
        row,
        thicknesses: making.rows.as_ref().map_or(Vec::new(), |rows| rows.thicknesses.clone()),
        lanes: lane_names(schedule, making, bench),
        rows: rows(&runs, schedule),
        deeds: if making.plan.lanes.len() > 1 { deeds(schedule, making) } else { BTreeMap::new() },
        total: schedule.total,
        heaters: heaters(&runs, making, &bends),
        bends,
        supplies: bench.map_or(Vec::new(), |bench| {
            let long = |supply: &Supply| {
                let long = supply.rated.value.nominal() * supply.continuous;
                supply.fuse.map_or(long, |fuse| fuse.value.min(long))
            };
            supplies(bench).iter().map(|supply| (supply.name.clone(), long(supply))).collect()
        }),
        breaks: bench.map_or(Vec::new(), |bench| {
            let inputs = bench.controller.as_ref().map_or(&[][..], |controller| &controller.inputs);
            let breaks =
                |supply: &&Supply| inputs.iter().any(|input| input.role == InputRole::StopButton(Some(supply.id)));
            supplies(bench).iter().map(breaks).collect()
        }),
        swing: SWING,
    }
}

/// The supplies in the order of the program's table.
fn supplies(bench: &Bench) -> Vec<&Supply> {
    let mut all: Vec<&Supply> = Vec::new();
    for arm in &bench.arms {
        if all.iter().all(|supply| supply.id != arm.heater.supply.id) {
            all.push(&arm.heater.supply);
        }
    }
    all
}

fn lane_names(schedule: &Schedule, making: &Making, bench: Option<&Bench>) -> Vec<String> {
    let arm = |arm: &usize| bench.and_then(|bench| bench.arms.get(*arm)).map_or("", |arm| arm.name.as_str());
    let arms = |lane: &usize| schedule.lanes.get(*lane).map_or(&[][..], |lane| &lane.arms).iter().map(arm);
    let names = making.lanes.iter().map(|lane| arms(lane).collect::<Vec<_>>().join(" + "));
    let names: Vec<String> = names.collect();
    if making.plan.lanes.len() < names.len() { vec![names.join(" + ")] } else { names }
}

/// What each row of the step table asks of hands.
fn rows(runs: &[(&RecipePlan, Option<&Lot>)], schedule: &Schedule) -> Vec<SceneRow> {
    let mut all = Vec::new();
    for (number, (run, _)) in runs.iter().enumerate() {
        let own = schedule.lanes.iter().flat_map(|lane| &lane.loops).find(|own| own.run == number);
        let mut lays = 0;
        for step in &run.steps {
            let made = |bend| run.handling.order.iter().position(|group| group.contains(&bend));
            let last = run.handling.order.len().saturating_sub(1);
            let (hand, pass, lasts) = match step.action {
                Action::Load | Action::Reposition => {
                    let hand = if step.action == Action::Load { Hand::Load } else { Hand::Reposition };
                    let lay = |lays_of: Option<&Vec<crate::plan::schedule::Lay>>| {
                        lays_of.and_then(|all| all.get(lays)).map_or(0, |lay| lay.lasts)
                    };
                    let lasts = [lay(own.map(|own| &own.first)), lay(own.map(|own| &own.again))];
                    lays += 1;
                    (Some(hand), lays - 1, lasts)
                }
                Action::Bend => {
                    let pass = step.bend.and_then(made).unwrap_or(0);
                    let group = run.handling.order.get(pass).map_or(&[][..], Vec::as_slice);
                    let transfers = group.iter().filter_map(|bend| run.recipe.bends.get(*bend));
                    let least = transfers.map(|bend| bend.transfer).fold(f64::INFINITY, f64::min);
                    (Some(Hand::Swing), pass, [milliseconds(least); 2])
                }
                Action::Unload => (Some(Hand::Unload), last, [own.map_or(0, |own| own.unload); 2]),
                Action::Heat | Action::Set => (None, step.bend.and_then(made).unwrap_or(0), [0; 2]),
            };
            all.push(SceneRow { run: number, pass, hand, lasts });
        }
    }
    all
}

fn milliseconds(seconds: f64) -> u64 {
    u64::from(crate::library::program::floor(seconds, 1000.0))
}

/// The schedule of hands, with the lanes of the program.
fn deeds(schedule: &Schedule, making: &Making) -> BTreeMap<TaskKey, Deed> {
    let mut all = BTreeMap::new();
    let mut warm_ups: BTreeMap<usize, usize> = BTreeMap::new();
    for task in &schedule.tasks {
        let hand = match task.work {
            Work::Load => Hand::Load,
            Work::Reposition => Hand::Reposition,
            Work::Press => Hand::Press,
            Work::Bend => Hand::Swing,
            Work::Unload => Hand::Unload,
            Work::WarmUp | Work::Heat | Work::Set => continue,
        };
        let Some(lane) = making.lanes.iter().position(|lane| *lane == task.lane) else { continue };
        let own = schedule.lanes.get(task.lane).zip(task.part_loop).and_then(|(lane, own)| lane.loops.get(own));
        let pass = match own {
            Some(own) => task.pass.unwrap_or(own.passes.len().saturating_sub(1)),
            None => {
                let count = warm_ups.entry(lane).or_default();
                *count += 1;
                *count - 1
            }
        };
        let key = TaskKey { lane, run: own.map(|own| own.run), part: task.part, pass, hand };
        all.insert(key, Deed { start: task.start, lasts: task.end - task.start });
    }
    all
}

fn scene_bends(runs: &[(&RecipePlan, Option<&Lot>)], making: &Making) -> Vec<SceneBend> {
    let mut all = Vec::new();
    for (number, (run, lot)) in runs.iter().enumerate() {
        for (pass, group) in run.handling.order.iter().enumerate() {
            for bend in group {
                let made = run.bends.get(*bend).zip(run.recipe.bends.get(*bend));
                let Some((made, settings)) = made else { continue };
                let Some(output) = making.arms.get(settings.arm).copied().flatten() else { continue };
                let window = made.thermal.as_ref().map(|thermal| &thermal.window);
                all.push(SceneBend {
                    run: number,
                    pass,
                    label: run.recipe.part.bend_label(*bend),
                    output,
                    model: Modelled::new(&run.recipe, *bend, &made.electric, *lot).ok(),
                    stages: made.heat.iter().map(|level| Stage { level: level.share, duration: level.time }).collect(),
                    window: window.map(|window| (window.ready.nominal, window.over.nominal)),
                });
            }
        }
    }
    all
}

fn heaters(runs: &[(&RecipePlan, Option<&Lot>)], making: &Making, bends: &[SceneBend]) -> Vec<SceneHeater> {
    let Some((first, _)) = runs.first() else { return Vec::new() };
    let used = first.recipe.bench.arms.iter().zip(&making.arms);
    let used = used.filter_map(|(arm, output)| Some((arm, (*output)?)));
    let heater = |(arm, output): (&crate::model::Arm, u8)| {
        let model = bends.iter().position(|bend| bend.output == output)?;
        let drawn = runs.iter().find_map(|(run, _)| {
            let bend = run.recipe.bends.iter().position(|bend| {
                run.recipe.bench.arms.get(bend.arm).is_some_and(|own| own.heater.id == arm.heater.id)
            })?;
            run.bends.get(bend).map(|bend| bend.electric.current.nominal())
        });
        Some(SceneHeater {
            output,
            arm: arm.name.clone(),
            heater: arm.heater.name.clone(),
            wire_limit: arm
                .heater
                .lines
                .iter()
                .map(|line| line.wire.alloy.limit.value.nominal())
                .fold(f64::INFINITY, f64::min),
            draws: drawn.unwrap_or(0.0),
            model: bends.get(model).filter(|bend| bend.model.is_some()).map(|_| model),
        })
    };
    used.filter_map(heater).collect()
}

/// How thick the sheet is that is laid in, m.
fn thickness(bends: &[SceneBend], faults: &[Fault]) -> Option<f64> {
    let model = bends.iter().find_map(|bend| bend.model.as_ref())?;
    let known = model.bend(Vec::new()).unknowns.get(Unknown::Thickness);
    let asked = faults.iter().find_map(|fault| match fault.kind {
        Trouble::Condition(Condition { unknown: Unknown::Thickness, high }) => Some(high),
        _ => None,
    });
    Some(match asked {
        None => known.nominal,
        Some(true) => known.high,
        Some(false) => known.low,
    })
}
