//! What is rehearsed: the program, what its rows mean, who is to do what when, and the bench's physics.

use std::collections::BTreeMap;

use crate::physics::section::Stage;
use crate::plan::Modelled;
use crate::program::Machine;

/// What hands do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hand {
    /// Lay the sheet in.
    Load,
    /// Shift or turn it between two bends.
    Reposition,
    /// Press start.
    Press,
    /// Swing the arm.
    Swing,
    /// Take the part out.
    Unload,
    /// Take a spoilt part out, and press.
    Clear,
}

impl Hand {
    /// For tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Load => "lays the sheet in",
            Self::Reposition => "shifts the sheet",
            Self::Press => "presses start",
            Self::Swing => "swings the arm",
            Self::Unload => "takes the part out",
            Self::Clear => "takes the spoilt part out, presses",
        }
    }
}

/// What a row of the step table asks of hands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SceneRow {
    /// The run of the batch, from 0.
    pub run: usize,
    /// The pass of the part, from 0.
    pub pass: usize,
    /// What hands do; none where the line heats or the arm holds.
    pub hand: Option<Hand>,
    /// How long it takes for the first part of a run, and for each further one, ms.
    pub lasts: [u64; 2],
}

/// One thing that the schedule has hands do. Part is the number of the try, from 0; a warm-up has no run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct TaskKey {
    /// The lane of the program.
    pub lane: usize,
    /// The run, none for a warm-up.
    pub run: Option<usize>,
    /// The try.
    pub part: u64,
    /// The pass; for a warm-up its number.
    pub pass: usize,
    /// What is done.
    pub hand: Hand,
}

/// A thing that hands do, and when the schedule has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deed {
    /// ms after the program's start.
    pub start: u64,
    /// ms
    pub lasts: u64,
}

/// A heater on an output.
pub struct SceneHeater {
    /// The output of the controller.
    pub output: u8,
    /// The arm.
    pub arm: String,
    /// Its name.
    pub heater: String,
    /// The highest temperature its wire may have, K.
    pub wire_limit: f64,
    /// What it draws where its physics is not known, A.
    pub draws: f64,
    /// The bend whose model tells of its wires and shields.
    pub model: Option<usize>,
}

/// A bend that the program makes.
pub struct SceneBend {
    /// The run, from 0.
    pub run: usize,
    /// The pass, from 0.
    pub pass: usize,
    /// Its name in the part.
    pub label: String,
    /// The output of its heater.
    pub output: u8,
    /// Its heat and its sheet; none where the material's data do not suffice.
    pub model: Option<Modelled>,
    /// Heat as planned.
    pub stages: Vec<Stage>,
    /// The window as planned: ready and over at the nominal, s.
    pub window: Option<(f64, f64)>,
}

/// A program, and the bench that it is rehearsed on.
pub struct Scene {
    /// Of the recipe or batch.
    pub name: String,
    /// The bench.
    pub bench: String,
    /// Whether it is a batch.
    pub batch: bool,
    /// Good parts after which the rehearsal ends; a batch ends by itself.
    pub parts: u64,
    /// The program's bytes.
    pub image: Vec<u8>,
    /// The controller.
    pub machine: Machine,
    /// The row of heat times that suits the sheet, from 0; and its thicknesses, 0.01 mm.
    pub row: usize,
    /// The thickness of each row of heat times, 0.01 mm; none where heat does not hang on it.
    pub thicknesses: Vec<u16>,
    /// The names of the arms of each lane.
    pub lanes: Vec<String>,
    /// What each row of the step table asks, from row 1.
    pub rows: Vec<SceneRow>,
    /// The schedule of hands; only where several lanes share them.
    pub deeds: BTreeMap<TaskKey, Deed>,
    /// How long the schedule is, ms.
    pub total: u64,
    /// The heaters that the program switches.
    pub heaters: Vec<SceneHeater>,
    /// The bends.
    pub bends: Vec<SceneBend>,
    /// The names of the supplies, and what each may give for long, A.
    pub supplies: Vec<(String, f64)>,
    /// Whether the stop button breaks each supply itself.
    pub breaks: Vec<bool>,
    /// How long a swing takes, as a share of the longest transfer that is allowed.
    pub swing: f64,
}
