//! A schedule as text, as JSON and as a chart.

mod chart;
mod json;
mod text;

use std::collections::BTreeMap;

use crate::names::DeclId;
use crate::plan::schedule::{PartLoop, Schedule, Task, Work};
use crate::plan::{BatchPlan, RecipePlan};
use crate::units::Bounded;

pub use chart::chart_svg;
pub use json::{FiguresBody, ScheduleBody, body, figures_body};
pub use text::{figure_lines, peak_currents, schedule_text};

/// A schedule with the plans that its numbers stand for.
#[derive(Clone, Debug)]
pub struct Scheduled<'a> {
    /// Of the recipe or batch.
    pub name: &'a str,
    /// The schedule.
    pub schedule: &'a Schedule,
    /// The recipe, or the one of each run.
    pub plans: Vec<&'a RecipePlan>,
    /// The most that is drawn at one moment, A, by supply.
    pub currents: &'a BTreeMap<DeclId, Bounded>,
    /// J
    pub energy: &'a Bounded,
    /// Whether it is a batch.
    pub batch: bool,
}

impl<'a> Scheduled<'a> {
    /// Of a recipe.
    pub fn recipe(plan: &'a RecipePlan) -> Self {
        Self {
            name: &plan.recipe.name,
            schedule: &plan.schedule,
            plans: vec![plan],
            currents: &plan.currents,
            energy: &plan.energy,
            batch: false,
        }
    }

    /// Of a batch.
    pub fn batch(plan: &'a BatchPlan) -> Self {
        Self {
            name: &plan.batch.name,
            schedule: &plan.schedule,
            plans: plan.runs.iter().map(|run| &run.plan).collect(),
            currents: &plan.currents,
            energy: &plan.energy,
            batch: true,
        }
    }

    /// The loop a task belongs to.
    pub fn part_loop(&self, task: &Task) -> Option<&'a PartLoop> {
        self.schedule.lanes.get(task.lane)?.loops.get(task.part_loop?)
    }

    /// The plan a task belongs to.
    pub fn plan(&self, task: &Task) -> Option<&'a RecipePlan> {
        self.plans.get(self.part_loop(task)?.run).copied()
    }

    /// The bends a task is about: one for a heat, those that are made at once for all else.
    pub fn bends(&self, task: &Task) -> Vec<usize> {
        let pass = self.part_loop(task).zip(task.pass).and_then(|(own, pass)| own.passes.get(pass));
        let heats = pass.map_or(&[][..], |pass| &pass.heats);
        let own = heats.iter().filter(|heating| task.work != Work::Heat || task.arms.contains(&heating.arm));
        own.map(|heating| heating.bend).collect()
    }

    /// The names of the bends a task is about.
    pub fn bend_names(&self, task: &Task) -> String {
        let Some(plan) = self.plan(task) else { return String::new() };
        let names = self.bends(task).into_iter().map(|bend| plan.recipe.part.bend_label(bend));
        names.collect::<Vec<_>>().join(" with ")
    }

    /// The name of an arm.
    pub fn arm(&self, lane: usize, arm: usize) -> &'a str {
        let bench = self.schedule.lanes.get(lane).map(|lane| lane.bench);
        let benches = self.plans.iter().map(|plan| &plan.recipe.bench);
        let own = benches.into_iter().find(|own| Some(own.id) == bench).and_then(|own| own.arms.get(arm));
        own.map_or("", |arm| arm.name.as_str())
    }

    /// The heater of an arm.
    pub fn heater(&self, lane: usize, arm: usize) -> &'a str {
        let bench = self.schedule.lanes.get(lane).map(|lane| lane.bench);
        let benches = self.plans.iter().map(|plan| &plan.recipe.bench);
        let own = benches.into_iter().find(|own| Some(own.id) == bench).and_then(|own| own.arms.get(arm));
        own.map_or("", |arm| arm.heater.name.as_str())
    }

    /// The arms of a task.
    pub fn arms(&self, task: &Task) -> String {
        task.arms.iter().map(|arm| self.arm(task.lane, *arm)).collect::<Vec<_>>().join(" + ")
    }

    /// The name of a supply.
    pub fn supply(&self, id: DeclId) -> &'a str {
        let arms = self.plans.iter().flat_map(|plan| &plan.recipe.bench.arms);
        let own = arms.map(|arm| &arm.heater.supply).find(|supply| supply.id == id);
        own.map_or("", |supply| supply.name.as_str())
    }

    /// How many operators there are, over all benches.
    pub fn operators(&self) -> u64 {
        let lanes = self.schedule.lanes.iter();
        let benches: BTreeMap<DeclId, u64> = lanes.map(|lane| (lane.bench, lane.operators)).collect();
        benches.values().sum()
    }
}

/// The word for what is done, as in step tables.
pub fn word(work: Work) -> &'static str {
    match work {
        Work::WarmUp => "warm up",
        Work::Load => "load",
        Work::Reposition => "reposition",
        Work::Press => "press",
        Work::Heat => "heat",
        Work::Bend => "bend",
        Work::Set => "set",
        Work::Unload => "unload",
    }
}
