//! A bench with a person at it, and everything that can go wrong.

use withy::program::{Controller, Event, EventKind, InputRole, LONGEST_TICK, Machine, OutputRole, State};

use crate::random::Dice;
use crate::watch::Watch;

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
    WireBreaks,
    GuardOpens,
    NeverBends,
}

pub const TROUBLES: [Trouble; 12] = [
    Trouble::None,
    Trouble::Stop,
    Trouble::PowerCut,
    Trouble::MissedTicks,
    Trouble::Chatter,
    Trouble::Stuck,
    Trouble::FlipImage,
    Trouble::FlipLimit,
    Trouble::SwitchFails,
    Trouble::WireBreaks,
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

/// What stands around a controller.
#[expect(clippy::struct_excessive_bools, reason = "each is one thing that can be wrong; no two exclude each other")]
pub struct Bench<'a> {
    pub machine: &'a Machine,
    dice: Dice,
    arms: [Arm; 8],
    moves: [(u32, Arm); 8],
    pub pressed: [bool; 16],
    pub failed: Option<u8>,
    broken: Option<u8>,
    pub stuck: Option<(usize, bool)>,
    pub guard: bool,
    pub stop: bool,
    pub outputs: u8,
    pub chatters: bool,
    pub pressed_by_chatter: bool,
    /// Whether the person often fails to make the bend.
    forgets: bool,
}

/// When a run's troubles strike.
struct Strikes([(Trouble, usize); 2]);

impl Strikes {
    /// The troubles that strike at a tick.
    fn at(&self, tick: usize) -> impl Iterator<Item = Trouble> {
        self.0.into_iter().filter(move |strike| strike.1 == tick).map(|strike| strike.0)
    }

    /// For how many ticks a trouble has been there, if it has struck.
    fn since(&self, trouble: Trouble, tick: usize) -> Option<usize> {
        self.0.into_iter().filter(|strike| strike.0 == trouble).find_map(|strike| tick.checked_sub(strike.1))
    }
}

/// Lets a person work with a program; the same seed gives the same run.
pub fn run(machine: &Machine, image: &[u8], seed: u64, ticks: usize, troubles: [Trouble; 2]) -> Run {
    let mut controller = Controller::new(machine.clone());
    controller.load(image).unwrap();
    let mut stored = image.to_vec();
    let mut bench = Bench {
        machine,
        dice: Dice(seed),
        arms: [Arm::Home; 8],
        moves: [(u32::MAX, Arm::Home); 8],
        pressed: [false; 16],
        failed: None,
        broken: None,
        stuck: None,
        guard: true,
        stop: false,
        outputs: 0,
        chatters: false,
        pressed_by_chatter: false,
        forgets: troubles.contains(&Trouble::NeverBends),
    };
    let last = u32::try_from(ticks).unwrap();
    let strikes = Strikes(troubles.map(|trouble| (trouble, usize::try_from(bench.dice.below(last)).unwrap())));
    // Some runs cross the moment when the clock wraps.
    let mut now = if bench.dice.once_in(2) { bench.dice.below(1000) } else { u32::MAX - bench.dice.below(20_000) };
    let fine = bench.dice.once_in(4);
    let mut watch = Watch::new(machine, image.len());
    let mut run = Run { script: Vec::new(), answers: Vec::new(), violation: None };
    let (mut clock, mut passed) = (0_u32, 0);
    for index in 0..ticks {
        let mut action = Action::None;
        for trouble in strikes.at(index) {
            // Of two actions in one tick the later one counts.
            if let Some(new) = bench.strike(trouble, image.len()) {
                action = new;
            }
            if trouble == Trouble::MissedTicks {
                // The first gap that is too long is thrown as often as all others; some are longer than counters hold.
                let most = if bench.dice.once_in(2) { LONGEST_TICK + 1 } else { bench.dice.pick(&[5000, 0x0200_0000]) };
                passed = bench.dice.between(LONGEST_TICK + 1, most);
            }
        }
        if strikes.since(Trouble::Stop, index) == Some(20) {
            bench.stop = false;
        }
        bench.chatters = strikes.since(Trouble::Chatter, index).is_some();
        now = now.wrapping_add(passed);
        clock += passed;
        let contacts = bench.contacts(clock);
        match action {
            Action::None => {}
            Action::FlipImage { place, flip } => {
                stored[usize::from(place)] ^= flip;
                controller.damage_image(usize::from(place), flip);
            }
            Action::FlipLimit { place, flip } => {
                controller.damage_limit(usize::from(place % 8), place >= 8, flip);
            }
            Action::PowerCut => {
                controller = Controller::new(machine.clone());
                // What was damaged where it is stored is refused, and nothing is there to run.
                assert_eq!(controller.load(&stored).is_ok(), stored == image, "a damaged image is loaded");
            }
        }
        let outputs = controller.tick(now, contacts);
        let events = controller.take_events();
        let violation = watch.look(&bench, &controller, action, passed, outputs, &events);
        if run.violation.is_none() {
            run.violation = violation.map(|what| format!("tick {index}, {troubles:?}: {what}"));
        }
        bench.follow(clock, outputs, &events);
        let heat = (0..8).fold(0_u32, |sum, output| sum.wrapping_add(controller.heat_sum(output)));
        run.script.push(Tick { action, now, contacts });
        run.answers.push(Answer { outputs, state: state(controller.state()), heat, events });
        passed = if strikes.since(Trouble::Chatter, index).is_some_and(|since| since < 60) {
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
    fn any_heater(&mut self) -> u8 {
        let heaters: Vec<u8> = (0..8).filter(|output| self.machine.heater(*output).is_some()).collect();
        self.dice.pick(&heaters)
    }

    /// What goes wrong from now on; what happens to the controller itself, if anything.
    fn strike(&mut self, trouble: Trouble, length: usize) -> Option<Action> {
        match trouble {
            Trouble::Stop => self.stop = true,
            Trouble::PowerCut => return Some(Action::PowerCut),
            Trouble::Stuck => {
                let input =
                    usize::try_from(self.dice.below(u32::try_from(self.machine.inputs.len()).unwrap())).unwrap();
                self.stuck = Some((input, self.dice.once_in(2)));
            }
            Trouble::FlipImage => {
                // One bit, or a whole byte; the code of the lanes lies in the last part.
                let from = if self.dice.once_in(3) { 0 } else { length * 2 / 3 };
                let place =
                    u16::try_from(from).unwrap() + self.dice.short(0, u16::try_from(length - from - 1).unwrap());
                let flip = if self.dice.once_in(2) { 1 << self.dice.below(8) } else { self.dice.byte(1, 255) };
                return Some(Action::FlipImage { place, flip });
            }
            Trouble::FlipLimit => {
                let outputs = u16::try_from(self.machine.outputs.len()).unwrap();
                // The limit or its complement.
                let place = self.dice.short(0, outputs - 1) + if self.dice.once_in(2) { 8 } else { 0 };
                return Some(Action::FlipLimit { place, flip: 1 << self.dice.below(16) });
            }
            Trouble::SwitchFails => self.failed = Some(self.any_heater()),
            Trouble::WireBreaks => self.broken = Some(self.any_heater()),
            Trouble::GuardOpens => self.guard = false,
            _ => {}
        }
        None
    }

    /// Whether a supply has an isolator.
    pub fn is_isolated(&self, supply: u8) -> bool {
        self.machine.outputs.iter().any(|output| output.role == OutputRole::Isolator && output.supply == supply)
    }

    /// Whether a supply has an isolator that is open.
    pub fn is_isolated_off(&self, supply: u8, outputs: u8) -> bool {
        self.machine.outputs.iter().enumerate().any(|(index, output)| {
            output.role == OutputRole::Isolator && output.supply == supply && outputs & (1 << index) == 0
        })
    }

    /// Whether current flows in a heater.
    pub fn conducts(&self, heater: u8, outputs: u8) -> bool {
        let Some(output) = self.machine.heater(heater) else { return false };
        let switched = outputs & (1 << heater) != 0 || self.failed == Some(heater);
        switched && self.broken != Some(heater) && !self.is_isolated_off(output.supply, outputs)
    }

    fn contacts(&mut self, clock: u32) -> u16 {
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
            if self.chatters && index % 3 == 0 && self.dice.once_in(2) {
                active = !active;
                self.pressed_by_chatter |= input.role == InputRole::Start;
            }
            contacts |= u16::from(active != input.normally_closed) << index;
        }
        contacts
    }

    /// What the person does about what the controller does.
    fn follow(&mut self, clock: u32, outputs: u8, events: &[Event]) {
        self.outputs = outputs;
        for event in events {
            if event.kind == EventKind::Off && !(self.forgets && self.dice.once_in(2)) {
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
