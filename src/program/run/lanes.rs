//! What the lanes of a program do.

use crate::program::instruction::Instruction;
use crate::program::machine::{MOST_LANES, MOST_OUTPUTS};
use crate::program::run::{Controller, EventKind, FaultCode, INSTRUCTIONS, NO_LANE, SOUNDS, State};
use crate::program::verify::{DEEPEST, FIRST_PROGRAM_FAULT};

/// One lane at work.
#[derive(Clone, Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each says one thing about the lane; no two exclude each other")]
pub(super) struct Lane {
    from: usize,
    length: usize,
    at: usize,
    active: bool,
    /// When the current wait began.
    mark: u32,
    /// When the first `await` of a row began, and whether one did.
    base: u32,
    awaits: bool,
    /// Whether a call is held back, or a spoilt part waits for its press.
    held: bool,
    spoilt: bool,
    loops: [(u16, u16); DEEPEST],
    depth: usize,
    good: u16,
    bad: u16,
    heats: u8,
    supply: u8,
    claim: u16,
    pub(super) step: u16,
    pub(super) reserved_from: u32,
    pub(super) reserved_to: u32,
}

impl Lane {
    pub(super) fn new(from: usize, length: usize, now: u32) -> Self {
        Self { from, length, active: true, mark: now, ..Self::default() }
    }
}

/// How it goes on after an instruction.
enum Next {
    /// With the next one, in this tick.
    Go,
    /// In another tick.
    Stay,
    /// The program makes no sense.
    Bad,
}

impl Controller {
    pub(super) fn run_lanes(&mut self, now: u32) {
        for index in 0..MOST_LANES {
            for _ in 0..INSTRUCTIONS {
                if self.state != State::Running || !self.lanes[index].active {
                    break;
                }
                match self.one(index, now) {
                    Next::Go => {}
                    Next::Stay => break,
                    Next::Bad => self.fail(number(index), FaultCode::BadProgram.number()),
                }
            }
        }
        if self.state == State::Running && self.lanes.iter().all(|lane| !lane.active) {
            self.state = State::Idle;
            self.log(NO_LANE, EventKind::Done, 0);
        }
    }

    fn code(&self, index: usize) -> &[u8] {
        let lane = &self.lanes[index];
        self.image.get(lane.from..lane.from + lane.length).unwrap_or_default()
    }

    fn one(&mut self, index: usize, now: u32) -> Next {
        let at = self.lanes[index].at;
        let Some((instruction, size)) = Instruction::decode(self.code(index), at) else { return Next::Bad };
        let next = at + size;
        if !matches!(instruction, Instruction::Await { .. } | Instruction::Step(_) | Instruction::Call(_)) {
            self.lanes[index].awaits = false;
        }
        match instruction {
            Instruction::End => {
                self.lanes[index].active = false;
                self.log(number(index), EventKind::LaneEnd, 0);
                self.go(index, next)
            }
            Instruction::Step(row) => {
                self.lanes[index].step = row;
                self.log(number(index), EventKind::Step, row);
                self.go(index, next)
            }
            Instruction::Call(call) => self.call(index, next, now, call),
            Instruction::On { output, level } => self.heat(index, next, output, Some(level)),
            Instruction::Off(output) => self.heat(index, next, output, None),
            Instruction::Begin { supply, amount, from, lasts } => {
                self.begin(index, next, now, (supply, amount), (from, lasts))
            }
            Instruction::Wait(time) => self.wait(index, next, now, time),
            Instruction::WaitRow(table) => {
                let time = self.layout.as_ref().and_then(|layout| layout.row_time(&self.image, table, self.row));
                time.map_or(Next::Bad, |time| self.wait(index, next, now, time))
            }
            Instruction::Await { input, level, limit, target } => {
                self.wait_for(index, (input, level), limit, (next, usize::from(target)), now)
            }
            Instruction::Repeat(count) => self.repeat(index, next, count),
            Instruction::Again => self.again(index, next),
            Instruction::Enough(count) => self.enough(index, next, count),
            Instruction::Skip(target) if usize::from(target) < next => Next::Bad,
            Instruction::Skip(target) => self.go(index, usize::from(target)),
            Instruction::Scrap => self.scrap(index, next, now),
            // Codes below are the controller's own: a program that has one has changed in memory.
            Instruction::Fault(code) if code < FIRST_PROGRAM_FAULT => Next::Bad,
            Instruction::Fault(code) => {
                self.fail(number(index), code);
                Next::Stay
            }
        }
    }

    fn go(&mut self, index: usize, to: usize) -> Next {
        self.lanes[index].at = to;
        Next::Go
    }

    /// The lamp asks for a press; gives whether it came in this tick, for this lane.
    fn take_press(&mut self) -> bool {
        self.ready = true;
        std::mem::take(&mut self.press)
    }

    fn call(&mut self, index: usize, next: usize, now: u32, call: u8) -> Next {
        if self.holds_back(index) {
            self.lanes[index].held = true;
            return Next::Stay;
        }
        if std::mem::take(&mut self.lanes[index].held) {
            self.lanes[index].mark = now;
        }
        self.sounds = SOUNDS;
        self.log(number(index), EventKind::Call, u16::from(call));
        self.go(index, next)
    }

    /// Switches a heater to a level, or off.
    fn heat(&mut self, index: usize, next: usize, output: u8, level: Option<u8>) -> Next {
        if self.machine.heater(output).is_none() {
            return Next::Bad;
        }
        if let Some(level) = level {
            self.switch_on(usize::from(output), level);
            self.lanes[index].heats |= 1 << output;
            self.log(number(index), EventKind::On, u16::from_be_bytes([output, level]));
        } else {
            self.switch_off(usize::from(output));
            let lane = &mut self.lanes[index];
            lane.heats &= !(1 << output);
            if lane.heats == 0 {
                lane.claim = 0;
            }
            self.log(number(index), EventKind::Off, u16::from(output));
        }
        self.go(index, next)
    }

    fn begin(
        &mut self,
        index: usize,
        next: usize,
        now: u32,
        (supply, amount): (u8, u16),
        (from, lasts): (u32, u32),
    ) -> Next {
        let Some(capacity) = self.machine.supplies.get(usize::from(supply)).copied() else { return Next::Bad };
        let Some(heaters) = self.heaters_of_heat(index, next) else { return Next::Bad };
        let all_home = (0..MOST_OUTPUTS).all(|output| heaters & (1 << output) == 0 || self.may_heat(output));
        let others = || self.lanes.iter().enumerate().filter(|(other, lane)| *other != index && lane.active);
        let claimed: u32 =
            others().filter(|(_, lane)| lane.supply == supply).map(|(_, lane)| u32::from(lane.claim)).sum();
        let busy = others().filter(|(_, lane)| lane.reserved_from < from + lasts && from < lane.reserved_to).count();
        let free = claimed + u32::from(amount) <= u32::from(capacity) && busy < usize::from(self.machine.operators);
        if !all_home || !free || !self.take_press() {
            return Next::Stay;
        }
        let lane = &mut self.lanes[index];
        lane.supply = supply;
        lane.claim = amount;
        lane.reserved_from = from;
        lane.reserved_to = from + lasts;
        lane.mark = now;
        self.log(number(index), EventKind::Begin, amount);
        self.go(index, next)
    }

    fn repeat(&mut self, index: usize, next: usize, count: u16) -> Next {
        let lane = &mut self.lanes[index];
        if lane.depth == 0 {
            lane.good = 0;
        }
        let Some(place) = lane.loops.get_mut(lane.depth) else { return Next::Bad };
        let Ok(back) = u16::try_from(next) else { return Next::Bad };
        *place = (back, count);
        lane.depth += 1;
        lane.spoilt = false;
        self.go(index, next)
    }

    fn again(&mut self, index: usize, next: usize) -> Next {
        let lane = &mut self.lanes[index];
        let Some(depth) = lane.depth.checked_sub(1) else { return Next::Bad };
        lane.spoilt = false;
        let (back, left) = &mut lane.loops[depth];
        *left = left.saturating_sub(1);
        if *left > 0 {
            lane.at = usize::from(*back);
            return Next::Go;
        }
        lane.depth = depth;
        self.go(index, next)
    }

    fn scrap(&mut self, index: usize, next: usize, now: u32) -> Next {
        let lane = &mut self.lanes[index];
        if !lane.held {
            lane.held = true;
            lane.spoilt = true;
            lane.bad = lane.bad.saturating_add(1);
            let bad = lane.bad;
            self.log(number(index), EventKind::Scrap, bad);
        }
        if !self.take_press() {
            return Next::Stay;
        }
        self.lanes[index].held = false;
        self.lanes[index].mark = now;
        self.go(index, next)
    }

    fn wait(&mut self, index: usize, next: usize, now: u32, time: u32) -> Next {
        let lane = &mut self.lanes[index];
        if now.wrapping_sub(lane.mark) < time {
            return Next::Stay;
        }
        // What a late tick has lost is not lost again: the next wait counts from when this one should have ended.
        lane.mark = lane.mark.wrapping_add(time);
        lane.at = next;
        Next::Go
    }

    /// A row of awaits shares one beginning, so that arms that bend together have one time-out.
    fn wait_for(
        &mut self,
        index: usize,
        (input, level): (u8, u8),
        limit: u32,
        (next, target): (usize, usize),
        now: u32,
    ) -> Next {
        if usize::from(input) >= self.machine.inputs.len() || target < next {
            return Next::Bad;
        }
        let seen = self.pins[usize::from(input)].stable == (level == 1);
        let lane = &mut self.lanes[index];
        if !lane.awaits {
            lane.awaits = true;
            lane.base = lane.mark;
        }
        let waited = now.wrapping_sub(lane.base);
        if seen && waited <= limit {
            lane.mark = now;
            lane.at = next;
            self.log(number(index), EventKind::Met, u16::from(input));
            return Next::Go;
        }
        if waited < limit {
            return Next::Stay;
        }
        lane.mark = now;
        lane.awaits = false;
        lane.at = target;
        self.log(number(index), EventKind::Late, u16::from(input));
        Next::Go
    }

    fn enough(&mut self, index: usize, next: usize, count: u16) -> Next {
        let lane = &mut self.lanes[index];
        if !lane.spoilt {
            lane.good = lane.good.saturating_add(1);
        }
        let (good, spoilt) = (lane.good, lane.spoilt);
        lane.at = next;
        if !spoilt {
            self.log(number(index), EventKind::Good, good);
        }
        if good < count {
            return Next::Go;
        }
        let Some((Instruction::Again, size)) = Instruction::decode(self.code(index), next) else { return Next::Bad };
        let lane = &mut self.lanes[index];
        let Some(depth) = lane.depth.checked_sub(1) else { return Next::Bad };
        lane.depth = depth;
        lane.at = next + size;
        Next::Go
    }

    /// The heaters that are switched on between a `begin` and the end of its heat.
    fn heaters_of_heat(&self, index: usize, from: usize) -> Option<u8> {
        let code = self.code(index);
        let (mut at, mut live, mut used) = (from, 0_u8, 0_u8);
        loop {
            let (instruction, size) = Instruction::decode(code, at)?;
            match instruction {
                Instruction::On { output, .. } => {
                    self.machine.heater(output)?;
                    live |= 1 << output;
                    used |= live;
                }
                Instruction::Off(output) => {
                    self.machine.heater(output)?;
                    live &= !(1 << output);
                    if live == 0 {
                        return Some(used);
                    }
                }
                _ => {}
            }
            at += size;
        }
    }

    /// A call waits while the operators are needed elsewhere, unless it belongs to what they are needed for.
    fn holds_back(&self, index: usize) -> bool {
        let lane = &self.lanes[index];
        let needed = |lane: &Lane| lane.active && lane.reserved_from == 0 && lane.reserved_to > 0;
        if lane.heats != 0 || needed(lane) {
            return false;
        }
        let busy = self.lanes.iter().enumerate().filter(|(other, lane)| *other != index && needed(lane)).count();
        busy >= usize::from(self.machine.operators)
    }
}

/// A lane's number in the log.
fn number(index: usize) -> u8 {
    u8::try_from(index).unwrap_or(NO_LANE)
}
