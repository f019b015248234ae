//! What goes wrong, and what is to be said of it.

use crate::program::{Controller, State};
use crate::rehearse::fault::FaultKind;
use crate::rehearse::outcome::{Act, Finding, Weight};
use crate::rehearse::run::{AFTER, Closed, Run};

/// Power is gone for so long, ms.
const CUT: u64 = 30_000;
/// The controller is held up for so long, ms.
const HELD: u64 = 250;
/// The contact chatters for so long, ms.
const CHATTERS: u64 = 1_000;
/// The rehearsal goes on for so long after a failure that nothing notices, ms.
const UNSEEN: u64 = 600_000;
/// Current must be gone so long after a heater should be off, ms (program.md: 2 s).
const CURRENT_GONE: u64 = 2_000;

impl Run<'_> {
    /// Lets happen what is due.
    pub fn upset_all(&mut self) {
        if self.dark_until.is_some_and(|until| self.now >= until) {
            self.dark_until = None;
            self.plant.power = true;
            // What a controller keeps over a power cut is its program.
            self.controller = Controller::new(self.scene.machine.clone());
            let loaded = self.controller.load(&self.scene.image).is_ok();
            let what = if loaded { "power comes back; nothing is switched on" } else { "power comes back" };
            self.note(Act::Fault, None, 0, what.to_owned());
            self.ends_at = Some(self.now + AFTER);
        }
        let Some(start) = self.start else { return };
        let due: Vec<usize> = (0..self.upsets.len())
            .filter(|index| {
                let upset = &self.upsets[*index];
                !upset.done && upset.at.is_some_and(|at| self.now >= start + at)
            })
            .collect();
        for index in due {
            self.upsets[index].done = true;
            self.upset(index);
        }
    }

    fn upset(&mut self, index: usize) {
        let (kind, name) = (self.upsets[index].kind, self.upsets[index].name.clone());
        let heated = self.heating.last().map(|heating| self.scene.bends[heating.bend].output);
        let first = self.scene.heaters.first().map_or(0, |heater| heater.output);
        let output = self.upsets[index].output.or(heated).unwrap_or(first);
        let place = usize::from(output);
        let arm = self.scene.heaters.iter().find(|heater| heater.output == output);
        let (arm, heater) = arm.map_or(("", ""), |own| (own.arm.as_str(), own.heater.as_str()));
        let what = match kind {
            FaultKind::Stop => "the stop button is pressed".to_owned(),
            FaultKind::GuardOpen => "the guard is opened".to_owned(),
            FaultKind::LateHands => "the person is called away".to_owned(),
            FaultKind::PowerCut => format!("power fails for {} s", CUT / 1000),
            FaultKind::HeldUp => format!("the controller does nothing for {HELD} ms"),
            FaultKind::Chatter => "the start button chatters".to_owned(),
            FaultKind::SwitchClosed => format!("the switch of {heater} fails closed"),
            FaultKind::HeaterDead => format!("{heater} or its switch fails open"),
            FaultKind::SensorOpen => format!("the current sensor of {heater} tells nothing any more"),
            FaultKind::SensorStuck => format!("the current sensor of {heater} tells of current all the time"),
            FaultKind::DownStuck => format!("the `down` switch of arm {arm} stays closed"),
            FaultKind::DownDead => format!("the `down` switch of arm {arm} never closes again"),
            FaultKind::WrongRow => name,
            FaultKind::MemoryFlip => "a bit of the program in memory flips".to_owned(),
        };
        self.note(Act::Fault, None, 0, what);
        match kind {
            FaultKind::Stop => self.plant.stop = true,
            FaultKind::GuardOpen => self.plant.guard_open = true,
            FaultKind::LateHands => self.late_hands = true,
            FaultKind::PowerCut => {
                self.plant.power = false;
                self.dark_until = Some(self.now + CUT);
                self.person.stop();
                self.commanded = Default::default();
                self.finding(Weight::Spoilt, "power failed: what was being heated is spoilt".to_owned());
            }
            FaultKind::HeldUp => self.held_until = self.now + HELD,
            FaultKind::Chatter => self.chatter_until = self.now + CHATTERS,
            FaultKind::SwitchClosed => {
                self.plant.closed[place] = true;
                self.closed = Some(Closed { output, since: None, longest: 0 });
            }
            FaultKind::HeaterDead => self.plant.dead[place] = true,
            FaultKind::SensorOpen | FaultKind::SensorStuck => {
                for sensor in self.plant.sensors(output) {
                    self.plant.sensor[sensor] = Some(kind == FaultKind::SensorStuck);
                }
                if kind == FaultKind::SensorOpen {
                    let text = format!(
                        "a run does not show that the current sensor of {heater} is dead, and with it a switch that fails \
                         closed would not be seen: the controller's check (hold the row button, press start) shows it; do it \
                         every morning"
                    );
                    self.finding(Weight::Danger, text);
                }
            }
            FaultKind::DownStuck => self.plant.down_contact[place] = Some(true),
            FaultKind::DownDead => self.plant.down_contact[place] = Some(false),
            FaultKind::WrongRow => {}
            // A byte of the first lane's code: its place is anywhere behind the tables.
            FaultKind::MemoryFlip => self.controller.damage_image(self.scene.image.len() / 2, 0x10),
        }
    }

    /// Adds a finding.
    pub fn finding(&mut self, weight: Weight, text: String) {
        let finding = Finding { weight, text };
        if !self.out.findings.contains(&finding) {
            self.out.findings.push(finding);
        }
    }

    /// Follows a switch that has failed closed: for how long current flows that the program does not want.
    pub fn watch_closed(&mut self) {
        let Some(closed) = &mut self.closed else { return };
        let wanted = self.commanded[usize::from(closed.output)] > 0 && self.controller.state() == State::Running;
        if wanted || !self.plant.flows(self.outputs, closed.output) {
            closed.since = None;
            return;
        }
        let since = *closed.since.get_or_insert(self.now);
        closed.longest = closed.longest.max(self.now - since);
        if closed.longest > UNSEEN {
            self.ends_at.get_or_insert(self.now);
        }
    }

    /// What is to be said of a switch that failed closed.
    pub fn judge_closed(&mut self) {
        let Some(closed) = self.closed else { return };
        let heater = self.scene.heaters.iter().find(|heater| heater.output == closed.output);
        let heater = heater.map_or("", |own| own.heater.as_str()).to_owned();
        if closed.longest <= CURRENT_GONE {
            let text = format!(
                "the switch of {heater} failed closed; current flowed for {:.2} s that the program did not want",
                closed.longest as f64 / 1e3
            );
            self.finding(Weight::Note, text);
            return;
        }
        let mut wants = Vec::new();
        if self.plant.sensors(closed.output).is_empty() {
            wants.push(format!("`input … current {heater}` that tells of it"));
        }
        if !self.plant.has_isolator(closed.output) {
            wants.push("a second switch in series: `output … isolates …`".to_owned());
        }
        wants.push(if self.plant.stop_breaks(closed.output) {
            "somebody who sees it and presses the stop button, which breaks the supply by hardware".to_owned()
        } else {
            "a stop button that breaks the supply by hardware: `stop_button … breaks …`".to_owned()
        });
        let text = format!(
            "the switch of {heater} failed closed, and current flowed for {:.0} s that the program did not want: the bench \
             needs {}",
            closed.longest as f64 / 1e3,
            wants.join(", ")
        );
        self.finding(Weight::Danger, text);
    }
}
