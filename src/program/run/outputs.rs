//! What is on, for how long, and what must never be.

use crate::program::layout::{Layout, TRAILER};
use crate::program::machine::{InputRole, OutputRole};
use crate::program::run::{
    CHATTER, CHECKED, CURRENT_FALLS, Controller, FaultCode, HELD, LEAK, LONGEST_TICK, NO_LANE, SHOWS_DARK, State,
    WINDOW, clamped,
};

impl Controller {
    /// The most heat of one output: full power for the whole of its limit.
    pub(super) fn sum_limit(&self, output: usize) -> u32 {
        self.limits.get(output).map_or(0, |limit| u32::from(limit.0) * (100 * 255))
    }

    /// Counts what has passed since the last tick.
    pub(super) fn account(&mut self, passed: u32) {
        for heater in &mut self.heaters {
            if heater.live {
                heater.on = heater.on.saturating_add(passed);
                heater.sum = heater.sum.saturating_add(passed * u32::from(heater.level));
            } else {
                heater.rest = heater.rest.saturating_add(passed);
            }
            heater.sum = heater.sum.saturating_sub(passed * LEAK);
        }
        for supply in 0..self.machine.supplies.len() {
            if self.supply_heats(supply) {
                self.holds[supply] =
                    if u8::try_from(supply).is_ok_and(|supply| self.machine.measures(supply)) { HELD } else { 0 };
            } else {
                self.holds[supply] = self.holds[supply].saturating_sub(clamped(passed));
            }
        }
        for lane in &mut self.lanes {
            lane.reserved_from = lane.reserved_from.saturating_sub(passed);
            lane.reserved_to = lane.reserved_to.saturating_sub(passed);
        }
        self.sounds = self.sounds.saturating_sub(clamped(passed));
        let rows = self.layout.as_ref().map_or(0, Layout::rows);
        let round = if rows > 0 { 1000 + 500 * (u32::from(self.row) + 1) } else { 1000 };
        self.blink = clamped(u32::from(self.blink).wrapping_add(passed) % round);
    }

    /// Looks at everything that demands that all is off, whatever the program says.
    pub(super) fn look_for_danger(&mut self, passed: u32) {
        let works = matches!(self.state, State::Running | State::Check);
        let moves = works || self.state == State::SelfTest;
        if self.limits_are_damaged() {
            self.fail(NO_LANE, FaultCode::LimitsChanged.number());
        }
        if moves && passed > LONGEST_TICK {
            self.fail(NO_LANE, FaultCode::MissedTicks.number());
        }
        if moves && self.raw(InputRole::Stop) {
            self.fail(NO_LANE, FaultCode::Stop.number());
        }
        if works && self.any_heats() && !self.guarded() {
            self.fail(NO_LANE, FaultCode::GuardOpen.number());
        }
        let inputs = self.machine.inputs.len();
        if works && self.pins.iter().take(inputs).any(|pin| pin.changes > CHATTER) {
            self.fail(NO_LANE, FaultCode::Chatter.number());
        }
        if works && self.arm_is_wrong() {
            self.fail(NO_LANE, FaultCode::ArmSwitch.number());
        }
        self.watch_currents(passed);
        if self.state == State::Running {
            self.check_image();
        }
    }

    fn limits_are_damaged(&self) -> bool {
        self.limits.iter().take(self.machine.outputs.len()).any(|limit| limit.0 != !limit.1)
    }

    fn arm_is_wrong(&self) -> bool {
        self.machine.inputs.iter().zip(&self.pins).any(|(input, pin)| {
            let InputRole::Down(of) = input.role else { return false };
            pin.stable && (self.heats(usize::from(of)) || self.any_stable(InputRole::Home(of)))
        })
    }

    /// Current that flows for too long where a heater is off, or where part power should leave it dark.
    fn watch_currents(&mut self, passed: u32) {
        let mut fails = false;
        for index in 0..self.machine.inputs.len() {
            let expected = match self.machine.inputs[index].role {
                InputRole::HeaterCurrent(of) => self.heaters[usize::from(of)].level > SHOWS_DARK,
                InputRole::SupplyCurrent(supply) => {
                    let mut pairs = self.machine.outputs.iter().zip(&self.heaters);
                    pairs.any(|(output, heater)| {
                        output.role == OutputRole::Heater && output.supply == supply && heater.level > 0
                    })
                }
                _ => continue,
            };
            let pin = &mut self.pins[index];
            pin.flows = if expected || !pin.stable { 0 } else { pin.flows.saturating_add(clamped(passed)) };
            fails |= pin.flows > CURRENT_FALLS;
        }
        if fails {
            self.fail(NO_LANE, FaultCode::SwitchFailed.number());
        }
    }

    /// Checks the next few bytes of the image in memory.
    fn check_image(&mut self) {
        let body = self.image.len().saturating_sub(TRAILER);
        let to = (self.checked + CHECKED).min(body);
        self.check.update(self.image.get(self.checked..to).unwrap_or_default());
        self.checked = to;
        if to == body {
            let sum = self.check.clone().finalize().to_le_bytes();
            if self.image.get(body..) != Some(&sum[..]) {
                self.fail(NO_LANE, FaultCode::ImageChanged.number());
            }
            self.restart_check();
        }
    }

    /// Beside the lanes: no heater beyond its limit, and none that a changed program has switched on behind an open guard.
    pub(super) fn guard(&mut self) {
        if self.any_heats() && !self.guarded() {
            self.fail(NO_LANE, FaultCode::GuardOpen.number());
        }
        for output in 0..self.machine.outputs.len() {
            let limit = self.limits.get(output).map_or(0, |limit| u32::from(limit.0) * 100);
            let heater = &self.heaters[output];
            if heater.live && heater.on > limit {
                self.fail(NO_LANE, FaultCode::HeatLimit.number());
            } else if heater.live && heater.sum > self.sum_limit(output) {
                self.fail(NO_LANE, FaultCode::HeatSum.number());
            }
        }
    }

    pub(super) fn any_heats(&self) -> bool {
        self.heaters.iter().any(|heater| heater.live)
    }

    fn supply_heats(&self, supply: usize) -> bool {
        let mut pairs = self.machine.outputs.iter().zip(&self.heaters);
        pairs.any(|(output, heater)| usize::from(output.supply) == supply && heater.live)
    }

    fn is_isolated(&self, supply: u8) -> bool {
        self.machine.outputs.iter().any(|output| output.role == OutputRole::Isolator && output.supply == supply)
    }

    /// What each output shall be.
    pub(super) fn outputs(&self) -> u8 {
        let works = matches!(self.state, State::Running | State::Check);
        let count = self.machine.outputs.len();
        let mut all = 0;
        for (index, output) in self.machine.outputs.iter().enumerate() {
            let trying = self.state == State::SelfTest;
            let on = match output.role {
                OutputRole::Heater => {
                    let tried = trying && usize::from(self.test) == index && self.is_isolated(output.supply);
                    tried || (works && self.heaters[index].live && self.is_lit(index, count))
                }
                OutputRole::Isolator => {
                    let supply = usize::from(output.supply);
                    let held = self.state == State::Idle || works;
                    let tried = trying && usize::from(self.test) == count;
                    tried || (held && (self.supply_heats(supply) || self.holds[supply] > 0))
                }
                OutputRole::Lamp => self.lamp(),
                OutputRole::Buzzer => (self.state == State::Fault && self.phase < WINDOW / 2) || self.sounds > 0,
            };
            all |= u8::from(on) << index;
        }
        all
    }

    /// Part power: lit for the first part of each window; windows of different outputs begin at different moments.
    fn is_lit(&self, index: usize, count: usize) -> bool {
        let offset = u32::from(WINDOW) * u32::try_from(index).unwrap_or(0) / u32::try_from(count).unwrap_or(1);
        let place = (u32::from(self.phase) + offset) % u32::from(WINDOW);
        place * 255 < u32::from(self.heaters[index].level) * u32::from(WINDOW)
    }

    fn lamp(&self) -> bool {
        match self.state {
            State::Running => self.ready,
            State::Idle => {
                let rows = self.layout.as_ref().map_or(0, Layout::rows);
                let blinks = 500 * (u16::from(self.row) + 1);
                self.layout.is_some() && (rows == 0 || (self.blink < blinks && self.blink % 500 < 250))
            }
            State::Fault => (self.phase / 125).is_multiple_of(2),
            State::Check => true,
            State::SelfTest => false,
        }
    }
}
