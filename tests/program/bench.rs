//! A bench with a person at it, and everything that can go wrong; and what must never happen all the same.

use withy::program::{Controller, Event, EventKind, InputRole, LONGEST_TICK, Machine, OutputRole, State};

use crate::random::Dice;

/// What a script does to the controller before a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    None,
    FlipImage { place: u16, flip: u8 },
    FlipLimit { place: u16, flip: u16 },
    PowerCut,
}

/// One tick of a script.
#[derive(Clone, Copy, Debug)]
pub struct Tick {
    pub action: Action,
    pub now: u32,
    pub contacts: u16,
}

/// What a controller made of a tick.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    pub outputs: u8,
    pub state: u8,
    /// The heat sums of all outputs, added up.
    pub heat: u32,
    pub events: Vec<Event>,
}

/// How a run goes wrong, if it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    None,
    Stop,
    PowerCut,
    MissedTicks,
    Chatter,
    Stuck,
    FlipImage,
    FlipLimit,
    SwitchFails,
    GuardOpens,
    NeverBends,
}

pub const TROUBLES: [Trouble; 11] = [
    Trouble::None,
    Trouble::Stop,
    Trouble::PowerCut,
    Trouble::MissedTicks,
    Trouble::Chatter,
    Trouble::Stuck,
    Trouble::FlipImage,
    Trouble::FlipLimit,
    Trouble::SwitchFails,
    Trouble::GuardOpens,
    Trouble::NeverBends,
];

/// A run: its script, what came of it, and the first thing that must never happen, if it did.
pub struct Run {
    pub script: Vec<Tick>,
    pub answers: Vec<Answer>,
    pub violation: Option<String>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Arm {
    Home,
    Down,
    Between,
}

struct Bench<'a> {
    machine: &'a Machine,
    dice: Dice,
    arms: [Arm; 8],
    moves: [(u32, Arm); 8],
    pressed: [bool; 16],
    failed: Option<u8>,
    stuck: Option<(usize, bool)>,
    guard: bool,
    stop: bool,
    outputs: u8,
    pressed_by_chatter: bool,
}

/// Lets a person work with a program; the same seed gives the same run.
pub fn run(machine: &Machine, image: &[u8], seed: u64, ticks: usize, trouble: Trouble) -> Run {
    let mut controller = Controller::new(machine.clone());
    controller.load(image).unwrap();
    let mut bench = Bench {
        machine,
        dice: Dice(seed),
        arms: [Arm::Home; 8],
        moves: [(u32::MAX, Arm::Home); 8],
        pressed: [false; 16],
        failed: None,
        stuck: None,
        guard: true,
        stop: false,
        outputs: 0,
        pressed_by_chatter: false,
    };
    let strikes = usize::try_from(bench.dice.below(u32::try_from(ticks).unwrap())).unwrap();
    // Some runs cross the moment when the clock wraps.
    let mut now = if bench.dice.once_in(2) { bench.dice.below(1000) } else { u32::MAX - bench.dice.below(20_000) };
    let fine = bench.dice.once_in(4);
    let mut watch = Watch::new(machine);
    let mut run = Run { script: Vec::new(), answers: Vec::new(), violation: None };
    let (mut clock, mut passed) = (0_u32, 0);
    for index in 0..ticks {
        let mut action = Action::None;
        if index == strikes {
            action = bench.strike(trouble, image.len());
            if trouble == Trouble::MissedTicks {
                // The first gap that is too long is thrown as often as all others.
                let most = if bench.dice.once_in(2) { LONGEST_TICK + 1 } else { 5000 };
                passed = bench.dice.between(LONGEST_TICK + 1, most);
            }
        }
        if trouble == Trouble::Stop && index == strikes + 20 {
            bench.stop = false;
        }
        now = now.wrapping_add(passed);
        clock += passed;
        let contacts = bench.contacts(clock, trouble, index >= strikes);
        match action {
            Action::None => {}
            Action::FlipImage { place, flip } => controller.damage_image(usize::from(place), flip),
            Action::FlipLimit { place, flip } => controller.damage_limit(usize::from(place), flip),
            Action::PowerCut => {
                controller = Controller::new(machine.clone());
                controller.load(image).unwrap();
            }
        }
        let outputs = controller.tick(now, contacts);
        let events = controller.take_events();
        let violation = watch.look(&bench, &controller, action, passed, outputs, &events);
        if run.violation.is_none() {
            run.violation = violation.map(|what| format!("tick {index}, {trouble:?}: {what}"));
        }
        bench.follow(clock, outputs, &events, trouble);
        let heat = (0..8).fold(0_u32, |sum, output| sum.wrapping_add(controller.heat_sum(output)));
        run.script.push(Tick { action, now, contacts });
        run.answers.push(Answer { outputs, state: state(controller.state()), heat, events });
        let hurried = trouble == Trouble::Chatter && index >= strikes && index < strikes + 60;
        passed = if hurried {
            1
        } else if fine {
            bench.dice.between(1, 12)
        } else {
            bench.dice.between(1, LONGEST_TICK)
        };
    }
    run
}

fn state(state: State) -> u8 {
    match state {
        State::SelfTest => 0,
        State::Idle => 1,
        State::Running => 2,
        State::Fault => 3,
        State::Check => 4,
    }
}

impl Bench<'_> {
    fn strike(&mut self, trouble: Trouble, length: usize) -> Action {
        match trouble {
            Trouble::Stop => self.stop = true,
            Trouble::PowerCut => return Action::PowerCut,
            Trouble::Stuck => {
                let input =
                    usize::try_from(self.dice.below(u32::try_from(self.machine.inputs.len()).unwrap())).unwrap();
                self.stuck = Some((input, self.dice.once_in(2)));
            }
            Trouble::FlipImage => {
                let place = u16::try_from(self.dice.below(u32::try_from(length).unwrap())).unwrap();
                return Action::FlipImage { place, flip: 1 << self.dice.below(8) };
            }
            Trouble::FlipLimit => {
                let outputs = u16::try_from(self.machine.outputs.len()).unwrap();
                return Action::FlipLimit { place: self.dice.short(0, outputs - 1), flip: 1 << self.dice.below(16) };
            }
            Trouble::SwitchFails => {
                let heaters: Vec<u8> = (0..8).filter(|output| self.machine.heater(*output).is_some()).collect();
                self.failed = Some(self.dice.pick(&heaters));
            }
            Trouble::GuardOpens => self.guard = false,
            _ => {}
        }
        Action::None
    }

    fn is_isolated_off(&self, supply: u8, outputs: u8) -> bool {
        self.machine.outputs.iter().enumerate().any(|(index, output)| {
            output.role == OutputRole::Isolator && output.supply == supply && outputs & (1 << index) == 0
        })
    }

    /// Whether current flows in a heater.
    fn conducts(&self, heater: u8, outputs: u8) -> bool {
        let Some(output) = self.machine.heater(heater) else { return false };
        let switched = outputs & (1 << heater) != 0 || self.failed == Some(heater);
        switched && !self.is_isolated_off(output.supply, outputs)
    }

    fn contacts(&mut self, clock: u32, trouble: Trouble, struck: bool) -> u16 {
        for arm in 0..8 {
            if self.moves[arm].0 <= clock {
                self.arms[arm] = self.moves[arm].1;
                let back = (clock + self.dice.between(1000, 3000), Arm::Home);
                self.moves[arm] = if self.arms[arm] == Arm::Down { back } else { (u32::MAX, Arm::Home) };
            }
        }
        let mut contacts = 0;
        for (index, input) in self.machine.inputs.iter().enumerate() {
            // Buttons are held for a few ticks, pressed sooner where the lamp asks for it.
            let asked = self
                .machine
                .outputs
                .iter()
                .enumerate()
                .any(|(output, other)| other.role == OutputRole::Lamp && self.outputs & (1 << output) != 0);
            match input.role {
                InputRole::Start => {
                    let often = if self.pressed[index] {
                        3
                    } else if asked {
                        8
                    } else {
                        25
                    };
                    if self.dice.once_in(often) {
                        self.pressed[index] = !self.pressed[index];
                    }
                }
                InputRole::Row if self.dice.once_in(if self.pressed[index] { 4 } else { 60 }) => {
                    self.pressed[index] = !self.pressed[index];
                }
                _ => {}
            }
            let mut active = match input.role {
                InputRole::Start | InputRole::Row => self.pressed[index],
                InputRole::Stop => self.stop,
                InputRole::Down(of) => self.arms[usize::from(of)] == Arm::Down,
                InputRole::Home(of) => self.arms[usize::from(of)] == Arm::Home,
                InputRole::HeaterCurrent(of) => self.conducts(of, self.outputs),
                InputRole::SupplyCurrent(of) => (0..8).any(|heater| {
                    self.machine.heater(heater).is_some_and(|output| output.supply == of)
                        && self.conducts(heater, self.outputs)
                }),
                InputRole::Guard => self.guard,
            };
            if let Some((stuck, at)) = self.stuck
                && stuck == index
            {
                active = at;
            }
            if trouble == Trouble::Chatter && struck && index % 3 == 0 && self.dice.once_in(2) {
                active = !active;
                self.pressed_by_chatter |= input.role == InputRole::Start;
            }
            contacts |= u16::from(active != input.normally_closed) << index;
        }
        contacts
    }

    /// What the person does about what the controller does.
    fn follow(&mut self, clock: u32, outputs: u8, events: &[Event], trouble: Trouble) {
        self.outputs = outputs;
        for event in events {
            if event.kind == EventKind::Off && !(trouble == Trouble::NeverBends && self.dice.once_in(2)) {
                let arm = usize::from(event.detail);
                self.arms[arm] = Arm::Between;
                self.moves[arm] = (clock + self.dice.between(20, 2000), Arm::Down);
            }
            if event.kind == EventKind::Fault && self.dice.once_in(3) {
                self.guard = true;
            }
        }
        if self.dice.once_in(500) {
            self.arms = [Arm::Home; 8];
        }
    }
}

/// What must never happen, kept apart from the controller's own book-keeping.
struct Watch {
    on: [u32; 8],
    rest: [u32; 8],
    off: [bool; 8],
    failed: [u32; 8],
    limits: [u32; 8],
    pressed: bool,
    was_raw: bool,
}

/// Time within which a watchdog of hardware acts when ticks are missed, ms.
const WATCHDOG: u32 = 250;

impl Watch {
    fn new(machine: &Machine) -> Self {
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
        }
    }

    fn look(
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
        for heater in 0..8_u8 {
            let Some(output) = machine.heater(heater) else { continue };
            let index = usize::from(heater);
            let bit = outputs & (1 << heater) != 0;
            // In the self-test a heater is tried while its isolator is open: that heats nothing.
            let before = bench.outputs & (1 << heater) != 0 && !bench.is_isolated_off(output.supply, bench.outputs);
            if before {
                // What the last tick has set has stayed until now.
                // The dark part of part power counts; what was switched off in between, in a damaged program, does not.
                let rested = std::mem::take(&mut self.rest[index]);
                let dark = if std::mem::take(&mut self.off[index]) { 0 } else { rested };
                self.on[index] = if rested >= 5000 { 0 } else { self.on[index] + dark } + counted;
            } else {
                self.rest[index] = self.rest[index].saturating_add(passed);
            }
            let goes_off = |event: &Event| event.kind == EventKind::Off && event.detail == u16::from(heater);
            self.off[index] |= !bit && (faults || events.iter().any(goes_off));
            let tries = controller.state() == State::SelfTest;
            if self.on[index] > self.limits[index] + WATCHDOG + LONGEST_TICK {
                return Some(format!("heater {heater} on for {} ms", self.on[index]));
            }
            if bit && controller.state() == State::Fault {
                return Some(format!("heater {heater} on after a fault"));
            }
            if bit && bench.stop {
                return Some(format!("heater {heater} on although stop is pressed"));
            }
            let conducts = bench.conducts(heater, outputs);
            if conducts && bit && !self.pressed && !tries {
                return Some(format!("heater {heater} heats without a press"));
            }
            if tries && bit && conducts && bench.failed.is_none() {
                return Some(format!("heater {heater} conducts in the self-test"));
            }
            let measured = machine.input(InputRole::HeaterCurrent(heater)).is_some();
            let isolated =
                machine.outputs.iter().any(|other| other.role == OutputRole::Isolator && other.supply == output.supply);
            // A stuck or chattering current input is no current input.
            let sound = bench.stuck.is_none();
            if bench.failed == Some(heater) && conducts && !controller.heats(index) && measured && isolated && sound {
                self.failed[index] += counted;
            } else {
                self.failed[index] = 0;
            }
            if self.failed[index] > 2000 {
                return Some(format!("heater {heater} with a failed switch still conducts"));
            }
        }
        let heating = machine.outputs.iter().enumerate().any(|(index, output)| {
            matches!(output.role, OutputRole::Heater | OutputRole::Isolator) && outputs & (1 << index) != 0
        });
        if faults && heating {
            return Some("outputs are not safe in the tick of a fault".to_owned());
        }
        None
    }
}
