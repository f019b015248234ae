use crate::model::{FenceSide, Handling};

/// What is done in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Lay the blank in and clamp it.
    Load,
    /// Unclamp, shift or turn over, set the stops, clamp again.
    Reposition,
    /// The line heats, or soaks with the heater off.
    Heat,
    /// Swing the arm to its stop.
    Bend,
    /// The arm holds while the bend sets.
    Set,
    /// Take the part out.
    Unload,
}

impl Action {
    /// The word in tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Load => "load",
            Self::Reposition => "reposition",
            Self::Heat => "heat",
            Self::Bend => "bend",
            Self::Set => "set",
            Self::Unload => "unload",
        }
    }
}

/// One row of the step table. Times in s, lengths in m, angles in rad.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// From the start of the part.
    pub start: f64,
    /// How long it takes.
    pub lasts: f64,
    /// What is done.
    pub action: Action,
    /// The bend that is made, by its number in the profile.
    pub bend: Option<usize>,
    /// The arm, by its number on the bench.
    pub arm: Option<usize>,
    /// The fence, and the end of the sheet against it; on rows that lay the sheet in.
    pub fence: Option<(f64, FenceSide)>,
    /// Whether the sheet lies with the profile's upper face down.
    pub turned_over: bool,
    /// Share of full power; on rows that heat.
    pub share: Option<f64>,
    /// The stop of the arm; on rows that swing it or lay the sheet in.
    pub swing: Option<f64>,
    /// What else has to be set at the bench before this step.
    pub changes: Vec<Change>,
}

/// What has to be set at the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Turn the sheet over.
    TurnOver,
    /// Set the stop of the arm.
    Swing,
    /// Set the fence.
    Fence,
}

impl Change {
    /// How long it takes, s.
    pub fn takes(self, handling: &Handling) -> f64 {
        match self {
            Self::TurnOver => handling.turn_over,
            Self::Swing => handling.swing_change,
            Self::Fence => handling.fence_change,
        }
    }
}
