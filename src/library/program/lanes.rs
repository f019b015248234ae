//! From the lanes of a schedule to those of a program.

use crate::emit;
use crate::library::program::{floor, place};
use crate::model::Recipe;
use crate::plan::schedule::{self, Schedule, Work};
use crate::plan::{Action, RecipePlan, Step};
use crate::program::{Heating, LanePlan, Mark, PartLoop, Pass, Stage, StageTime, WarmUp};
use crate::text::Files;

/// The operator is kept free from so long before the end of a heat, ms, where the schedule leaves the time (our choice).
const READY: u64 = 5000;

/// The longest time of an instruction, ms.
const LONGEST: u32 = 0x00FF_FFFF;
/// What the operator's reservations of two lanes keep between them, ms: presses are never quite on time.
const APART: u64 = 500;

/// What lanes are made from.
pub(super) struct Lanes<'a> {
    pub files: &'a Files,
    pub schedule: &'a Schedule,
    /// The plan of each run.
    pub runs: &'a [&'a RecipePlan],
    /// The output that heats each arm of the bench.
    pub arms: &'a [Option<u8>],
}

impl Lanes<'_> {
    /// The lanes in the order of their first press, with the lane of the schedule that each is.
    ///
    /// A press starts the first lane that can begin. On a bench with one start button and several people it could start
    /// a heat where somebody else is just laying a sheet in, so all is made in one lane there.
    pub fn all(&self) -> Result<(Vec<LanePlan>, Vec<usize>), String> {
        let order = self.order();
        let together = self.one_after_the_other();
        let mut lanes: Vec<LanePlan> = Vec::new();
        for number in &order {
            let made = self.lane(*number, order.len() > 1 && !together)?;
            match lanes.first_mut().filter(|_| together) {
                Some(first) => {
                    first.warm_ups.extend(made.warm_ups);
                    first.loops.extend(made.loops);
                }
                None => lanes.push(made),
            }
        }
        Ok((lanes, order))
    }

    /// Whether lanes that the schedule has side by side are made one after the other.
    pub fn one_after_the_other(&self) -> bool {
        let lanes = &self.schedule.lanes;
        lanes.len() > 1 && lanes.iter().any(|lane| lane.operators > 1)
    }

    fn order(&self) -> Vec<usize> {
        let first_press = |lane: &usize| {
            let presses = self.schedule.tasks.iter().filter(|task| task.work == Work::Press && task.lane == *lane);
            presses.map(|task| task.start).min()
        };
        let mut order: Vec<usize> = (0..self.schedule.lanes.len()).collect();
        order.sort_by_key(first_press);
        order
    }

    fn lane(&self, number: usize, beside_others: bool) -> Result<LanePlan, String> {
        let Some(lane) = self.schedule.lanes.get(number) else { return Ok(LanePlan::default()) };
        let warm_ups =
            lane.warm_ups.iter().map(|own| self.warm_up(lane, own, beside_others)).collect::<Result<_, _>>()?;
        let loops = (0..lane.loops.len()).map(|own| self.part_loop(number, own, beside_others));
        Ok(LanePlan { warm_ups, loops: loops.collect::<Result<_, _>>()? })
    }

    fn output(&self, arm: usize) -> Result<u8, String> {
        let bench = self.runs.first().map(|run| &run.recipe.bench);
        let name = bench.and_then(|bench| bench.arms.get(arm)).map_or("", |arm| arm.heater.name.as_str());
        let output = self.arms.get(arm).copied().flatten();
        output.ok_or_else(|| format!("no output of the controller heats `{name}`"))
    }

    fn arm(&self, arm: usize) -> &str {
        let bench = self.runs.first().map(|run| &run.recipe.bench);
        bench.and_then(|bench| bench.arms.get(arm)).map_or("", |arm| arm.name.as_str())
    }

    fn warm_up(&self, lane: &schedule::Lane, own: &schedule::WarmUp, beside_others: bool) -> Result<WarmUp, String> {
        let recipes = lane.loops.iter().filter_map(|part_loop| self.runs.get(part_loop.run)).map(|run| &run.recipe);
        let time = |recipe: &Recipe| recipe.bench.arms.get(own.arm)?.heater.warm_up.map(|given| given.span);
        let place = recipes.clone().find_map(time).map_or(String::new(), |span| place(self.files, span));
        let name = self.arm(own.arm);
        // An arm at its stop cannot begin: so the next press is for the other lane.
        let more = if beside_others { "; then its arm to its stop" } else { ", stay" };
        let mark = Mark { step: None, call: Some(format!("warm up {name}: no sheet{more}")), place };
        Ok(WarmUp { output: self.output(own.arm)?, lasts: short(own.lasts), mark })
    }

    fn part_loop(&self, lane: usize, number: usize, beside_others: bool) -> Result<PartLoop, String> {
        let own = self.schedule.lanes.get(lane).and_then(|lane| lane.loops.get(number));
        let Some((own, run)) = own.and_then(|own| Some((own, *self.runs.get(own.run)?))) else {
            return Err("its schedule names a run that there is none of".to_owned());
        };
        let before = self.runs.iter().take(own.run).map(|run| run.steps.len()).sum();
        let rows = Rows { files: self.files, run, before };
        let passes = own.passes.iter().enumerate().map(|(index, pass)| {
            let spared = self.spared(lane, number, index);
            self.pass(&rows, index, pass, spared)
        });
        let arms: Vec<&str> = {
            let mut arms: Vec<usize> = own.passes.iter().flat_map(|pass| &pass.heats).map(|heat| heat.arm).collect();
            arms.sort_unstable();
            arms.dedup();
            arms.into_iter().map(|arm| self.arm(arm)).collect()
        };
        let arms = arms.join(" + ");
        let mut unload = rows.marks(Action::Unload, |_| true).into_iter().next().unwrap_or_default();
        let mut spoilt = "too late: spoilt; press".to_owned();
        if beside_others {
            unload.call = Some(format!("{arms}: take the part out; leave at stop"));
            spoilt = format!("{arms} {spoilt}");
        }
        Ok(PartLoop {
            times: (own.times > 0).then(|| count(own.times)),
            spare: count(own.spare),
            passes: passes.collect::<Result<_, _>>()?,
            unload,
            spoilt: Mark { call: Some(spoilt), ..Mark::default() },
        })
    }

    fn pass(&self, rows: &Rows<'_>, index: usize, own: &schedule::Pass, spared: u64) -> Result<Pass, String> {
        let of = |bend: usize| move |step: &Step| step.bend == Some(bend);
        let bends: Vec<usize> = own.heats.iter().map(|heating| heating.bend).collect();
        let any = |step: &Step| step.bend.is_some_and(|bend| bends.contains(&bend));
        let first = |action: Action| rows.marks(action, any).into_iter().next().unwrap_or_default();
        let heats = own.heats.iter().map(|heating| {
            let marks = rows.marks(Action::Heat, of(heating.bend));
            let stages = heating.stages.iter().zip(marks.into_iter().chain(std::iter::repeat(Mark::default())));
            let stages = stages.map(|(stage, mark)| Stage {
                time: StageTime::Fixed(short(stage.lasts)),
                level: level(stage.share),
                mark,
            });
            Ok(Heating { output: self.output(heating.arm)?, stages: stages.collect() })
        });
        // Bends that are made at once are late when the first of them is.
        let transfers = bends.iter().filter_map(|bend| rows.run.recipe.bends.get(*bend)).map(|bend| bend.transfer);
        let transfer = transfers.map(|time| floor(time, 1000.0)).min().unwrap_or(0);
        let from = own.reservation.after.saturating_sub(spared);
        let mut bend = first(Action::Bend);
        if let [_, _, ..] = own.heats.as_slice() {
            let arms: Vec<&str> = own.heats.iter().map(|heating| self.arm(heating.arm)).collect();
            bend.call = Some(format!("swing {} now", arms.join(" and ")));
        }
        Ok(Pass {
            lay: rows.lay(index),
            heats: heats.collect::<Result<_, String>>()?,
            bend,
            transfer,
            hold: first(Action::Set),
            set: short(own.set),
            reservation: (short(from), short(own.reservation.after + own.reservation.lasts - from)),
        })
    }

    /// How long before the end of this heat nobody is needed for a bend in another lane, anywhere in the schedule, ms;
    /// [`READY`] at most.
    fn spared(&self, lane: usize, part_loop: usize, pass: usize) -> u64 {
        // Tasks are sorted by start.
        let bends = || self.schedule.tasks.iter().filter(|task| task.work == Work::Bend);
        let own =
            |task: &&schedule::Task| task.lane == lane && task.part_loop == Some(part_loop) && task.pass == Some(pass);
        let mut others = bends().filter(|other| other.lane != lane).peekable();
        let (mut last, mut spared) = (None, READY);
        for task in bends().filter(own) {
            while let Some(other) = others.next_if(|other| other.start <= task.start) {
                last = last.max(Some(other.end));
            }
            spared = spared.min(last.map_or(READY, |end: u64| task.start.saturating_sub(end + APART)));
        }
        spared
    }
}

/// The rows of the step table of one run.
struct Rows<'a> {
    files: &'a Files,
    run: &'a RecipePlan,
    /// Rows that belong to earlier runs.
    before: usize,
}

impl Rows<'_> {
    /// The marks of the steps that do something, in their order.
    fn marks(&self, action: Action, meant: impl Fn(&Step) -> bool) -> Vec<Mark> {
        let steps = self.run.steps.iter().enumerate();
        steps
            .filter(|(_, step)| step.action == action && meant(step))
            .map(|(index, step)| self.mark(index, step))
            .collect()
    }

    /// How the sheet is laid in before a pass.
    fn lay(&self, pass: usize) -> Mark {
        let lays = |action: Action| matches!(action, Action::Load | Action::Reposition);
        let mut steps = self.run.steps.iter().enumerate().filter(|(_, step)| lays(step.action));
        steps.nth(pass).map(|(index, step)| self.mark(index, step)).unwrap_or_default()
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

/// A share of full power in 255ths, rounded down; only none at all is dark.
fn level(share: f64) -> u8 {
    if share <= 0.0 { 0 } else { u8::try_from(floor(share, 255.0)).unwrap_or(u8::MAX).max(1) }
}

fn count(count: u64) -> u16 {
    u16::try_from(count).unwrap_or(u16::MAX)
}

/// What does not fit is refused by the verifier: no time of a program is as long.
pub(super) fn short(time: u64) -> u32 {
    u32::try_from(time).map_or(LONGEST, |time| time.min(LONGEST))
}
