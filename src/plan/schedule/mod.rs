//! Who does what when: a recipe or a batch over all arms, people and supplies of its benches.
//!
//! Owns lanes, claims and reservations (what a timing program is made from) and the expected times of every task. It
//! renders nothing, and knows no instructions. All times are whole milliseconds, as the controller counts them: heat
//! times are rounded down, all others up.
//!
//! A lane is a place where one part is worked on at a time: arms that one recipe uses belong to one lane. A lane makes
//! its runs one after the other, each as one counted loop over whole parts. A part is not taken out half made for
//! another one to be put in between: the counted loop of a program counts good parts, and could not make another one
//! for a part that is spoilt after its first loop has ended.
//!
//! Supposed is that the parts of two lanes fit on the bench side by side, and that each lane has its fence to itself.

mod beam;
mod bound;
mod build;
mod drawn;
mod exact;
mod lanes;
mod pair;
mod place;
mod problem;
mod solve;
mod tasks;

use std::collections::BTreeMap;

use crate::names::DeclId;
use crate::plan::steps::Change;

pub use build::{Job, Purpose, schedule};
pub use drawn::{On, at_once, heats};
pub use lanes::{MINIMUM_OFF, PRESS};

/// One part, or one batch, with expected times. A recipe's tasks are those of one part on a warm bench; its warm-ups stand
/// in its lane only.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Schedule {
    /// Places where parts are worked on at the same time, by their first arm. No two share an arm.
    pub lanes: Vec<Lane>,
    /// All that is done for the parts asked for, by start, then lane. The order of its [`Work::Press`] tasks is the
    /// order of priority in which presses should count: people are late, so the times are only expected. Spares have
    /// no tasks.
    pub tasks: Vec<Task>,
    /// When the last part is out, ms.
    pub total: u64,
    /// No schedule of these parts ends before this, ms. The total is proved to be the least where it equals this.
    pub bound: u64,
    /// How long one spare more takes at its lane, ms, by run.
    pub spare: Vec<u64>,
    /// What is drawn from each supply, by supply.
    pub supplies: BTreeMap<DeclId, SupplyUse>,
    /// How long each arm is used, by lane and arm.
    pub arms: Vec<ArmUse>,
    /// How long people's hands are busy, ms, summed over all people.
    pub hands: u64,
}

/// A place where one part is worked on at a time, and what is done there: warm-ups, then one loop after the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Lane {
    /// The bench.
    pub bench: DeclId,
    /// Its arms, by their number on the bench.
    pub arms: Vec<usize>,
    /// How many operators the bench has; all lanes of a bench share them.
    pub operators: u64,
    /// Whether the bench has no controller: then nothing but hands ends a heat, and whoever pressed stays until the bend
    /// is made.
    pub attended: bool,
    /// Heats without a sheet, in this order, before the first part is laid in.
    pub warm_ups: Vec<WarmUp>,
    /// Counted loops, in this order.
    pub loops: Vec<PartLoop>,
}

/// A heat without a sheet, arm home, that warms a shield up. Its reservation is the whole of it: the operator stays.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmUp {
    /// The arm, by its number on the bench.
    pub arm: usize,
    /// Its heater.
    pub heater: DeclId,
    /// How long, at full level, ms.
    pub lasts: u64,
    /// What it takes from the supply while it lasts.
    pub claim: Claim,
}

/// One run of a batch, or the recipe itself: the same part again and again.
#[derive(Clone, Debug, PartialEq)]
pub struct PartLoop {
    /// The run of the batch, from 0; 0 for a recipe.
    pub run: usize,
    /// Good parts asked for; the loop ends when so many are made. 0 for a recipe: the operator ends it.
    pub times: u64,
    /// How many more may be tried.
    pub spare: u64,
    /// What is done for each part, in order.
    pub passes: Vec<Pass>,
    /// Taking the part out, ms.
    pub unload: u64,
    /// How the first part of the loop is laid in, before each pass: load, then reposition.
    pub first: Vec<Lay>,
    /// How each further part of the loop is laid in, before each pass; the stops stand where the part before left them.
    pub again: Vec<Lay>,
}

/// Hands lay the sheet in: load, or reposition between two passes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lay {
    /// What else has to be set at the bench; its time is part of `lasts`.
    pub changes: Vec<Change>,
    /// ms
    pub lasts: u64,
}

/// Bends that are made at once: sheet in, press, heat, swing, set. From the press on nothing waits.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// The heat of each bend; they end together.
    pub heats: Vec<Heating>,
    /// From the press to the end of the heats, ms.
    pub heat: u64,
    /// The longest time from heaters off to bends finished, ms.
    pub transfer: u64,
    /// How long the arms hold, ms. Holding longer does no harm.
    pub set: u64,
    /// What is claimed at the press, by supply, until the heaters are off.
    pub claims: Vec<Claim>,
    /// When the operator must be at hand, counted from the press.
    pub reservation: Reservation,
}

/// The heat of one bend.
#[derive(Clone, Debug, PartialEq)]
pub struct Heating {
    /// The bend, by its number in the profile.
    pub bend: usize,
    /// The arm, by its number on the bench.
    pub arm: usize,
    /// The heater.
    pub heater: DeclId,
    /// From the press until it begins, ms.
    pub after: u64,
    /// One after the other.
    pub stages: Vec<Stage>,
    /// What it draws at full level, at its highest, A. A level that is part of the time draws as much while it is on.
    pub amperes: f64,
}

/// A stretch of heating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// ms
    pub lasts: u64,
    /// Share of full power, 0 to 1; 0 is a soak with the heater off.
    pub share: f64,
}

/// What a supply must have free at a press.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Claim {
    /// The supply.
    pub supply: DeclId,
    /// The most that is drawn at once before the heaters are off, A.
    pub amperes: f64,
}

/// When an operator must be at hand after a press, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reservation {
    /// From the press.
    pub after: u64,
    /// How long.
    pub lasts: u64,
}

/// What is done in a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Work {
    /// A line warms its shield up; the operator stays.
    WarmUp,
    /// Hands lay a sheet in.
    Load,
    /// Hands unclamp, shift or turn over, set the stops, clamp again.
    Reposition,
    /// The operator presses start.
    Press,
    /// The line heats.
    Heat,
    /// Hands swing the arm.
    Bend,
    /// The arm holds.
    Set,
    /// Hands take the part out.
    Unload,
}

impl Work {
    /// Whether hands are needed all the time.
    pub fn by_hand(self) -> bool {
        !matches!(self, Self::Heat | Self::Set)
    }
}

/// One thing that is done, at its expected time, ms from the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Task {
    /// When it begins.
    pub start: u64,
    /// When it ends.
    pub end: u64,
    /// What is done.
    pub work: Work,
    /// Where, by number.
    pub lane: usize,
    /// The loop of the lane, by number; none for a warm-up.
    pub part_loop: Option<usize>,
    /// The part of the loop, from 0.
    pub part: u64,
    /// The pass of the part, by number; none for warm-up and unload.
    pub pass: Option<usize>,
    /// The arms that are used, by their number on the bench.
    pub arms: Vec<usize>,
    /// Whose hands, from 0; none where nobody is needed.
    pub operator: Option<u64>,
}

/// What is drawn from a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyUse {
    /// What may be drawn for long, A: rating × continuous share, or its fuse if that is less.
    pub capacity: f64,
    /// What is drawn from each of these times (ms) on, at its highest, A.
    pub profile: Vec<(u64, f64)>,
    /// The most that is drawn at once, A.
    pub peak: f64,
}

/// How long an arm is used, ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ArmUse {
    /// The lane, by number.
    pub lane: usize,
    /// The arm, by its number on the bench.
    pub arm: usize,
    /// Its line is on, soaks included.
    pub heating: u64,
    /// It holds a bend while it sets, no longer than it must.
    pub setting: u64,
    /// Nothing is done at it: no heat, no swing, no set, no hands; waiting for hands is part of this.
    pub idle: u64,
}
