//! What must never happen, whatever goes wrong: kept apart from the controller's own book-keeping.

use withy::program::{Controller, Event, EventKind, InputRole, LONGEST_TICK, Machine, OutputRole, State};

use crate::bench::{Action, Bench};

/// What is remembered of a run.
pub struct Watch {
    on: [u32; 8],
    rest: [u32; 8],
    off: [bool; 8],
    failed: [u32; 8],
    limits: [u32; 8],
    pressed: bool,
    was_raw: bool,
    /// How many ticks a program has run since a byte of it was changed.
    changed: Option<usize>,
    /// How many ticks are needed to read the image twice, two bytes in each.
    twice: usize,
    /// What the controller was doing after the last tick.
    state: State,
}

/// Time within which a watchdog of hardware acts when ticks are missed, ms.
const WATCHDOG: u32 = 250;

impl Watch {
    pub fn new(machine: &Machine, length: usize) -> Self {
        let mut limits = [0; 8];
        for (limit, output) in limits.iter_mut().zip(&machine.outputs) {
            *limit = u32::from(output.longest) * 100;
        }
        Self {
            on: [0; 8],
            rest: [u32::MAX; 8],
            off: [false; 8],
            failed: [0; 8],
            limits,
            pressed: false,
            was_raw: false,
            changed: None,
            twice: 2 * (length / 2 + 1),
            state: State::SelfTest,
        }
    }

    /// What a damaged controller must not do.
    fn look_at_damage(&mut self, controller: &Controller, action: Action, faults: bool) -> Option<String> {
        match action {
            Action::FlipLimit { .. } if self.state != State::Fault && !faults => {
                return Some("a damaged limit goes unseen".to_owned());
            }
            Action::FlipImage { .. } => self.changed = Some(0),
            Action::PowerCut => self.changed = None,
            _ => {}
        }
        if let Some(ticks) = &mut self.changed {
            *ticks = if controller.state() == State::Running { *ticks + 1 } else { 0 };
            if *ticks > self.twice {
                return Some("a changed program runs on".to_owned());
            }
        }
        None
    }

    /// What has gone wrong in a tick that must not, if anything has.
    pub fn look(
        &mut self,
        bench: &Bench<'_>,
        controller: &Controller,
        action: Action,
        passed: u32,
        outputs: u8,
        events: &[Event],
    ) -> Option<String> {
        let machine = bench.machine;
        // When ticks are missed, a watchdog of hardware has switched everything off.
        let counted = passed.min(WATCHDOG);
        let start = machine.inputs.iter().position(|input| input.role == InputRole::Start)?;
        let raw = bench.pressed[start];
        let newly = raw && !self.was_raw;
        self.was_raw = raw;
        let faults = events.iter().any(|event| event.kind == EventKind::Fault);
        if faults || action == Action::PowerCut {
            self.pressed = false;
        }
        // A stuck or chattering start contact presses, as far as a controller can know.
        let stuck = bench.stuck.is_some_and(|stuck| stuck.0 == start);
        self.pressed |= newly || stuck || bench.pressed_by_chatter;
        let damage = self.look_at_damage(controller, action, faults);
        let mut all = damage;
        for heater in 0..8_u8 {
            let Some(output) = machine.heater(heater) else { continue };
            let bit = outputs & (1 << heater) != 0;
            // In the self-test a heater is tried while its isolator is open: that heats nothing.
            let before = bench.outputs & (1 << heater) != 0 && !bench.is_isolated_off(output.supply, bench.outputs);
            let goes_off = |event: &Event| event.kind == EventKind::Off && event.detail == u16::from(heater);
            let ends = !bit && (faults || events.iter().any(goes_off));
            self.count(usize::from(heater), before, ends, passed);
            // Beyond its limit by no more than the tick in which that was seen.
            let on = self.on[usize::from(heater)];
            if before && on > self.limits[usize::from(heater)] + counted {
                all = all.or(Some(format!("heater {heater} is on for {on} ms")));
            }
            if before && passed > LONGEST_TICK && self.state == State::Running && !faults {
                all = all.or(Some("ticks were missed, and nothing was said".to_owned()));
            }
            let wrong = self.look_at_heater(bench, controller, heater, bit, faults);
            all = all.or(wrong.map(|what| format!("heater {heater} {what}")));
            let conducts = bench.conducts(heater, outputs);
            let unseen = self.look_at_failed(bench, controller, heater, conducts, counted, faults);
            all = all.or(unseen.map(|what| format!("heater {heater}, whose switch has failed, {what}")));
        }
        let heating = machine.outputs.iter().enumerate().any(|(index, output)| {
            matches!(output.role, OutputRole::Heater | OutputRole::Isolator) && outputs & (1 << index) != 0
        });
        if (faults || controller.state() == State::Fault) && heating {
            all = all.or(Some("outputs are not safe in the tick of a fault".to_owned()));
        }
        self.state = controller.state();
        all
    }

    /// Counts how long a heater has been on.
    fn count(&mut self, index: usize, before: bool, ends: bool, passed: u32) {
        if before {
            // What the last tick has set has stayed until now. The dark part of part power counts; what was switched
            // off in between, in a damaged program, does not.
            let rested = std::mem::take(&mut self.rest[index]);
            let dark = if std::mem::take(&mut self.off[index]) { 0 } else { rested };
            self.on[index] = if rested >= 5000 { 0 } else { self.on[index] + dark } + passed.min(WATCHDOG);
        } else {
            self.rest[index] = self.rest[index].saturating_add(passed);
        }
        self.off[index] |= ends;
    }

    fn look_at_heater(
        &self,
        bench: &Bench<'_>,
        controller: &Controller,
        heater: u8,
        bit: bool,
        faults: bool,
    ) -> Option<String> {
        let tries = controller.state() == State::SelfTest;
        let supply = bench.machine.heater(heater)?.supply;
        if !bit || tries && (bench.is_isolated(supply) || bench.failed.is_some()) {
            return None;
        }
        let stuck = |role| bench.stuck.is_some_and(|stuck| bench.machine.inputs[stuck.0].role == role);
        let guard = bench.machine.input(InputRole::Guard).is_some();
        let what = if controller.state() == State::Fault || faults {
            "is on in a fault"
        } else if bench.stop && !stuck(InputRole::Stop) {
            "is on although stop is pressed"
        } else if guard && !bench.guard && !stuck(InputRole::Guard) && !bench.chatters {
            "is on although the guard is open"
        } else if tries {
            "is on in the self-test, and has no isolator"
        } else if !self.pressed {
            "is on without a press"
        } else {
            return None;
        };
        Some(what.to_owned())
    }

    /// A switch that has failed closed, with a current input and an isolator.
    fn look_at_failed(
        &mut self,
        bench: &Bench<'_>,
        controller: &Controller,
        heater: u8,
        conducts: bool,
        counted: u32,
        faults: bool,
    ) -> Option<String> {
        let index = usize::from(heater);
        let supply = bench.machine.heater(heater)?.supply;
        let measured = bench.machine.input(InputRole::HeaterCurrent(heater)).is_some();
        // A stuck or chattering current input is no current input.
        let sound = bench.stuck.is_none() && !bench.chatters;
        let watched = bench.failed == Some(heater) && measured && bench.is_isolated(supply) && sound;
        if !watched || controller.heats(index) {
            self.failed[index] = 0;
            return None;
        }
        if conducts {
            self.failed[index] += counted;
            return (self.failed[index] > 2000).then(|| format!("conducts for {} ms", self.failed[index]));
        }
        // Its isolator has opened: somebody must be told why, if current has been flowing for so long.
        let flowed = std::mem::take(&mut self.failed[index]);
        let told = faults || controller.state() == State::Fault;
        (flowed > 1700 && !told).then(|| format!("conducted for {flowed} ms, and nothing was said"))
    }
}
