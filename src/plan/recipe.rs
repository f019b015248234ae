use std::collections::BTreeMap;

use crate::model::{Batch, FenceSide, Heat, Level, Lot, Order, Radius, Recipe, SetTime};
use crate::names::DeclId;
use crate::plan::blank::{Blank, blank};
use crate::plan::electric::Electric;
use crate::plan::memo::{Store, recall};
use crate::plan::order::{Choice, Handling, Lay, NoOrder, Outline, judge};
use crate::plan::schedule::{Job, PRESS, Purpose, Schedule, Task, at_once, heats, schedule};
use crate::plan::steps::{Action, Change, Step};
use crate::plan::thermal::{Thermal, ThermalProblem, computed_set, needs_window};
use crate::plan::thermals::Thermals;
use crate::plan::wording;
use crate::report::Diagnostic;
use crate::text::Span;
use crate::units::{Bounded, BoundsProblem};

/// The operator presses start at each heat, s.
pub const START_PRESS: f64 = PRESS as f64 / 1e3;

/// A recipe with all that follows from it.
#[derive(Clone, Debug)]
pub struct RecipePlan {
    /// The recipe.
    pub recipe: Recipe,
    /// Its flat blank.
    pub blank: Blank,
    /// One for each bend of the part.
    pub bends: Vec<BendPlan>,
    /// The order, and the bends as they are laid in.
    pub handling: Handling,
    /// The steps for one part, in order.
    pub steps: Vec<Step>,
    /// The lane it is made in, with the expected times of one part.
    pub schedule: Schedule,
    /// s, from load to unload
    pub cycle_time: f64,
    /// The most that is drawn at one moment of the schedule, A, by supply.
    pub currents: BTreeMap<DeclId, Bounded>,
    /// What the heaters take for one part, J.
    pub energy: Bounded,
}

/// How one bend is made.
#[derive(Clone, Debug)]
pub struct BendPlan {
    /// Stretches of heating.
    pub heat: Vec<Level>,
    /// s
    pub set: f64,
    /// The arm's stop, rad.
    pub swing: f64,
    /// Distance from the bend line to the fence, m.
    pub fence: f64,
    /// Which end is against the fence.
    pub side: FenceSide,
    /// Whether the sheet is turned over for it.
    pub turned_over: bool,
    /// What its heater draws.
    pub electric: Electric,
    /// Its window, where it can be computed.
    pub thermal: Option<Thermal>,
}

/// A batch with all that follows from it.
#[derive(Clone, Debug)]
pub struct BatchPlan {
    /// The batch.
    pub batch: Batch,
    /// Its runs.
    pub runs: Vec<RunPlan>,
    /// All lanes, with the expected times of the parts asked for.
    pub schedule: Schedule,
    /// s, from the first warm-up until the last part is out
    pub cycle_time: f64,
    /// The most that is drawn at one moment of the schedule, A, by supply.
    pub currents: BTreeMap<DeclId, Bounded>,
    /// What the heaters take for the parts asked for and the warm-ups, J.
    pub energy: Bounded,
}

/// One run of a batch.
#[derive(Clone, Debug)]
pub struct RunPlan {
    /// The recipe, planned with the lot's thickness where a lot is given.
    pub plan: RecipePlan,
    /// How often.
    pub times: u64,
    /// Spares beyond those asked for.
    pub spare: u64,
    /// When its first part is laid in, s from the start of the batch.
    pub start: f64,
    /// When its last part is out, s from the start of the batch.
    pub end: f64,
}

/// What came of a recipe.
#[derive(Clone, Debug, Default)]
pub struct Planned {
    /// The plan; without one there is at least one fault, or a finding that a rule makes.
    pub plan: Option<RecipePlan>,
    /// The window of each bend, where there is one.
    pub windows: Vec<Option<Thermal>>,
    /// What the heater of each bend draws, where it can be computed; the plan may fail for other reasons.
    pub electric: Vec<Option<Electric>>,
    /// Why there is no order, where one was to be found.
    pub no_order: Option<NoOrder>,
    /// What is wrong.
    pub faults: Vec<Diagnostic>,
}

/// Plans a recipe, with sheet from a lot where one is given. Orders that a store has kept are taken from there.
pub fn plan_recipe(recipe: &Recipe, lot: Option<&Lot>, thermals: &mut Thermals, store: &dyn Store) -> Planned {
    let mut faults = Vec::new();
    let drawn: Vec<Option<Electric>> =
        (0..recipe.bends.len()).map(|bend| drawn(recipe, bend, thermals, &mut faults)).collect();
    let windows: Vec<Option<Thermal>> = drawn
        .iter()
        .enumerate()
        .map(|(bend, drawn)| window(recipe, bend, drawn.as_ref()?, lot, thermals, &mut faults))
        .collect();
    let mut no_order = None;
    let plan = with_windows(recipe, drawn.clone(), &windows, store, &mut faults, &mut no_order);
    Planned { plan, windows, electric: drawn, no_order, faults }
}

fn with_windows(
    recipe: &Recipe,
    drawn: Vec<Option<Electric>>,
    windows: &[Option<Thermal>],
    store: &dyn Store,
    faults: &mut Vec<Diagnostic>,
    no_order: &mut Option<NoOrder>,
) -> Option<RecipePlan> {
    let radii: Option<Vec<f64>> = (0..recipe.bends.len())
        .map(|bend| match recipe.part.bends[bend].radius {
            Radius::Formed(radius) => Some(radius),
            Radius::Free => Some(windows[bend].as_ref()?.radius),
        })
        .collect();
    let blank = radii.and_then(|radii| {
        blank(&recipe.part, &radii).map_err(|problem| faults.push(wording::no_blank(&recipe.part, &problem))).ok()
    });
    let swings = swings(recipe);
    let outline = blank.as_ref().map(|blank| Outline::new(recipe, blank, &swings));
    let order = outline.as_ref().and_then(|outline| {
        let (given, span) = match &recipe.order {
            Order::Given(given) => (Some(given.value.as_slice()), given.span),
            Order::Computed(span) => (None, *span),
        };
        let judged = recall(store, "order", &(outline, given), || judge(outline, given)).map_err(|why| match why {
            NoOrder::TooMany => faults.push(wording::too_many_bends(span, recipe)),
            none @ NoOrder::None(..) => *no_order = Some(none),
        });
        judged.ok()
    });
    let times: Option<Vec<_>> =
        (0..recipe.bends.len()).map(|bend| times(recipe, bend, windows[bend].as_ref())).collect();
    let drawn: Option<Vec<_>> = drawn.into_iter().collect();
    faults.extend(never_sets(recipe, windows));
    faults.extend(check_swings(recipe, &swings));
    let (blank, outline, handling, times, drawn) = (blank?, outline?, order?, times?, drawn?);
    let order = &handling.order;
    let mut bends = bends(&outline, &handling, times, drawn, windows);
    hold_together(&mut bends, order);
    faults.extend(check_places(recipe, &blank, order));
    if !faults.is_empty() {
        return None;
    }
    let steps = steps(recipe, &bends, order);
    let job = Job { recipe, bends: &bends, order, run: 0, times: 0, spare: 0 };
    let schedule = schedule(&[job], Purpose::Part);
    match totals(&[(recipe, &bends)], &schedule, &[job]) {
        Ok((currents, energy)) => {
            let cycle_time = schedule.total as f64 / 1e3;
            Some(RecipePlan {
                recipe: recipe.clone(),
                blank,
                bends,
                handling,
                steps,
                schedule,
                cycle_time,
                currents,
                energy,
            })
        }
        Err(problem) => {
            faults.push(wording::out_of_range(recipe, problem));
            None
        }
    }
}

/// Plans a batch over all lanes, each run with the sheet of its lot.
pub fn plan_batch(batch: &Batch, thermals: &mut Thermals, store: &dyn Store) -> (Option<BatchPlan>, Vec<Diagnostic>) {
    let mut plans = Vec::new();
    for run in &batch.runs {
        let planned = plan_recipe(&run.recipe, run.lot.as_ref(), thermals, store);
        // Without a lot, what is wrong with the recipe is reported where it stands.
        let Some(plan) = planned.plan else {
            let faults = if run.lot.is_some() { planned.faults } else { Vec::new() };
            return (None, faults);
        };
        plans.push(plan);
    }
    let jobs: Vec<Job<'_>> = plans
        .iter()
        .zip(&batch.runs)
        .enumerate()
        .map(|(run, (plan, asked))| plan.job(run, asked.times, asked.spare))
        .collect();
    let schedule = schedule(&jobs, Purpose::Batch);
    let made: Vec<_> = plans.iter().map(|plan| (&plan.recipe, plan.bends.as_slice())).collect();
    let (currents, energy) = match totals(&made, &schedule, &jobs) {
        Ok(totals) => totals,
        Err(problem) => {
            let faults = plans.first().map(|plan| wording::out_of_range(&plan.recipe, problem));
            return (None, faults.into_iter().collect());
        }
    };
    let runs = plans.into_iter().zip(&batch.runs).enumerate().map(|(run, (plan, asked))| {
        let own = || {
            let loops = |task: &&Task| {
                let own = schedule.lanes.get(task.lane).zip(task.part_loop);
                own.and_then(|(lane, number)| lane.loops.get(number)).is_some_and(|own| own.run == run)
            };
            schedule.tasks.iter().filter(loops)
        };
        let start = own().map(|task| task.start).min().unwrap_or(0) as f64 / 1e3;
        let end = own().map(|task| task.end).max().unwrap_or(0) as f64 / 1e3;
        RunPlan { plan, times: asked.times, spare: asked.spare, start, end }
    });
    let runs = runs.collect();
    let cycle_time = schedule.total as f64 / 1e3;
    (Some(BatchPlan { batch: batch.clone(), runs, schedule, cycle_time, currents, energy }), Vec::new())
}

impl RecipePlan {
    /// The recipe as a run of a batch.
    pub fn job(&self, run: usize, times: u64, spare: u64) -> Job<'_> {
        Job { recipe: &self.recipe, bends: &self.bends, order: &self.handling.order, run, times, spare }
    }
}

/// The window of a bend. Where it cannot be had, that is a fault only if the recipe asks for what follows from it.
fn window(
    recipe: &Recipe,
    bend: usize,
    electric: &Electric,
    lot: Option<&Lot>,
    thermals: &mut Thermals,
    faults: &mut Vec<Diagnostic>,
) -> Option<Thermal> {
    let settings = &recipe.bends[bend];
    let solved = match thermals.bend(recipe, bend, electric, lot) {
        Ok(thermal) if thermal.from_memory && needs_window(recipe, bend) => Err(ThermalProblem::FromMemory),
        solved => solved,
    };
    match solved {
        Ok(thermal) => Some(thermal),
        Err(problem) => {
            if needs_window(recipe, bend) {
                let span = match (&settings.heat, &settings.set) {
                    (Heat::Computed(span), _) | (_, SetTime::Computed(span)) => *span,
                    _ => recipe.part.bends[bend].span,
                };
                let fault = wording::no_window(recipe, bend, span, &problem);
                if !faults.contains(&fault) {
                    faults.push(fault);
                }
            }
            None
        }
    }
}

/// Heat and set of a bend; what is missing a rule reports.
fn times(recipe: &Recipe, bend: usize, thermal: Option<&Thermal>) -> Option<(Vec<Level>, f64)> {
    let settings = &recipe.bends[bend];
    let heat = match &settings.heat {
        Heat::Stages(stages) => stages.value.clone(),
        Heat::Computed(_) => thermal?.heat.clone()?,
        Heat::Missing => return None,
    };
    let set = match settings.set {
        SetTime::Given(time) => time.value,
        SetTime::Computed(_) => computed_set(thermal?)?,
        SetTime::Missing => return None,
    };
    Some((heat, set))
}

fn drawn(recipe: &Recipe, bend: usize, thermals: &mut Thermals, faults: &mut Vec<Diagnostic>) -> Option<Electric> {
    let heater = &recipe.bench.arms[recipe.bends[bend].arm].heater;
    match thermals.electric(heater, recipe.ambient.value.nominal()) {
        Ok(electric) => Some(electric),
        Err(problem) => {
            let fault = wording::no_electric(heater, &problem);
            if !faults.contains(&fault) {
                faults.push(fault);
            }
            None
        }
    }
}

/// The angle of each bend's stop: as given, else what is to be turned and what springs back.
fn swings(recipe: &Recipe) -> Vec<f64> {
    let springback = recipe.part.springback.nominal();
    let bends = recipe.bends.iter().zip(&recipe.part.bends);
    bends.map(|(settings, bend)| settings.swing.map_or(bend.angle.value + springback, |given| given.value)).collect()
}

fn bends(
    outline: &Outline,
    handling: &Handling,
    times: Vec<(Vec<Level>, f64)>,
    drawn: Vec<Electric>,
    windows: &[Option<Thermal>],
) -> Vec<BendPlan> {
    let made_before = |bend: usize| -> Vec<usize> {
        handling.order.iter().take_while(|group| !group.contains(&bend)).flatten().copied().collect()
    };
    times
        .into_iter()
        .zip(drawn)
        .enumerate()
        .map(|(bend, ((heat, set), electric))| {
            let made = made_before(bend);
            let side = handling.sides[bend];
            BendPlan {
                heat,
                set,
                swing: outline.bends[bend].swing,
                fence: Lay::new(outline, Choice { bend, side }, &made).fence,
                side,
                turned_over: outline.bends[bend].down,
                electric,
                thermal: windows[bend].clone(),
            }
        })
        .collect()
}

/// Bends that are made at once are let go at once: holding longer does no harm.
fn hold_together(bends: &mut [BendPlan], order: &[Vec<usize>]) {
    for group in order {
        let longest = group.iter().map(|bend| bends[*bend].set).fold(0.0, f64::max);
        for bend in group {
            bends[*bend].set = longest;
        }
    }
}

/// Two arms that bend at once must stand as far apart as the bend lines are.
fn check_places(recipe: &Recipe, blank: &Blank, order: &[Vec<usize>]) -> Vec<Diagnostic> {
    let wrong = |group: &Vec<usize>| {
        let [first, second] = group.as_slice() else { return None };
        let arms = [first, second].map(|bend| &recipe.bench.arms[recipe.bends[*bend].arm]);
        let apart = (blank.lines[*first].from_start - blank.lines[*second].from_start).abs();
        let ((a, b), (c, d)) = (arms[0].place.value, arms[1].place.value);
        // Either arm may be the nearer one.
        let inside = |low: f64, high: f64| apart >= low - 1e-6 && apart <= high + 1e-6;
        let fits = inside(c - b, d - a) || inside(a - d, b - c);
        (!fits).then(|| wording::arms_out_of_place(recipe, [*first, *second], apart, arms))
    };
    order.iter().filter_map(wrong).collect()
}

/// One message for all bends that ask for a computed set in one place and never cool down.
fn never_sets(recipe: &Recipe, windows: &[Option<Thermal>]) -> Vec<Diagnostic> {
    let mut places: Vec<(Span, Vec<String>)> = Vec::new();
    for (bend, window) in windows.iter().enumerate() {
        let (SetTime::Computed(span), Some(window)) = (recipe.bends[bend].set, window) else { continue };
        if window.heat.is_none() || window.window.hold.is_some() {
            continue;
        }
        let label = recipe.part.bend_label(bend);
        match places.iter_mut().find(|place| place.0 == span) {
            Some(place) => place.1.push(label),
            None => places.push((span, vec![label])),
        }
    }
    places.iter().map(|(span, bends)| wording::never_sets(*span, bends)).collect()
}

/// One message for each arm that cannot swing as far as its bends need.
fn check_swings(recipe: &Recipe, swings: &[f64]) -> Vec<Diagnostic> {
    let mut wrong: BTreeMap<usize, Vec<wording::WrongSwing>> = BTreeMap::new();
    for (bend, swing) in swings.iter().copied().enumerate() {
        let settings = &recipe.bends[bend];
        let (low, high) = recipe.bench.arms[settings.arm].swings.value;
        if swing >= low - 1e-9 && swing <= high + 1e-9 {
            continue;
        }
        let span = settings.swing.map_or(recipe.part.bends[bend].angle.span, |given| given.span);
        let bend = recipe.part.bend_label(bend);
        wrong.entry(settings.arm).or_default().push(wording::WrongSwing { bend, swing, span });
    }
    wrong.iter().filter_map(|(arm, wrong)| wording::swing_out_of_reach(wrong, &recipe.bench.arms[*arm])).collect()
}

/// The steps for one part. Bends of a group end their heat, swing and set together.
fn steps(recipe: &Recipe, bends: &[BendPlan], order: &[Vec<usize>]) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut clock = 0.0;
    let mut swings: Vec<Option<f64>> = vec![None; recipe.bench.arms.len()];
    let mut last: Option<(bool, f64)> = None;
    for group in order {
        let Some(first) = group.first().map(|bend| &bends[*bend]) else { continue };
        let changes = changes(recipe, bends, group, &swings, last);
        let handling = &recipe.bench.handling;
        let (action, base) =
            if last.is_none() { (Action::Load, handling.load) } else { (Action::Reposition, handling.reposition) };
        let lasts = base + changes.iter().map(|change| change.takes(handling)).sum::<f64>();
        let bend = group.first().copied();
        let mut lay_in = row(recipe, bends, action, bend, clock, lasts);
        lay_in.fence = Some((first.fence, first.side));
        lay_in.changes = changes;
        steps.push(lay_in);
        clock += lasts + START_PRESS;
        let heats = |bend: &usize| bends[*bend].heat.iter().map(|level| level.time).sum::<f64>();
        let longest = group.iter().map(heats).fold(0.0, f64::max);
        for bend in group {
            let mut at = clock + longest - heats(bend);
            for level in &bends[*bend].heat {
                let mut heat = row(recipe, bends, Action::Heat, Some(*bend), at, level.time);
                heat.share = Some(level.share);
                steps.push(heat);
                at += level.time;
            }
        }
        clock += longest;
        let transfer = group.iter().map(|bend| recipe.bends[*bend].transfer).fold(0.0, f64::max);
        let set = group.iter().map(|bend| bends[*bend].set).fold(0.0, f64::max);
        for bend in group {
            steps.push(row(recipe, bends, Action::Bend, Some(*bend), clock, recipe.bends[*bend].transfer));
            steps.push(row(recipe, bends, Action::Set, Some(*bend), clock + transfer, set));
            swings[recipe.bends[*bend].arm] = Some(bends[*bend].swing);
        }
        clock += transfer + set;
        last = Some((first.turned_over, first.fence));
    }
    let unload = recipe.bench.handling.unload;
    let mut out = row(recipe, bends, Action::Unload, None, clock, unload);
    out.turned_over = last.is_some_and(|last| last.0);
    steps.push(out);
    // Within a group the heats begin one after the other, so that they end together.
    steps.sort_by(|a, b| a.start.total_cmp(&b.start));
    steps
}

fn row(recipe: &Recipe, bends: &[BendPlan], action: Action, bend: Option<usize>, start: f64, lasts: f64) -> Step {
    let plan = bend.map(|bend| &bends[bend]);
    Step {
        start,
        lasts,
        action,
        bend,
        arm: bend.map(|bend| recipe.bends[bend].arm),
        fence: None,
        turned_over: plan.is_some_and(|plan| plan.turned_over),
        share: None,
        swing: plan.map(|plan| plan.swing),
        changes: Vec::new(),
    }
}

/// What must be set at the bench before a group; the first group finds it set.
pub(super) fn changes(
    recipe: &Recipe,
    bends: &[BendPlan],
    group: &[usize],
    swings: &[Option<f64>],
    last: Option<(bool, f64)>,
) -> Vec<Change> {
    let Some((turned_over, fence)) = last else { return Vec::new() };
    let first = &bends[group[0]];
    let step = recipe.bench.fence.reads.value / 2.0;
    let other_swing =
        |bend: &usize| swings[recipe.bends[*bend].arm].is_some_and(|swing| (swing - bends[*bend].swing).abs() > 1e-6);
    let mut changes = Vec::new();
    if first.turned_over != turned_over {
        changes.push(Change::TurnOver);
    }
    if group.iter().any(other_swing) {
        changes.push(Change::Swing);
    }
    if (first.fence - fence).abs() > step {
        changes.push(Change::Fence);
    }
    changes
}

/// The most that is drawn at one moment by supply, and the energy of all heats of a schedule.
fn totals(
    made: &[(&Recipe, &[BendPlan])],
    schedule: &Schedule,
    jobs: &[Job<'_>],
) -> Result<(BTreeMap<DeclId, Bounded>, Bounded), BoundsProblem> {
    let on = heats(&schedule.lanes, &schedule.tasks, jobs);
    let bend = |run: usize, bend: usize| made.get(run).and_then(|(_, bends)| bends.get(bend));
    let mut peaks: BTreeMap<DeclId, Bounded> = BTreeMap::new();
    for (supply, sets) in at_once(&on) {
        for set in sets {
            let currents =
                set.iter().filter_map(|(run, number)| bend(*run, *number)).map(|bend| &bend.electric.current);
            let sum = currents.map(Clone::clone).map(Ok).reduce(|sum, current| sum?.add(&current?));
            let Some(sum) = sum.transpose()? else { continue };
            let peak = match peaks.get(&supply) {
                Some(peak) => peak.max(&sum)?,
                None => sum,
            };
            peaks.insert(supply, peak);
        }
    }
    let mut seconds: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for stretch in &on {
        let share = stretch.share * (stretch.until - stretch.from) as f64 / 1e3;
        *seconds.entry((stretch.run, stretch.bend)).or_default() += share;
    }
    let mut energy = Bounded::exact(0.0)?;
    for ((run, number), seconds) in seconds {
        let Some((bend, (recipe, _))) = bend(run, number).zip(made.get(run)) else { continue };
        let length = &recipe.bench.arms[recipe.bends[number].arm].heater.length.value;
        for line in &bend.electric.lines {
            let power = line.line_power.mul(length)?;
            energy = energy.add(&power.mul(&Bounded::exact(seconds)?)?)?;
        }
    }
    Ok((peaks, energy))
}
