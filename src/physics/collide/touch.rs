use serde::{Deserialize, Serialize};

/// Within this a contact is grazing, m: closer than bench, sheet and hands are known (common practice, no source).
pub const GRAZING: f64 = 2e-4;
/// A least gap is found to within this, m; nothing deeper than it is missed between two moments of a swing.
pub const RESOLUTION: f64 = 2e-5;

/// What can touch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Thing {
    /// The bend that is being made.
    Zone,
    /// A stretch of the fixed side, by its place on the way outward.
    Fixed(usize),
    /// A stretch of the moving side, by its place on the way outward.
    Moving(usize),
    /// The arm that makes the bend.
    Arm,
    /// The clamp bar.
    Clamp,
    /// The base, with what lies flush with it.
    Base,
    /// The line above the sheet, as long as it heats.
    Above,
    /// The fence that the sheet is pushed against.
    Fence,
}

/// Two things that come closer than they may.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Touch {
    /// The one that moves, or the sheet.
    pub first: Thing,
    /// What it meets.
    pub second: Thing,
    /// The least gap, m; negative by the depth of the overlap.
    pub gap: f64,
    /// The angle of the arm at which that is, rad.
    pub angle: f64,
    /// Whether the overlap is deeper than what counts as grazing.
    pub collides: bool,
}
