//! Contacts that bounce, and what they say.

use crate::program::machine::InputRole;
use crate::program::run::{Controller, DOWN_ABSENT, SHORTEST_REST, WINDOW, clamped};

impl Controller {
    pub(super) fn read_inputs(&mut self, passed: u32, contacts: u16) {
        let phase = u32::from(self.phase).wrapping_add(passed);
        let new_window = phase >= u32::from(WINDOW);
        self.phase = clamped(phase % u32::from(WINDOW));
        self.press = false;
        self.row_press = false;
        for (index, (input, pin)) in self.machine.inputs.iter().zip(&mut self.pins).enumerate() {
            if new_window {
                pin.changes = 0;
            }
            let raw = (contacts & (1 << index) != 0) != input.normally_closed;
            if raw != pin.raw {
                pin.changes = pin.changes.saturating_add(1);
                pin.raw = raw;
            }
            if raw == pin.stable {
                pin.changing = 0;
            } else {
                pin.changing = pin.changing.saturating_add(clamped(passed));
                if pin.changing >= u16::from(input.debounce) {
                    pin.stable = raw;
                    pin.changing = 0;
                    self.press |= raw && input.role == InputRole::Start;
                    self.row_press |= raw && input.role == InputRole::Row;
                }
            }
            pin.rests = if pin.stable { 0 } else { pin.rests.saturating_add(clamped(passed)) };
        }
    }

    /// Whether any input of a role is active now, without waiting until it stands still.
    pub(super) fn raw(&self, role: InputRole) -> bool {
        self.machine.inputs.iter().zip(&self.pins).any(|(input, pin)| input.role == role && pin.raw)
    }

    pub(super) fn any_stable(&self, role: InputRole) -> bool {
        self.machine.inputs.iter().zip(&self.pins).any(|(input, pin)| input.role == role && pin.stable)
    }

    /// Whether every guard there is, is closed.
    pub(super) fn guarded(&self) -> bool {
        let guards = self.machine.inputs.iter().zip(&self.pins);
        guards.filter(|(input, _)| input.role == InputRole::Guard).all(|(_, pin)| pin.raw && pin.stable)
    }

    /// Whether an output's arm is at home, it has rested, and its heat has leaked away; true for what is no heater.
    pub(super) fn may_heat(&self, output: usize) -> bool {
        let Ok(of) = u8::try_from(output) else { return false };
        if self.machine.heater(of).is_none() {
            return true;
        }
        let heater = &self.heaters[output];
        if heater.rest < SHORTEST_REST || heater.sum > self.sum_limit(output) / 2 || !self.guarded() {
            return false;
        }
        let has_home = self.machine.input(InputRole::Home(of)).is_some();
        self.machine.inputs.iter().zip(&self.pins).all(|(input, pin)| {
            if input.role == InputRole::Down(of) {
                !pin.raw && (if has_home { !pin.stable } else { pin.rests >= DOWN_ABSENT })
            } else if input.role == InputRole::Home(of) {
                pin.raw && pin.stable
            } else {
                true
            }
        })
    }
}
