//! What a controller is wired to: the same tables stand in an image and in the controller's own constants.

use crate::program::crc::crc32;

/// The most outputs, inputs, supplies and lanes of one controller.
pub const MOST_OUTPUTS: usize = 8;
/// See [`MOST_OUTPUTS`].
pub const MOST_INPUTS: usize = 16;
/// See [`MOST_OUTPUTS`].
pub const MOST_SUPPLIES: usize = 4;
/// See [`MOST_OUTPUTS`].
pub const MOST_LANES: usize = 4;

/// What an output switches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutputRole {
    /// A heater.
    Heater,
    /// A second switch in series with a supply.
    Isolator,
    /// The lamp that shows when a press counts.
    Lamp,
    /// The buzzer.
    Buzzer,
}

impl OutputRole {
    /// Its number in an image.
    pub fn number(self) -> u8 {
        match self {
            Self::Heater => 1,
            Self::Isolator => 2,
            Self::Lamp => 3,
            Self::Buzzer => 4,
        }
    }

    /// The role with a number.
    pub fn from_number(number: u8) -> Option<Self> {
        [Self::Heater, Self::Isolator, Self::Lamp, Self::Buzzer].into_iter().find(|role| role.number() == number)
    }

    /// For listings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Heater => "heater",
            Self::Isolator => "isolator",
            Self::Lamp => "lamp",
            Self::Buzzer => "buzzer",
        }
    }
}

/// What switches a heater.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SwitchKind {
    /// The output is no heater.
    None,
    /// Takes part power.
    SolidState,
    /// On or off only.
    Relay,
}

impl SwitchKind {
    /// Its number in an image.
    pub fn number(self) -> u8 {
        match self {
            Self::None => 0,
            Self::SolidState => 1,
            Self::Relay => 2,
        }
    }

    /// The kind with a number.
    pub fn from_number(number: u8) -> Option<Self> {
        [Self::None, Self::SolidState, Self::Relay].into_iter().find(|kind| kind.number() == number)
    }
}

/// One output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Output {
    /// Its pin.
    pub pin: u8,
    /// What it switches.
    pub role: OutputRole,
    /// What switches it.
    pub switch: SwitchKind,
    /// The supply it draws from or isolates; 0 for lamp and buzzer.
    pub supply: u8,
    /// The longest it may be on, 0.1 s; 0 where it is no heater.
    pub longest: u16,
    /// What it draws, 10 mA; 0 where it is no heater.
    pub draw: u16,
}

/// What an input reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InputRole {
    /// Starts a heat.
    Start,
    /// Stops everything.
    Stop,
    /// The arm of the heater at this output stands at its stop.
    Down(u8),
    /// The arm of the heater at this output lies flat.
    Home(u8),
    /// Current flows in the heater at this output.
    HeaterCurrent(u8),
    /// Current flows from this supply.
    SupplyCurrent(u8),
    /// Chooses the row of heat times.
    Row,
    /// The guard is closed.
    Guard,
}

impl InputRole {
    /// Its number in an image.
    pub fn number(self) -> u8 {
        match self {
            Self::Start => 1,
            Self::Stop => 2,
            Self::Down(_) => 3,
            Self::Home(_) => 4,
            Self::HeaterCurrent(_) => 5,
            Self::SupplyCurrent(_) => 6,
            Self::Row => 7,
            Self::Guard => 8,
        }
    }

    /// The output or supply it belongs to, else 0.
    pub fn subject(self) -> u8 {
        match self {
            Self::Down(of) | Self::Home(of) | Self::HeaterCurrent(of) | Self::SupplyCurrent(of) => of,
            Self::Start | Self::Stop | Self::Row | Self::Guard => 0,
        }
    }

    /// The role with a number; one that belongs to nothing has the subject 0.
    pub fn from_numbers(number: u8, subject: u8) -> Option<Self> {
        let alone = |role: Self| (subject == 0).then_some(role);
        match number {
            1 => alone(Self::Start),
            2 => alone(Self::Stop),
            3 => Some(Self::Down(subject)),
            4 => Some(Self::Home(subject)),
            5 => Some(Self::HeaterCurrent(subject)),
            6 => Some(Self::SupplyCurrent(subject)),
            7 => alone(Self::Row),
            8 => alone(Self::Guard),
            _ => None,
        }
    }

    /// For listings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Start => "start button",
            Self::Stop => "stop button",
            Self::Down(_) => "arm down",
            Self::Home(_) => "arm home",
            Self::HeaterCurrent(_) => "heater current",
            Self::SupplyCurrent(_) => "supply current",
            Self::Row => "row button",
            Self::Guard => "guard closed",
        }
    }
}

/// One input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Input {
    /// Its pin.
    pub pin: u8,
    /// What it reads.
    pub role: InputRole,
    /// Whether its contact is closed when at rest.
    pub normally_closed: bool,
    /// How long it must stand still before it counts, ms, 1 to 100.
    pub debounce: u8,
}

/// A controller's wiring and limits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Machine {
    /// CRC-32 of the bench's name.
    pub bench: u32,
    /// How many people work at it.
    pub operators: u8,
    /// Bytes for one program.
    pub space: u16,
    /// Its outputs.
    pub outputs: Vec<Output>,
    /// Its inputs.
    pub inputs: Vec<Input>,
    /// What each supply may give for long, 10 mA.
    pub supplies: Vec<u16>,
}

/// The number that stands for a bench in images and controllers.
pub fn bench_number(name: &str) -> u32 {
    crc32(name.as_bytes())
}

impl Machine {
    /// The digest of the wiring: a program for one wiring never runs on another. Limits of time are not part of it,
    /// since a program may ask for less than the controller allows.
    pub fn digest(&self) -> u32 {
        let mut bytes = self.counts();
        bytes.extend(self.tables(false));
        crc32(&bytes)
    }

    /// A controller's own constants, as its firmware holds them.
    pub fn constants(&self) -> Vec<u8> {
        let mut bytes = self.counts();
        bytes.extend(self.tables(true));
        bytes
    }

    fn counts(&self) -> Vec<u8> {
        let count = |length: usize| u8::try_from(length).unwrap_or(u8::MAX);
        vec![self.operators, count(self.outputs.len()), count(self.inputs.len()), count(self.supplies.len())]
    }

    /// Outputs, inputs and supplies as an image holds them, with the outputs' longest on-times or without.
    pub(super) fn tables(&self, with_limits: bool) -> Vec<u8> {
        let mut bytes = Vec::new();
        for output in &self.outputs {
            bytes.extend([output.pin, output.role.number(), output.switch.number(), output.supply]);
            if with_limits {
                bytes.extend(output.longest.to_le_bytes());
            }
            bytes.extend(output.draw.to_le_bytes());
        }
        for input in &self.inputs {
            let flags = u8::from(input.normally_closed);
            bytes.extend([input.pin, input.role.number(), input.role.subject(), flags, input.debounce]);
        }
        for supply in &self.supplies {
            bytes.extend(supply.to_le_bytes());
        }
        bytes
    }

    /// The input with a role.
    pub fn input(&self, role: InputRole) -> Option<u8> {
        self.inputs.iter().position(|input| input.role == role).and_then(|at| u8::try_from(at).ok())
    }

    /// An output, if it is a heater.
    pub fn heater(&self, output: u8) -> Option<&Output> {
        self.outputs.get(usize::from(output)).filter(|output| output.role == OutputRole::Heater)
    }

    /// The supply that heaters draw from, and what they draw together, 10 mA. All heaters of a heat are on one supply:
    /// the verifier refuses others.
    pub(crate) fn claim(&self, heaters: impl Iterator<Item = u8>) -> (u8, u16) {
        let drawn: Vec<&Output> = heaters.filter_map(|output| self.heater(output)).collect();
        let amount = drawn.iter().fold(0_u16, |sum, heater| sum.saturating_add(heater.draw));
        (drawn.first().map_or(0, |heater| heater.supply), amount)
    }

    /// Whether a current input tells something about a supply.
    pub(crate) fn measures(&self, supply: u8) -> bool {
        self.inputs.iter().any(|input| match input.role {
            InputRole::HeaterCurrent(of) => self.heater(of).is_some_and(|output| output.supply == supply),
            InputRole::SupplyCurrent(of) => of == supply,
            _ => false,
        })
    }

    /// Whether an output makes sense.
    pub(super) fn output_is_sound(output: Output, supplies: usize) -> bool {
        let heater = output.role == OutputRole::Heater;
        let draws = heater || output.role == OutputRole::Isolator;
        heater == (output.switch != SwitchKind::None)
            && heater == (output.longest > 0)
            && heater == (output.draw > 0)
            && (if draws { usize::from(output.supply) < supplies } else { output.supply == 0 })
    }

    /// Whether an input makes sense.
    pub(super) fn input_is_sound(&self, input: Input, supplies: usize) -> bool {
        let belongs = match input.role {
            InputRole::Down(of) | InputRole::Home(of) | InputRole::HeaterCurrent(of) => self.heater(of).is_some(),
            InputRole::SupplyCurrent(of) => usize::from(of) < supplies,
            InputRole::Start | InputRole::Stop | InputRole::Row | InputRole::Guard => true,
        };
        belongs && (1..=100).contains(&input.debounce)
    }
}
