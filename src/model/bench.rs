use crate::model::{Given, Heater};
use crate::names::DeclId;
use crate::text::Span;
use crate::units::Bounded;

/// What a face is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Surface {
    /// Wood.
    Wood,
    /// Bare metal.
    Metal,
    /// Covered with cloth.
    Cloth,
    /// Nothing: the sheet hangs free.
    Air,
}

/// The table.
#[derive(Clone, Debug)]
pub struct Base {
    /// m, from the bend line to the rear edge
    pub depth: Given<Bounded>,
    /// m, along the bend line
    pub width: Given<Bounded>,
    /// m
    pub thickness: Given<Bounded>,
    /// What it is made of.
    pub surface: Surface,
}

/// A swinging arm with its heater.
#[derive(Clone, Debug)]
pub struct Arm {
    /// Its name.
    pub name: String,
    /// Where it is declared.
    pub span: Span,
    /// The heater at its hinge.
    pub heater: Heater,
    /// m
    pub depth: Given<Bounded>,
    /// m
    pub thickness: Given<Bounded>,
    /// rad, lowest and highest
    pub swings: Given<(f64, f64)>,
    /// m, lowest and highest, from the base's front edge
    pub place: Given<(f64, f64)>,
    /// What its face is made of.
    pub surface: Surface,
    /// m above the base; none on the bend's own axis
    pub hinge: Option<Given<Bounded>>,
}

/// The stop for the sheet's edge.
#[derive(Clone, Debug)]
pub struct Fence {
    /// m, lowest and highest
    pub reach: Given<(f64, f64)>,
    /// m
    pub reads: Given<f64>,
    /// m above the base; none where it is assumed
    pub height: Option<Given<Bounded>>,
    /// m; none where it is assumed
    pub thickness: Option<Given<Bounded>>,
}

impl Fence {
    /// What a fence is taken to be that says nothing of its height and thickness, m (our assumption: a bar of 15 mm by
    /// 10 mm).
    pub const ASSUMED: (f64, f64) = (0.015, 0.010);

    /// How far it stands above the base at its highest, m.
    pub fn height(&self) -> f64 {
        self.height.as_ref().map_or(Self::ASSUMED.0, |given| given.value.high())
    }

    /// How far it reaches back at its thickest, m.
    pub fn thickness(&self) -> f64 {
        self.thickness.as_ref().map_or(Self::ASSUMED.1, |given| given.value.high())
    }
}

/// The bar that holds the fixed side.
#[derive(Clone, Debug)]
pub struct Clamp {
    /// m
    pub height: Given<Bounded>,
    /// m
    pub depth: Given<Bounded>,
    /// m
    pub inset: Given<Bounded>,
    /// m
    pub grip: Given<Bounded>,
}

/// Times of hands, s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Handling {
    /// Before the first bend.
    pub load: f64,
    /// Between two bends.
    pub reposition: f64,
    /// After the last bend.
    pub unload: f64,
    /// On top, when the sheet is turned over.
    pub turn_over: f64,
    /// On top, when the stop of an arm is set to another angle.
    pub swing_change: f64,
    /// On top, when the fence is set to another distance.
    pub fence_change: f64,
}

/// What an output switches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OutputRole {
    /// A heater.
    Heats(DeclId),
    /// A second switch in series with a supply.
    Isolates(DeclId),
    /// The lamp.
    Lamp,
    /// The buzzer.
    Buzzer,
}

/// One output pin.
#[derive(Clone, Debug)]
pub struct Output {
    /// Its number.
    pub pin: u64,
    /// What it switches.
    pub role: OutputRole,
    /// Where it is declared.
    pub span: Span,
}

/// What an input reads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum InputRole {
    /// Starts a heat.
    StartButton,
    /// Stops everything; the supply that the button itself breaks, if it does.
    StopButton(Option<DeclId>),
    /// An arm stands at its stop.
    Down(String),
    /// An arm lies flat.
    Home(String),
    /// Current flows in a heater or from a supply.
    Current(DeclId),
    /// Chooses the row of heat times.
    RowButton,
    /// A guard is closed.
    Guard,
}

/// One input pin.
#[derive(Clone, Debug)]
pub struct Input {
    /// Its number.
    pub pin: u64,
    /// What it reads.
    pub role: InputRole,
    /// Whether its contact is closed when at rest.
    pub normally_closed: bool,
    /// Where it is declared.
    pub span: Span,
}

/// What switches the heaters.
#[derive(Clone, Debug)]
pub struct Controller {
    /// Its name.
    pub name: String,
    /// Where it is declared.
    pub span: Span,
    /// Its outputs.
    pub outputs: Vec<Output>,
    /// Its inputs.
    pub inputs: Vec<Input>,
    /// s
    pub heat_limit: Option<Given<f64>>,
    /// Bytes for one program.
    pub program_space: u64,
}

/// A line bender.
#[derive(Clone, Debug)]
pub struct Bench {
    /// The declaration.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// The table.
    pub base: Base,
    /// The arms, in the order of the source.
    pub arms: Vec<Arm>,
    /// The stop for the sheet's edge.
    pub fence: Fence,
    /// The bar that holds the fixed side.
    pub clamp: Clamp,
    /// Times of hands.
    pub handling: Handling,
    /// People.
    pub operators: u64,
    /// What switches the heaters.
    pub controller: Option<Controller>,
}
