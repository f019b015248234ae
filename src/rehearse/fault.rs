//! What may go wrong in a rehearsal, and how it is asked for.

use crate::names::nearest;
use crate::physics::window::Unknown;

/// Something that happens at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// The stop button is pressed.
    Stop,
    /// The guard is opened.
    GuardOpen,
    /// The next bend finds nobody at the bench.
    LateHands,
    /// Power is gone for half a minute.
    PowerCut,
    /// The controller does nothing for a quarter of a second.
    HeldUp,
    /// The start button's contact chatters for a second.
    Chatter,
    /// The heater's switch fails closed.
    SwitchClosed,
    /// The heater's switch, or its wire, fails open.
    HeaterDead,
    /// The current sensor tells nothing any more.
    SensorOpen,
    /// The current sensor tells of current all the time.
    SensorStuck,
    /// The switch that tells that the arm is at its stop stays closed.
    DownStuck,
    /// It never closes again.
    DownDead,
    /// Nobody has chosen the row of the measured thickness.
    WrongRow,
    /// A bit of the program in memory flips.
    MemoryFlip,
}

/// What is otherwise than expected all the time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Condition {
    /// What.
    pub unknown: Unknown,
    /// Whether it is at its highest, rather than at its lowest.
    pub high: bool,
}

/// Either.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// Something that happens.
    Fault(FaultKind),
    /// Something that is so.
    Condition(Condition),
}

/// Something that happens at a moment, at an arm.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The name it was asked for by, with arm and time.
    pub name: String,
    /// What.
    pub kind: Trouble,
    /// The arm, by its name; the first that is heated where none is given.
    pub arm: Option<String>,
    /// ms after the program's start; where none is given, in the middle of the first heat of a part.
    pub at: Option<u64>,
}

const fn condition(unknown: Unknown, high: bool) -> Trouble {
    Trouble::Condition(Condition { unknown, high })
}

/// Every name, what it means, and what it is.
pub const FAULTS: [(&str, &str, Trouble); 21] = [
    ("stop", "the stop button is pressed", Trouble::Fault(FaultKind::Stop)),
    ("guard-open", "the guard is opened", Trouble::Fault(FaultKind::GuardOpen)),
    ("late-hands", "nobody is there for the next bend", Trouble::Fault(FaultKind::LateHands)),
    ("power-cut", "no power for 30 s", Trouble::Fault(FaultKind::PowerCut)),
    ("held-up", "the controller does nothing for 250 ms", Trouble::Fault(FaultKind::HeldUp)),
    ("chatter", "the start button's contact chatters for a second", Trouble::Fault(FaultKind::Chatter)),
    ("switch-closed", "a heater's switch fails closed", Trouble::Fault(FaultKind::SwitchClosed)),
    ("heater-dead", "a heater's wire or switch fails open", Trouble::Fault(FaultKind::HeaterDead)),
    ("sensor-open", "a current sensor tells nothing any more", Trouble::Fault(FaultKind::SensorOpen)),
    ("sensor-stuck", "a current sensor tells of current all the time", Trouble::Fault(FaultKind::SensorStuck)),
    ("down-stuck", "an arm's `down` switch stays closed", Trouble::Fault(FaultKind::DownStuck)),
    ("down-dead", "an arm's `down` switch never closes again", Trouble::Fault(FaultKind::DownDead)),
    ("wrong-row", "nobody chooses the row of the measured thickness", Trouble::Fault(FaultKind::WrongRow)),
    ("memory-flip", "a bit of the program in memory flips", Trouble::Fault(FaultKind::MemoryFlip)),
    ("cold-room", "the room is as cold as the recipe allows", condition(Unknown::Ambient, false)),
    ("warm-room", "the room is as warm as the recipe allows", condition(Unknown::Ambient, true)),
    ("low-supply", "the supply's voltage is at its lowest", condition(Unknown::Voltage, false)),
    ("high-supply", "the supply's voltage is at its highest", condition(Unknown::Voltage, true)),
    ("thin-sheet", "the sheet is as thin as it can be", condition(Unknown::Thickness, false)),
    ("thick-sheet", "the sheet is as thick as it can be", condition(Unknown::Thickness, true)),
    ("weak-heater", "the heater gives the sheet as little as is known of it", condition(Unknown::Kappa, false)),
];

/// Reads `NAME`, `NAME@TIME`, `NAME:ARM` or `NAME:ARM@TIME`, the time as `120s`, `2min` or a number of seconds.
pub fn trouble(text: &str) -> Result<Fault, String> {
    let (before, at) = match text.split_once('@') {
        Some((before, at)) => (before, Some(milliseconds(at)?)),
        None => (text, None),
    };
    let (name, arm) = match before.split_once(':') {
        Some((name, arm)) => (name, Some(arm.to_owned())),
        None => (before, None),
    };
    let Some((_, _, kind)) = FAULTS.iter().find(|(known, ..)| *known == name) else {
        let names = FAULTS.iter().map(|(known, ..)| *known);
        let near = nearest(name, names.clone());
        let rather = near.map_or_else(
            || format!("there are {}", names.collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        return Err(format!("there is no fault `{name}`; {rather}"));
    };
    if matches!(kind, Trouble::Condition(_) | Trouble::Fault(FaultKind::WrongRow)) && (at.is_some() || arm.is_some()) {
        return Err(format!("`{name}` is so all the time and everywhere: write it without a time or an arm"));
    }
    Ok(Fault { name: text.to_owned(), kind: *kind, arm, at })
}

/// The longest time that can be asked for, s: a day.
const LONGEST: f64 = 86_400.0;

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is held against a day")]
fn milliseconds(text: &str) -> Result<u64, String> {
    let text = text.trim();
    let (number, factor) = if let Some(number) = text.strip_suffix("min") {
        (number, 60.0)
    } else {
        (text.strip_suffix('s').unwrap_or(text), 1.0)
    };
    let seconds = number.trim().parse::<f64>().ok().map(|number| number * factor);
    match seconds.filter(|seconds| (0.0..=LONGEST).contains(seconds)) {
        Some(seconds) => Ok((seconds * 1000.0) as u64),
        None => Err(format!("`{text}` is no time; write it like 120s or 2min, a day at most")),
    }
}

#[cfg(test)]
mod tests {
    use super::{FaultKind, Trouble, trouble};

    #[test]
    fn a_fault_has_a_name_an_arm_and_a_time() {
        let fault = trouble("switch-closed:left@2min").unwrap();
        assert_eq!((fault.arm.as_deref(), fault.at), (Some("left"), Some(120_000)));
        assert_eq!(fault.kind, Trouble::Fault(FaultKind::SwitchClosed));
        assert_eq!(trouble("stop@1.5").unwrap().at, Some(1500));
        assert_eq!(trouble("cold-room").unwrap().at, None);
    }

    #[test]
    fn what_is_wrong_is_said() {
        assert_eq!(trouble("stopp@1s").unwrap_err(), "there is no fault `stopp`; did you mean `stop`?");
        assert!(trouble("stop@later").unwrap_err().contains("is no time"));
        assert!(trouble("stop@-1s").unwrap_err().contains("is no time"));
        assert!(trouble("stop@1e99").unwrap_err().contains("is no time"));
        assert!(trouble("cold-room@2s").unwrap_err().contains("all the time"));
    }
}
