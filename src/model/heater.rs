use crate::model::{Curve, Given};
use crate::names::DeclId;
use crate::types::Date;
use crate::units::Bounded;

/// Share of a rating that may be drawn for more than a few seconds.
///
/// An overcurrent rule of the US code for loads of three hours or more (S77, as reported by a trade magazine); for small
/// direct-current supplies it is common practice, and the supply's own data sheet goes first.
pub const CONTINUOUS: f64 = 0.8;

/// A resistance alloy.
#[derive(Clone, Debug)]
pub struct Alloy {
    /// Its name.
    pub name: String,
    /// Ω m at 20 °C
    pub resistivity: Given<Bounded>,
    /// Resistance as a multiple of the one at 20 °C, over K.
    pub hot_factor: Curve,
    /// kg/m³
    pub density: Given<Bounded>,
    /// J/(kg K) over K
    pub specific_heat: Curve,
    /// 1/K over K: mean from 20 °C up to the temperature.
    pub mean_expansion: Curve,
    /// K
    pub limit: Given<Bounded>,
    /// Share of a black body, oxidised.
    pub emissivity: Given<Bounded>,
}

/// A metal of leads and shields.
#[derive(Clone, Debug)]
pub struct Metal {
    /// Its name.
    pub name: String,
    /// Ω m at 20 °C
    pub resistivity: Bounded,
    /// 1/K
    pub temperature_coefficient: Option<Bounded>,
    /// kg/m³
    pub density: Bounded,
    /// J/(kg K)
    pub specific_heat: Bounded,
}

/// A resistance wire.
#[derive(Clone, Debug)]
pub struct Wire {
    /// The declaration: two lines of one wire are of one stock.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// What it is made of.
    pub alloy: Alloy,
    /// m
    pub diameter: Given<Bounded>,
    /// What was measured on a piece of it.
    pub measured: Option<WireMeasurement>,
}

/// Cold resistance of a piece of wire.
#[derive(Clone, Debug)]
pub struct WireMeasurement {
    /// Ω
    pub resistance: Bounded,
    /// K
    pub temperature: Bounded,
    /// m
    pub length: Bounded,
}

/// Direct or alternating current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CurrentKind {
    /// Direct.
    Direct,
    /// Alternating.
    Alternating,
}

/// What feeds the heaters.
#[derive(Clone, Debug)]
pub struct Supply {
    /// The declaration: two heaters with the same one draw from one supply.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// V under load
    pub voltage: Given<Bounded>,
    /// Whether the voltage was measured at the wire.
    pub at_wire: bool,
    /// Direct or alternating.
    pub kind: CurrentKind,
    /// A
    pub rated: Given<Bounded>,
    /// Share of the rating.
    pub continuous: f64,
    /// A
    pub fuse: Option<Given<f64>>,
}

/// Where a line lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LinePlace {
    /// Under the sheet.
    Below,
    /// Over the sheet.
    Above,
}

/// One heated wire.
#[derive(Clone, Debug)]
pub struct Line {
    /// Where it lies.
    pub place: LinePlace,
    /// The wire.
    pub wire: Wire,
    /// From the wire's axis to the sheet's face, m.
    pub gap: Given<Bounded>,
}

/// How two lines are connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wiring {
    /// There is one.
    Single,
    /// Side by side.
    Parallel,
    /// One after the other.
    Series,
}

/// What switches a heater.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Switch {
    /// Takes part power.
    SolidState,
    /// On or off only.
    Relay,
}

/// The channel around the wire.
#[derive(Clone, Debug)]
pub struct Shield {
    /// What it is made of.
    pub metal: Metal,
    /// kg/m
    pub mass: Given<Bounded>,
}

/// The conductors between supply and wire.
#[derive(Clone, Debug)]
pub struct Leads {
    /// What they are made of.
    pub metal: Metal,
    /// m²
    pub area: Given<Bounded>,
    /// m, one way
    pub length: Given<Bounded>,
}

/// What keeps the wire taut.
#[derive(Clone, Debug)]
pub struct Spring {
    /// N/m
    pub rate: Given<Bounded>,
    /// N
    pub preload: Given<Bounded>,
    /// m
    pub travel: Given<Bounded>,
}

/// What trial strips have shown.
#[derive(Clone, Debug)]
pub struct Calibration {
    /// Heat that reaches the sheet as a share of the model's.
    pub factor: Given<Bounded>,
    /// The sheet of the trials.
    pub sheet: DeclId,
    /// The day.
    pub on: Date,
    /// How many strips.
    pub trials: u64,
}

/// A line heater.
#[derive(Clone, Debug)]
pub struct Heater {
    /// The declaration.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// One line, or one below and one above.
    pub lines: Vec<Line>,
    /// How two lines are connected.
    pub wiring: Wiring,
    /// m
    pub length: Given<Bounded>,
    /// m
    pub channel: Given<Bounded>,
    /// The channel around the wire.
    pub shield: Option<Shield>,
    /// What feeds it.
    pub supply: Supply,
    /// What switches it.
    pub switch: Switch,
    /// A
    pub fuse: Option<Given<f64>>,
    /// The conductors.
    pub leads: Leads,
    /// What keeps the wire taut.
    pub spring: Option<Spring>,
    /// s
    pub warm_up: Option<Given<f64>>,
    /// What trial strips have shown.
    pub calibration: Option<Calibration>,
}
