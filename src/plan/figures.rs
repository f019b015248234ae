use crate::plan::schedule::{ArmUse, Schedule};
use crate::plan::{BatchPlan, RecipePlan};
use crate::types::LocalName;
use crate::types::figures::{FigureDef, FigureSource, FigureValue, Subject};
use crate::units::{Bounded, BoundsProblem, Quantity};

/// The figures of a planned recipe or batch.
pub enum PlanFigures<'p> {
    /// Of a recipe.
    Recipe(&'p RecipePlan),
    /// Of a batch.
    Batch(&'p BatchPlan),
}

impl FigureSource for PlanFigures<'_> {
    fn value(&self, figure: &'static FigureDef, name: Option<&LocalName>) -> FigureValue {
        match self {
            Self::Recipe(plan) => of_recipe(plan, figure, name),
            Self::Batch(plan) => of_batch(plan, figure, name),
        }
    }
}

fn of_recipe(plan: &RecipePlan, figure: &'static FigureDef, name: Option<&LocalName>) -> FigureValue {
    let index = match (figure.subject, name) {
        (Subject::Whole, _) => None,
        (Subject::Arm, Some(name)) => return idle(&plan.schedule, &[plan], figure, name),
        (Subject::Bend, Some(name)) => match bend_index(plan, name) {
            Some(index) => Some(index),
            None => return FigureValue::Wrong(format!("the part `{}` has no bend `{name}`", plan.recipe.part.name)),
        },
        (Subject::Leg, Some(LocalName::Number(number))) => {
            let legs = plan.recipe.part.legs.len();
            match usize::try_from(*number).ok().and_then(|number| number.checked_sub(1)).filter(|leg| *leg < legs) {
                Some(index) => Some(index),
                None => {
                    let part = &plan.recipe.part.name;
                    return FigureValue::Wrong(format!("the part `{part}` has legs 1 to {legs}, but no leg {number}"));
                }
            }
        }
        _ => return FigureValue::Silent,
    };
    match value(plan, figure, index) {
        Ok(Some(value)) => known(figure, value),
        Ok(None) | Err(_) => FigureValue::Silent,
    }
}

fn known(figure: &'static FigureDef, value: Bounded) -> FigureValue {
    match figure.kind.dimension() {
        Some(dimension) => FigureValue::Known(Quantity::plain(dimension, value)),
        None => FigureValue::Silent,
    }
}

fn bend_index(plan: &RecipePlan, name: &LocalName) -> Option<usize> {
    match name {
        LocalName::Number(number) => {
            usize::try_from(*number).ok()?.checked_sub(1).filter(|index| *index < plan.bends.len())
        }
        LocalName::Name(name) => plan.recipe.part.bends.iter().position(|bend| bend.name.as_ref() == Some(name)),
    }
}

fn value(
    plan: &RecipePlan,
    figure: &'static FigureDef,
    index: Option<usize>,
) -> Result<Option<Bounded>, BoundsProblem> {
    let bend = index.and_then(|index| plan.bends.get(index));
    let exact = |value: f64| Bounded::exact(value).map(Some);
    match (figure.subject, figure.name, bend) {
        (Subject::Whole, "blank.length", _) => Ok(Some(plan.blank.length.clone())),
        (Subject::Whole, "blank.width", _) => exact(plan.blank.width),
        (Subject::Whole, "cycle_time", _) => exact(plan.cycle_time),
        (Subject::Whole, "energy", _) => Ok(Some(plan.energy.clone())),
        (Subject::Whole, "peak_current", _) => peak(plan.currents.values()),
        (Subject::Bend, "heat", Some(bend)) => exact(bend.heat.iter().map(|level| level.time).sum()),
        (Subject::Bend, "set", Some(bend)) => exact(bend.set),
        (Subject::Bend, "swing", Some(bend)) => exact(bend.swing),
        (Subject::Bend, "current", Some(bend)) => Ok(Some(bend.electric.current.clone())),
        (Subject::Bend, "line_power", Some(bend)) => {
            Ok(bend.electric.lines.first().map(|line| line.line_power.clone()))
        }
        (Subject::Bend, "place", Some(_)) => match index.and_then(|index| plan.blank.lines.get(index)) {
            Some(line) => exact(line.from_start),
            None => Ok(None),
        },
        (Subject::Leg, "length", _) => Ok(index.and_then(|index| plan.blank.legs.get(index)).cloned()),
        (Subject::Leg, "tolerance", _) => match index.and_then(|index| plan.blank.legs.get(index)) {
            Some(leg) => exact((leg.high() - leg.low()) / 2.0),
            None => Ok(None),
        },
        _ => Ok(None),
    }
}

fn peak<'a>(mut currents: impl Iterator<Item = &'a Bounded>) -> Result<Option<Bounded>, BoundsProblem> {
    let Some(first) = currents.next() else { return Ok(None) };
    currents.try_fold(first.clone(), |most, next| most.max(next)).map(Some)
}

fn of_batch(plan: &BatchPlan, figure: &'static FigureDef, name: Option<&LocalName>) -> FigureValue {
    let exact = |value: f64| Bounded::exact(value).map_or(FigureValue::Silent, |value| known(figure, value));
    match (figure.subject, figure.name, name) {
        (Subject::Whole, "cycle_time", _) => exact(plan.cycle_time),
        (Subject::Whole, "peak_current", _) => match peak(plan.currents.values()) {
            Ok(Some(value)) => known(figure, value),
            _ => FigureValue::Silent,
        },
        (Subject::Whole, "energy", _) => known(figure, plan.energy.clone()),
        (Subject::Arm, _, Some(name)) => {
            let plans: Vec<&RecipePlan> = plan.runs.iter().map(|run| &run.plan).collect();
            idle(&plan.schedule, &plans, figure, name)
        }
        _ => FigureValue::Wrong(
            "a batch has the figures `cycle_time`, `peak_current`, `energy` and `arm NAME.idle`".to_owned(),
        ),
    }
}

/// How long nothing is done at an arm.
fn idle(schedule: &Schedule, plans: &[&RecipePlan], figure: &'static FigureDef, name: &LocalName) -> FigureValue {
    let arm_name = |used: &ArmUse| {
        let bench = schedule.lanes.get(used.lane)?.bench;
        let plan = plans.iter().find(|plan| plan.recipe.bench.id == bench)?;
        plan.recipe.bench.arms.get(used.arm).map(|arm| LocalName::Name(arm.name.clone()))
    };
    let idle: Vec<u64> =
        schedule.arms.iter().filter(|used| arm_name(used).as_ref() == Some(name)).map(|used| used.idle).collect();
    match idle.iter().max() {
        Some(idle) => Bounded::exact(*idle as f64 / 1e3).map_or(FigureValue::Silent, |value| known(figure, value)),
        None => FigureValue::Wrong(format!("no bend is made on an arm `{name}`")),
    }
}
