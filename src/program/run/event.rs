//! What a controller logs.

/// The lane of an event that belongs to none.
pub const NO_LANE: u8 = 255;

/// What happened. The numbers are those of the serial protocol.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum EventKind {
    /// The program starts; the chosen row.
    Start = 1,
    /// A row of the step table begins; its number.
    Step = 2,
    /// A call to the operator; its number.
    Call = 3,
    /// A heater is on; output in the high byte, level in the low one.
    On = 4,
    /// A heater is off; its output.
    Off = 5,
    /// A press began a heat; what is claimed.
    Begin = 6,
    /// An input came in time; its number.
    Met = 7,
    /// An input did not come in time; its number.
    Late = 8,
    /// A good part; how many so far.
    Good = 9,
    /// A spoilt part; how many so far.
    Scrap = 10,
    /// A lane is done.
    LaneEnd = 11,
    /// The program is done.
    Done = 12,
    /// Everything off; why.
    Fault = 13,
    /// Another row was chosen; its number.
    Row = 14,
    /// A fault was acknowledged.
    Acknowledged = 15,
    /// The self-test has passed.
    Tested = 16,
    /// The check mode begins (0) or has passed (1).
    Check = 17,
}

impl EventKind {
    /// Every kind.
    pub const ALL: [Self; 17] = [
        Self::Start,
        Self::Step,
        Self::Call,
        Self::On,
        Self::Off,
        Self::Begin,
        Self::Met,
        Self::Late,
        Self::Good,
        Self::Scrap,
        Self::LaneEnd,
        Self::Done,
        Self::Fault,
        Self::Row,
        Self::Acknowledged,
        Self::Tested,
        Self::Check,
    ];

    /// Its number.
    pub fn number(self) -> u8 {
        self as u8
    }

    /// For tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Step => "step",
            Self::Call => "call",
            Self::On => "on",
            Self::Off => "off",
            Self::Begin => "begin",
            Self::Met => "met",
            Self::Late => "late",
            Self::Good => "good",
            Self::Scrap => "scrap",
            Self::LaneEnd => "lane-end",
            Self::Done => "done",
            Self::Fault => "fault",
            Self::Row => "row",
            Self::Acknowledged => "acknowledged",
            Self::Tested => "tested",
            Self::Check => "check",
        }
    }
}

/// One line of the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Event {
    /// Since the program started, or since power came, ms.
    pub time: u32,
    /// The lane, or [`NO_LANE`].
    pub lane: u8,
    /// The row of the step table that the lane is in.
    pub step: u16,
    /// What happened.
    pub kind: EventKind,
    /// More about it.
    pub detail: u16,
}

/// Why everything was switched off. Codes from 128 on are a program's own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum FaultCode {
    /// The stop button.
    Stop = 1,
    /// The guard was opened while a heater was on.
    GuardOpen = 2,
    /// Ticks were missed.
    MissedTicks = 3,
    /// A heater was on beyond its limit.
    HeatLimit = 4,
    /// A heater was on for too much of the last minutes.
    HeatSum = 5,
    /// Current flows where none should.
    SwitchFailed = 6,
    /// An arm is seen down while its heater is on, or down and home at once.
    ArmSwitch = 7,
    /// The program in memory has changed.
    ImageChanged = 8,
    /// The controller's own limits have changed.
    LimitsChanged = 9,
    /// The program in memory makes no sense.
    BadProgram = 10,
    /// An input chatters.
    Chatter = 11,
    /// A heater that is on draws no current.
    NoCurrent = 12,
}

impl FaultCode {
    /// Every code.
    pub const ALL: [Self; 12] = [
        Self::Stop,
        Self::GuardOpen,
        Self::MissedTicks,
        Self::HeatLimit,
        Self::HeatSum,
        Self::SwitchFailed,
        Self::ArmSwitch,
        Self::ImageChanged,
        Self::LimitsChanged,
        Self::BadProgram,
        Self::Chatter,
        Self::NoCurrent,
    ];

    /// Its number.
    pub fn number(self) -> u8 {
        self as u8
    }

    /// What happened, and what to do.
    pub fn text(self) -> &'static str {
        match self {
            Self::Stop => "the stop button was pressed: release it, look at the bench, press start to acknowledge",
            Self::GuardOpen => "the guard was opened while a heater was on: close it",
            Self::MissedTicks => "the controller was held up: watch it, and have it repaired if that happens again",
            Self::HeatLimit => "a heater was on for longer than it may be: do not use the program, and report it",
            Self::HeatSum => "a heater was on for too much of the last minutes: let the bench cool",
            Self::SwitchFailed => {
                "current flows although the heater is off: BREAK THE SUPPLY BY HAND; its switch has failed closed"
            }
            Self::ArmSwitch => {
                "an arm is seen down while its heater is on, or down and home at once: see to its switch"
            }
            Self::ImageChanged => "the program in memory has changed: load it again",
            Self::LimitsChanged => "the controller's own limits have changed: do not use it, have it repaired",
            Self::BadProgram => "the program in memory makes no sense: load it again",
            Self::Chatter => "an input chatters: see to its contact and its wires",
            Self::NoCurrent => "a heater that is on draws no current: see to its wire, fuse and switch",
        }
    }

    /// The code with a number.
    pub fn from_number(number: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|code| code.number() == number)
    }
}
