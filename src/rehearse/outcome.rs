//! What comes of a rehearsal. Times are ms after the program's start, temperatures K, currents A.

use crate::physics::section::Sample;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// As it should be.
    Note,
    /// A part is lost, or time.
    Spoilt,
    /// Somebody or something could be harmed.
    Danger,
}

impl Weight {
    /// For tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Spoilt => "spoilt",
            Self::Danger => "DANGER",
        }
    }
}

/// One sentence about the whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub weight: Weight,
    /// What, why, and what to do.
    pub text: String,
}

/// Who acts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// The controller.
    Controller,
    /// The person at the bench.
    Person,
    /// Something goes wrong.
    Fault,
}

impl Act {
    /// For tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Controller => "controller",
            Self::Person => "person",
            Self::Fault => "FAULT",
        }
    }
}

/// Something that happens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// When; before the start it is negative.
    pub time: i64,
    /// How long it takes, where it takes time.
    pub lasts: u64,
    /// The lane, from 0.
    pub lane: Option<usize>,
    /// Who.
    pub who: Act,
    /// What, in words.
    pub what: String,
}

/// One bend of one part.
#[derive(Clone, Debug, PartialEq)]
pub struct BendRecord {
    /// The lane, from 0.
    pub lane: usize,
    /// The run, from 0.
    pub run: usize,
    /// The try, from 0.
    pub part: u64,
    /// The bend's name.
    pub bend: String,
    /// Its arm.
    pub arm: String,
    /// When its heat began.
    pub began: i64,
    /// How long its heater gave heat, s.
    pub heat: f64,
    /// From heater off to the arm at its stop, s; none if it was not bent.
    pub transfer: Option<f64>,
    /// How long the arm held, s; none if the rehearsal ended before.
    pub hold: Option<f64>,
    /// The window as planned: ready and over at the nominal, s of heat.
    pub window: Option<(f64, f64)>,
    /// What the sheet did; none where nothing is known of its heat.
    pub sheet: Option<SheetEnds>,
    /// Whether all is as it should be.
    pub good: bool,
    /// In words.
    pub verdict: String,
}

/// The sheet at the moments that count, and its limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetEnds {
    /// The hottest that any point was while it was heated.
    pub hottest: f64,
    /// The hotter face at the line when the bend was finished.
    pub surface: f64,
    /// The mean through the thickness at the line when the bend was finished.
    pub mean: f64,
    /// The coldest point of the bend zone when the bend was finished.
    pub coldest: f64,
    /// How long it had to be held, s; none if it never sets.
    pub set: Option<f64>,
    /// The coldest point must reach this.
    pub softened: f64,
    /// The mean must reach this.
    pub forming: f64,
    /// No point may reach this.
    pub ceiling: f64,
}

/// What a heater went through.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaterRecord {
    /// Its name.
    pub heater: String,
    /// Its arm.
    pub arm: String,
    /// The longest that current flowed without a pause, s.
    pub longest: f64,
    /// The longest that the controller allows, s.
    pub limit: f64,
    /// The hottest its wire was; none where its physics is not known.
    pub wire: Option<f64>,
    /// The most its wire may be.
    pub wire_limit: f64,
    /// The hottest its shield was.
    pub shield: Option<f64>,
}

/// What was drawn from a supply.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyRecord {
    /// Its name.
    pub supply: String,
    /// The most that was drawn at one moment.
    pub peak: f64,
    /// What it may give for long, or its fuse.
    pub long: f64,
    /// The longest that more than this was drawn, s.
    pub above: f64,
}

/// A heater over time.
#[derive(Clone, Debug, PartialEq)]
pub struct HeaterTrace {
    /// The arm.
    pub arm: String,
    /// ms, share of full power that flows, the hottest wire, the hottest shield.
    pub points: Vec<(i64, f64, f64, f64)>,
}

/// A sheet over time.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetTrace {
    /// The arm.
    pub arm: String,
    /// Run and try, from 0, and the bend.
    pub of: (usize, u64, String),
    /// When the heat began, ms; the samples' times are s from then.
    pub began: i64,
    /// At the line, from heater on to the end of the hold.
    pub samples: Vec<Sample>,
    /// Softening, forming and blister limit.
    pub limits: [f64; 3],
}

/// A rehearsal.
#[derive(Clone, Debug, PartialEq)]
pub struct Rehearsal {
    /// Of the recipe or batch.
    pub name: String,
    /// The bench.
    pub bench: String,
    /// Whether it is a batch.
    pub batch: bool,
    /// What was asked to go wrong.
    pub faults: Vec<String>,
    /// The row of heat times that was chosen, from 1, and its thickness, 0.01 mm.
    pub row: Option<(usize, u16)>,
    /// How it ended, in words.
    pub ended: String,
    /// When, ms after the start.
    pub lasts: i64,
    /// How long the schedule is, ms.
    pub planned: u64,
    /// Parts that came out good.
    pub good: u64,
    /// Parts that were spoilt.
    pub spoilt: u64,
    /// The arms of each lane.
    pub lanes: Vec<String>,
    /// What happened.
    pub moments: Vec<Moment>,
    /// Every bend.
    pub bends: Vec<BendRecord>,
    /// Every heater.
    pub heaters: Vec<HeaterRecord>,
    /// Every supply.
    pub supplies: Vec<SupplyRecord>,
    /// What is to be said of it, the weightiest first.
    pub findings: Vec<Finding>,
    /// Heaters over time.
    pub heater_traces: Vec<HeaterTrace>,
    /// Sheets over time.
    pub sheet_traces: Vec<SheetTrace>,
}

impl Rehearsal {
    /// Whether anything was spoilt or dangerous.
    pub fn is_clean(&self) -> bool {
        self.findings.iter().all(|finding| finding.weight == Weight::Note)
    }
}
