//! Why an image is refused, in words for the person who wanted to run it.

use std::fmt;

/// Why an image is refused. The numbers are the controller's, too.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Reason {
    /// The length is not what the header says.
    Length = 1,
    /// It does not begin with the magic.
    Magic = 2,
    /// Another version of the format.
    Version = 3,
    /// The check sum is wrong.
    CheckSum = 4,
    /// A count of the header is out of range.
    Header = 5,
    /// A text holds a control character or has a forbidden length.
    Text = 6,
    /// An output makes no sense.
    OutputTable = 7,
    /// An input makes no sense, or start or stop button is missing.
    InputTable = 8,
    /// A supply without capacity.
    SupplyTable = 9,
    /// Heat rows that differ in number or have no time.
    RowTable = 10,
    /// Lanes do not fill the image.
    LaneLength = 11,
    /// Made for another bench.
    OtherBench = 12,
    /// Made for another wiring.
    OtherWiring = 13,
    /// Asks for a longer on-time than the controller allows.
    LimitRaised = 14,
    /// No instruction.
    Unknown = 15,
    /// Names something that is not there.
    Index = 16,
    /// A level that this switch or input cannot take.
    Level = 17,
    /// A jump that goes back, into the middle of something, or across a loop.
    Jump = 18,
    /// Loops that do not match.
    Loop = 19,
    /// `enough` not directly at the end of the outer loop.
    Enough = 20,
    /// The lane does not end with `end`.
    NotEnded = 21,
    /// A heater is switched on without a press.
    NotBegun = 22,
    /// Something other than waiting while a heater is on.
    InHeat = 23,
    /// A heater is on for too long.
    TooLong = 24,
    /// The claim does not cover what is drawn.
    ClaimTooSmall = 25,
    /// The claim can never be met.
    ClaimTooLarge = 26,
    /// The operator is not reserved for the end of the heat and the transfer.
    Reservation = 27,
    /// The bend is not awaited, or a missed one goes on as if bent.
    NoBend = 28,
    /// Two lanes switch one heater.
    Shared = 29,
    /// The heater's arm has no switch that shows it down.
    NoDownSwitch = 30,
    /// A heater is switched off that is not on.
    NotOn = 31,
    /// A heater is switched on a second time within one heat.
    OnAgain = 32,
    /// The image is larger than the controller's slot.
    TooLarge = 33,
}

impl Reason {
    /// Every reason, by its number.
    pub const ALL: [Self; 33] = [
        Self::Length,
        Self::Magic,
        Self::Version,
        Self::CheckSum,
        Self::Header,
        Self::Text,
        Self::OutputTable,
        Self::InputTable,
        Self::SupplyTable,
        Self::RowTable,
        Self::LaneLength,
        Self::OtherBench,
        Self::OtherWiring,
        Self::LimitRaised,
        Self::Unknown,
        Self::Index,
        Self::Level,
        Self::Jump,
        Self::Loop,
        Self::Enough,
        Self::NotEnded,
        Self::NotBegun,
        Self::InHeat,
        Self::TooLong,
        Self::ClaimTooSmall,
        Self::ClaimTooLarge,
        Self::Reservation,
        Self::NoBend,
        Self::Shared,
        Self::NoDownSwitch,
        Self::NotOn,
        Self::OnAgain,
        Self::TooLarge,
    ];

    /// The number a controller reports.
    pub fn number(self) -> u8 {
        self as u8
    }

    /// The reason with a number.
    pub fn from_number(number: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|reason| reason.number() == number)
    }

    /// What it means, and what to do about it.
    pub fn text(self) -> &'static str {
        match self {
            Self::Length => "the file is cut short, or something hangs on at its end: copy or compile it again",
            Self::Magic => "this is no timing program: it does not begin with `WTHY`",
            Self::Version => "another version of the format: compile the recipe again with this version of withy",
            Self::CheckSum => "bytes have changed since it was written: the check sum differs; compile it again",
            Self::Header => "a count in the header is out of range",
            Self::Text => "a text is empty, too long, or holds a control character",
            Self::OutputTable => {
                "an output makes no sense: its role, switch, supply, limit and draw do not go together"
            }
            Self::InputTable => "an input makes no sense, or there is no start button or no stop button",
            Self::SupplyTable => "a supply can give nothing",
            Self::RowTable => "the tables of heat times differ in their number of rows, or a time is zero",
            Self::LaneLength => "the lanes do not fill the image: it was put together wrongly",
            Self::OtherBench => "it was compiled for another bench: each bench gets its own program",
            Self::OtherWiring => {
                "it was compiled for another wiring than this controller has: outputs, inputs or supplies differ; \
                 bring the `controller` block and the machine into line"
            }
            Self::LimitRaised => "it asks for a longer on-time than this controller ever allows",
            Self::Unknown => "there is no such instruction, or it is cut short",
            Self::Index => "it names an output, input, supply, call, step or table that is not there",
            Self::Level => "a relay takes full power or none, and an input is active (1) or at rest (0)",
            Self::Jump => "a jump must go forward to an instruction of the same loop, and never into a heat",
            Self::Loop => "loops must match, be nested at most twice, and run at least once",
            Self::Enough => "`enough` stands directly before the `again` of the outer loop, and nowhere else",
            Self::NotEnded => "each lane ends with one `end`, outside every loop",
            Self::NotBegun => "a heater may only be switched on right after `begin`, that is after a press of a person",
            Self::InHeat => "while a heater is on, a lane may only wait, change levels, mark steps and call",
            Self::TooLong => "a heater would be on for longer than its limit",
            Self::ClaimTooSmall => {
                "the heaters that are on together draw more than was claimed, or from another supply"
            }
            Self::ClaimTooLarge => "more is claimed than the supply can give: the heat could never begin",
            Self::Reservation => "the operator is not kept free for the end of the heat and the whole transfer",
            Self::NoBend => {
                "after a heat each arm must be awaited at its stop, and a missed bend must lead to `scrap` or `fault`"
            }
            Self::Shared => "two lanes switch the same heater",
            Self::NoDownSwitch => "the heater's arm has no `down` input, so nobody would know whether it was bent",
            Self::NotOn => "a heater is switched off that was not on",
            Self::OnAgain => "a heater is switched off and on again within one heat: use level 0 to let heat soak in",
            Self::TooLarge => "the program is larger than the controller's program space",
        }
    }
}

/// Why and where an image is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// Why.
    pub reason: Reason,
    /// Where: an offset in the image.
    pub offset: u16,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "refused at byte {}: {}", self.offset, self.reason.text())
    }
}

#[cfg(test)]
mod tests {
    use super::Reason;

    #[test]
    fn numbers_are_the_order() {
        for (index, reason) in Reason::ALL.into_iter().enumerate() {
            assert_eq!(usize::from(reason.number()), index + 1);
            assert_eq!(Reason::from_number(reason.number()), Some(reason));
        }
        assert_eq!(Reason::from_number(0), None);
    }
}
