//! Contacts, switches and what has failed: what the controller sees of the bench, and what really flows.

use crate::program::{InputRole, MOST_INPUTS, MOST_OUTPUTS, Machine, OutputRole};

/// The bench as the controller is wired to it.
#[expect(clippy::struct_excessive_bools, reason = "each is a contact or a fault of its own")]
pub struct Plant<'a> {
    machine: &'a Machine,
    breaks: &'a [bool],
    /// Each arm is at its stop.
    pub down: [bool; MOST_OUTPUTS],
    /// Each arm is home.
    pub home: [bool; MOST_OUTPUTS],
    /// A finger is on start.
    pub start: bool,
    /// A finger is on the row button.
    pub row: bool,
    /// The stop button is down.
    pub stop: bool,
    /// The guard is open.
    pub guard_open: bool,
    /// The bench has power.
    pub power: bool,
    /// Switches that have failed closed.
    pub closed: [bool; MOST_OUTPUTS],
    /// Heaters that have failed open.
    pub dead: [bool; MOST_OUTPUTS],
    /// Current sensors of heaters (by output) that always tell the same.
    pub sensor: [Option<bool>; MOST_INPUTS],
    /// Switches at the arms' stops that always tell the same.
    pub down_contact: [Option<bool>; MOST_OUTPUTS],
}

impl<'a> Plant<'a> {
    /// All arms home, nothing pressed.
    pub fn new(machine: &'a Machine, breaks: &'a [bool]) -> Self {
        Self {
            machine,
            breaks,
            down: [false; MOST_OUTPUTS],
            home: [true; MOST_OUTPUTS],
            start: false,
            row: false,
            stop: false,
            guard_open: false,
            power: true,
            closed: [false; MOST_OUTPUTS],
            dead: [false; MOST_OUTPUTS],
            sensor: [None; MOST_INPUTS],
            down_contact: [None; MOST_OUTPUTS],
        }
    }

    /// Whether a supply reaches its heaters' switches.
    pub fn live(&self, outputs: u8, supply: u8) -> bool {
        let broken = self.stop && self.breaks.get(usize::from(supply)).copied().unwrap_or(false);
        let mut isolators = self.machine.outputs.iter().enumerate();
        let closed = isolators.all(|(index, output)| {
            output.role != OutputRole::Isolator || output.supply != supply || outputs & (1 << index) != 0
        });
        self.power && !broken && closed
    }

    /// Whether current flows in a heater.
    pub fn flows(&self, outputs: u8, heater: u8) -> bool {
        let index = usize::from(heater);
        let Some(output) = self.machine.heater(heater) else { return false };
        let switched = outputs & (1 << index) != 0 || self.closed[index];
        switched && !self.dead[index] && self.live(outputs, output.supply)
    }

    /// The contacts that are closed, one bit for each input.
    pub fn contacts(&self, outputs: u8) -> u16 {
        let mut contacts = 0;
        for (index, input) in self.machine.inputs.iter().enumerate() {
            let heaters = || (0..MOST_OUTPUTS).filter_map(|of| u8::try_from(of).ok());
            let active = match input.role {
                InputRole::Start => self.start,
                InputRole::Stop => self.stop,
                InputRole::Row => self.row,
                InputRole::Guard => !self.guard_open,
                InputRole::Down(of) => {
                    let of = usize::from(of);
                    self.down_contact[of].unwrap_or(self.down[of])
                }
                InputRole::Home(of) => self.home[usize::from(of)],
                InputRole::HeaterCurrent(of) => self.sensor[index].unwrap_or_else(|| self.flows(outputs, of)),
                InputRole::SupplyCurrent(supply) => self.sensor[index].unwrap_or_else(|| {
                    let fed = |heater: &u8| self.machine.heater(*heater).is_some_and(|own| own.supply == supply);
                    heaters().filter(fed).any(|heater| self.flows(outputs, heater))
                }),
            };
            contacts |= u16::from(active != input.normally_closed) << index;
        }
        contacts
    }

    /// The current inputs that tell of a heater.
    pub fn sensors(&self, heater: u8) -> Vec<usize> {
        let supply = self.machine.heater(heater).map(|output| output.supply);
        let tells = |role: InputRole| match role {
            InputRole::HeaterCurrent(of) => of == heater,
            InputRole::SupplyCurrent(of) => Some(of) == supply,
            _ => false,
        };
        (0..self.machine.inputs.len()).filter(|index| tells(self.machine.inputs[*index].role)).collect()
    }

    /// Whether a second switch stands before a heater.
    pub fn has_isolator(&self, heater: u8) -> bool {
        let supply = self.machine.heater(heater).map(|output| output.supply);
        self.machine.outputs.iter().any(|own| own.role == OutputRole::Isolator && Some(own.supply) == supply)
    }

    /// Whether the stop button itself breaks a heater's supply.
    pub fn stop_breaks(&self, heater: u8) -> bool {
        let supply = self.machine.heater(heater).map(|output| usize::from(output.supply));
        supply.and_then(|supply| self.breaks.get(supply)).copied().unwrap_or(false)
    }
}
