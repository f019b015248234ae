//! The interpreter: the same rules as the controller's C, so that both give the same events to the millisecond.
//!
//! Owns what a controller does with a program from one tick to the next. It has no clock and no pins: time and contacts
//! are handed in, what each output shall be is handed back. `grammar/program-format.md` says the rules in words.

mod event;
mod inputs;
mod lanes;
mod outputs;

use crc::Digest;

use crate::program::crc::crc32_digest;
use crate::program::layout::Layout;
use crate::program::machine::{InputRole, MOST_INPUTS, MOST_LANES, MOST_OUTPUTS, MOST_SUPPLIES, Machine, OutputRole};
use crate::program::refusal::Refusal;
use crate::program::verify::verify;
use lanes::Lane;

pub use event::{Event, EventKind, FaultCode, NO_LANE};

/// The longest time between two ticks, ms.
pub const LONGEST_TICK: u32 = 100;
/// The longest gap that is counted, ms.
const LONGEST_PASSED: u32 = 0x00FF_FFFF;
/// The window over which part power is spread, ms.
pub const WINDOW: u16 = 1000;
/// The shortest time between two heats of one heater, ms.
pub const SHORTEST_REST: u32 = 5000;
/// How long current may flow after a heater is off, ms.
pub const CURRENT_FALLS: u16 = 1500;
/// How long an isolator stays closed after its supply's heaters are off: longer than that, and for an input to stand
/// still, so that a current is seen to stay.
pub const HELD: u16 = 1800;
/// The level up to which part power must show a window's dark part at the current input.
pub const SHOWS_DARK: u8 = 204;
/// How long `down` must be absent where an arm has no `home` input, ms.
pub const DOWN_ABSENT: u16 = 1000;
/// What leaks from the sum of heat, 255ths of full power: three quarters of the time on.
pub const LEAK: u32 = 191;
/// Contacts that change more often than this in one second chatter.
pub const CHATTER: u8 = 30;
/// Instructions that a lane does in one tick at most.
const INSTRUCTIONS: u8 = 64;
/// Bytes of the image that are checked in one tick.
const CHECKED: usize = 2;
/// How long each switch is tried in the self-test, ms.
const TRIED: u16 = 200;
/// How long each heater is on, and then off, in the check mode, ms.
const CHECK_ON: u16 = 3000;
/// See [`CHECK_ON`].
const CHECK_ALL: u16 = 5000;
/// How long a call sounds, ms.
pub const SOUNDS: u16 = 300;

/// What a controller is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Tries its switches after power came.
    SelfTest,
    /// Waits for a start press.
    Idle,
    /// Runs a program.
    Running,
    /// Everything is off until a person acknowledges.
    Fault,
    /// Tries each heater at a person's wish.
    Check,
}

/// Why a program was not loaded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotLoaded {
    /// A program runs.
    Busy,
    /// It is not safe here.
    Refused(Refusal),
}

#[derive(Clone, Debug, Default)]
struct Pin {
    raw: bool,
    stable: bool,
    changing: u16,
    changes: u8,
    /// For how long it has been at rest, ms.
    rests: u16,
    /// For how long current has been flowing that should not, ms.
    flows: u16,
}

#[derive(Clone, Debug, Default)]
struct Heater {
    live: bool,
    level: u8,
    on: u32,
    rest: u32,
    sum: u32,
}

/// A controller with one program.
#[derive(Clone)]
pub struct Controller {
    machine: Machine,
    /// The longest on-time of each output and its complement, 0.1 s: damage to either is seen.
    limits: [(u16, u16); MOST_OUTPUTS],
    image: Vec<u8>,
    layout: Option<Layout>,
    state: State,
    now: Option<u32>,
    start: u32,
    phase: u16,
    pins: [Pin; MOST_INPUTS],
    heaters: [Heater; MOST_OUTPUTS],
    /// For how long an isolator stays closed after its supply's last heater is off, ms.
    holds: [u16; MOST_SUPPLIES],
    lanes: [Lane; MOST_LANES],
    row: u8,
    press: bool,
    row_press: bool,
    /// Whether a press would count now.
    ready: bool,
    sounds: u16,
    blink: u16,
    test: u8,
    test_time: u16,
    checked: usize,
    check: Digest<'static, u32>,
    events: Vec<Event>,
}

impl Controller {
    /// A controller to which power has just come.
    pub fn new(machine: Machine) -> Self {
        let mut limits = [(0, 0); MOST_OUTPUTS];
        for (limit, output) in limits.iter_mut().zip(&machine.outputs) {
            *limit = (output.longest, !output.longest);
        }
        let measures = |role: InputRole| matches!(role, InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_));
        let tests = machine.inputs.iter().any(|input| measures(input.role));
        let mut controller = Self {
            machine,
            limits,
            image: Vec::new(),
            layout: None,
            state: if tests { State::SelfTest } else { State::Idle },
            now: None,
            start: 0,
            phase: 0,
            pins: Default::default(),
            heaters: Default::default(),
            holds: [0; MOST_SUPPLIES],
            lanes: Default::default(),
            row: 0,
            press: false,
            row_press: false,
            ready: false,
            sounds: 0,
            blink: 0,
            test: 0,
            test_time: 0,
            checked: 0,
            check: crc32_digest(),
            events: Vec::new(),
        };
        // Nobody knows what was on before power came: assume as much heat as a start allows.
        for index in 0..MOST_OUTPUTS {
            controller.heaters[index].sum = controller.sum_limit(index) / 2;
        }
        controller
    }

    /// Loads a program, if it passes every proof; never while one runs.
    pub fn load(&mut self, image: &[u8]) -> Result<(), NotLoaded> {
        if matches!(self.state, State::Running | State::Check) {
            return Err(NotLoaded::Busy);
        }
        let verified = verify(image, Some(&self.machine)).map_err(NotLoaded::Refused)?;
        self.image = image.to_vec();
        self.layout = Some(verified.layout);
        self.row = 0;
        self.restart_check();
        Ok(())
    }

    /// What it is doing.
    pub fn state(&self) -> State {
        self.state
    }

    /// The log so far; it begins anew.
    pub fn take_events(&mut self) -> Vec<Event> {
        std::mem::take(&mut self.events)
    }

    /// Whether a heater counts as on.
    pub fn heats(&self, output: usize) -> bool {
        self.heaters.get(output).is_some_and(|heater| heater.live)
    }

    /// How much heat of the last minutes is counted against an output's limit, ms × 255ths of full power.
    pub fn heat_sum(&self, output: usize) -> u32 {
        self.heaters.get(output).map_or(0, |heater| heater.sum)
    }

    /// For tests of what must never go unseen: changes a byte of the program in memory.
    pub fn damage_image(&mut self, at: usize, flip: u8) {
        if let Some(byte) = self.image.get_mut(at) {
            *byte ^= flip;
        }
    }

    /// For tests of what must never go unseen: changes a limit in memory, or its complement.
    pub fn damage_limit(&mut self, output: usize, complement: bool, flip: u16) {
        if let Some((limit, other)) = self.limits.get_mut(output) {
            *(if complement { other } else { limit }) ^= flip;
        }
    }

    /// Time has come to `now` (ms, it wraps), and the contacts of the inputs in `contacts` are closed. Gives the
    /// outputs that shall be on, one bit for each.
    pub fn tick(&mut self, now: u32, contacts: u16) -> u8 {
        // Longer gaps count as four hours and more, so that no sum overflows.
        let passed = self.now.map_or(0, |last| now.wrapping_sub(last)).min(LONGEST_PASSED);
        if self.now.is_none() {
            self.start = now;
        }
        self.now = Some(now);
        self.read_inputs(passed, contacts);
        self.account(passed);
        self.look_for_danger(passed);
        self.ready = false;
        match self.state {
            State::SelfTest => self.self_test(passed),
            State::Idle => self.idle(now),
            State::Running => self.run_lanes(now),
            State::Fault => {
                if self.press && !self.raw(InputRole::Stop) {
                    self.log(NO_LANE, EventKind::Acknowledged, 0);
                    self.state = State::Idle;
                }
            }
            State::Check => self.check_heaters(passed),
        }
        self.guard();
        self.outputs()
    }

    fn idle(&mut self, now: u32) {
        let rows = self.layout.as_ref().map_or(0, Layout::rows);
        if self.row_press && rows > 0 {
            let next = usize::from(self.row) + 1;
            self.row = if next < rows { u8::try_from(next).unwrap_or(0) } else { 0 };
            self.log(NO_LANE, EventKind::Row, u16::from(self.row));
        }
        if !self.press || self.raw(InputRole::Stop) {
            return;
        }
        if self.any_stable(InputRole::Row) {
            if (0..self.machine.outputs.len()).all(|output| self.may_heat(output)) {
                self.state = State::Check;
                self.test = 0;
                self.test_time = 0;
                self.log(NO_LANE, EventKind::Check, 0);
                self.enter_check();
            }
            return;
        }
        let Some(layout) = &self.layout else { return };
        let lanes = layout.lanes.clone();
        self.lanes = Default::default();
        for (lane, (from, length)) in self.lanes.iter_mut().zip(lanes) {
            *lane = Lane::new(from, length, now);
        }
        self.state = State::Running;
        self.start = now;
        self.restart_check();
        self.log(NO_LANE, EventKind::Start, u16::from(self.row));
    }

    /// First each heater alone with its isolator open, then the isolators alone: neither may give current.
    fn self_test(&mut self, passed: u32) {
        self.test_time = self.test_time.saturating_add(clamped(passed));
        while self.state == State::SelfTest && self.test_time >= TRIED {
            self.test_time -= TRIED;
            let flows = self.machine.inputs.iter().zip(&self.pins).any(|(input, pin)| {
                matches!(input.role, InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_)) && pin.stable
            });
            if flows {
                return self.fail(NO_LANE, FaultCode::SwitchFailed.number());
            }
            self.test += 1;
            if usize::from(self.test) > self.machine.outputs.len() {
                self.state = State::Idle;
                self.log(NO_LANE, EventKind::Tested, 0);
            }
        }
    }

    /// Each heater on for a while, then off: current must come, and go.
    fn check_heaters(&mut self, passed: u32) {
        self.test_time = self.test_time.saturating_add(clamped(passed));
        let output = usize::from(self.test);
        if self.test_time >= CHECK_ON && self.heaters[output].live {
            self.switch_off(output);
            if self.lacks_current(output) {
                return self.fail(NO_LANE, FaultCode::NoCurrent.number());
            }
        }
        if self.test_time >= CHECK_ALL {
            self.test_time = 0;
            self.test += 1;
            self.enter_check();
        }
    }

    /// Goes on to the next heater, or ends the check.
    fn enter_check(&mut self) {
        while let Some(output) = self.machine.outputs.get(usize::from(self.test)) {
            if output.role == OutputRole::Heater {
                self.switch_on(usize::from(self.test), 255);
                return;
            }
            self.test += 1;
        }
        self.state = State::Idle;
        self.log(NO_LANE, EventKind::Check, 1);
    }

    fn lacks_current(&self, output: usize) -> bool {
        let supply = self.machine.outputs.get(output).map_or(0, |output| output.supply);
        let of = u8::try_from(output).unwrap_or(0);
        self.machine.inputs.iter().zip(&self.pins).any(|(input, pin)| {
            let watches = input.role == InputRole::HeaterCurrent(of) || input.role == InputRole::SupplyCurrent(supply);
            watches && !pin.stable
        })
    }

    fn restart_check(&mut self) {
        self.checked = 0;
        self.check = crc32_digest();
    }

    fn log(&mut self, lane: u8, kind: EventKind, detail: u16) {
        let time = self.now.map_or(0, |now| now.wrapping_sub(self.start));
        let step = self.lanes.get(usize::from(lane)).map_or(0, |lane| lane.step);
        self.events.push(Event { time, lane, step, kind, detail });
    }

    /// Everything off, and it stays so until a person acknowledges.
    fn fail(&mut self, lane: u8, code: u8) {
        if self.state == State::Fault {
            return;
        }
        for output in 0..MOST_OUTPUTS {
            if self.heaters[output].live {
                self.switch_off(output);
            }
        }
        self.holds = [0; MOST_SUPPLIES];
        self.state = State::Fault;
        // A program that has changed in memory is not started again: it must be loaded anew, and proved.
        if [FaultCode::ImageChanged, FaultCode::BadProgram].iter().any(|fault| fault.number() == code) {
            self.layout = None;
        }
        self.log(lane, EventKind::Fault, u16::from(code));
    }

    fn switch_on(&mut self, output: usize, level: u8) {
        let Some(heater) = self.heaters.get_mut(output) else { return };
        if !heater.live {
            if heater.rest >= SHORTEST_REST {
                heater.on = 0;
            }
            heater.live = true;
        }
        heater.level = level;
    }

    fn switch_off(&mut self, output: usize) {
        let Some(heater) = self.heaters.get_mut(output) else { return };
        heater.live = false;
        heater.level = 0;
        heater.rest = 0;
    }
}

/// A time that fits a counter of 16 bits.
fn clamped(time: u32) -> u16 {
    u16::try_from(time).unwrap_or(u16::MAX)
}
