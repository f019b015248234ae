//! The proof that an image can do no harm: every rule of `grammar/program-format.md`, in one pass over each lane.

use crate::program::instruction::Instruction;
use crate::program::layout::{Layout, refuse};
use crate::program::machine::{InputRole, MOST_OUTPUTS, Machine, SwitchKind};
use crate::program::refusal::{Reason, Refusal};

/// How deep loops are nested.
pub const DEEPEST: usize = 2;
/// Codes of `fault` below this are the controller's own.
pub const FIRST_PROGRAM_FAULT: u8 = 128;

/// An image that has passed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// Its parts.
    pub layout: Layout,
    /// The longest it runs when nobody is waited for, ms.
    pub run_time: u64,
}

/// Checks an image, and that it fits a controller where one is given.
pub fn verify(image: &[u8], machine: Option<&Machine>) -> Result<Verified, Refusal> {
    let layout = Layout::read(image)?;
    if let Some(machine) = machine {
        fits(&layout, machine)?;
    }
    let mut run_time = 0;
    let mut switched = 0;
    for (from, length) in &layout.lanes {
        let code = image.get(*from..from + length).unwrap_or_default();
        let mut walk = Walk::new(&layout, code, *from);
        walk.run()?;
        if switched & walk.switched != 0 {
            return refuse(Reason::Shared, *from);
        }
        switched |= walk.switched;
        run_time = run_time.max(walk.time[0]);
    }
    Ok(Verified { layout, run_time })
}

fn fits(layout: &Layout, machine: &Machine) -> Result<(), Refusal> {
    if layout.machine.space > machine.space {
        return refuse(Reason::TooLarge, 6);
    }
    if layout.machine.bench != machine.bench {
        return refuse(Reason::OtherBench, 24);
    }
    if layout.machine.digest() != machine.digest() {
        return refuse(Reason::OtherWiring, 28);
    }
    for (index, (asked, own)) in layout.machine.outputs.iter().zip(&machine.outputs).enumerate() {
        if asked.longest > own.longest {
            return refuse(Reason::LimitRaised, layout.outputs_at + 8 * index);
        }
    }
    Ok(())
}

/// Where in a heat a lane is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Phase {
    /// No heater of the lane is on, and no bend is awaited.
    Plain,
    /// After `begin`, before the first `on`.
    Begun,
    /// A heater is on.
    Heating,
    /// All are off, and some arms are not yet seen down.
    Bending,
}

/// The heat that a lane is in.
#[derive(Clone, Copy, Debug, Default)]
struct Heat {
    live: u8,
    used: u8,
    on: [u32; MOST_OUTPUTS],
    supply: u8,
    amount: u16,
    from: u32,
    lasts: u32,
    shortest: u32,
    longest: u32,
    transfer: u32,
    due: u8,
}

struct Walk<'a> {
    layout: &'a Layout,
    code: &'a [u8],
    base: usize,
    /// The instruction that is looked at, and the one behind it.
    at: usize,
    next: usize,
    phase: Phase,
    heat: Heat,
    depth: usize,
    counts: [u16; DEEPEST],
    /// Every heater the lane switches.
    switched: u8,
    /// Time so far at each depth of loops, ms.
    time: [u64; DEEPEST + 1],
}

impl<'a> Walk<'a> {
    fn new(layout: &'a Layout, code: &'a [u8], base: usize) -> Self {
        Self {
            layout,
            code,
            base,
            at: 0,
            next: 0,
            phase: Phase::Plain,
            heat: Heat::default(),
            depth: 0,
            counts: [0; DEEPEST],
            switched: 0,
            time: [0; DEEPEST + 1],
        }
    }

    fn no(&self, reason: Reason) -> Result<(), Refusal> {
        refuse(reason, self.base + self.at)
    }

    fn demand(&self, holds: bool, reason: Reason) -> Result<(), Refusal> {
        if holds { Ok(()) } else { self.no(reason) }
    }

    fn run(&mut self) -> Result<(), Refusal> {
        while self.at < self.code.len() {
            let Some((instruction, size)) = Instruction::decode(self.code, self.at) else {
                return self.no(Reason::Unknown);
            };
            self.next = self.at + size;
            self.step(instruction)?;
            if instruction == Instruction::End {
                return Ok(());
            }
            self.at = self.next;
        }
        self.no(Reason::NotEnded)
    }

    fn step(&mut self, instruction: Instruction) -> Result<(), Refusal> {
        match instruction {
            Instruction::Step(row) => self.demand(row >= 1 && row <= self.layout.steps, Reason::Index),
            Instruction::Call(call) => self.demand(usize::from(call) < self.layout.calls.len(), Reason::Index),
            Instruction::On { output, level } => self.on(output, level),
            Instruction::Off(output) => self.off(output),
            Instruction::Wait(time) => self.wait(time, time),
            Instruction::WaitRow(table) => {
                let rows = self.layout.tables.get(usize::from(table)).map_or(&[][..], Vec::as_slice);
                let times = || rows.iter().map(|row| row.time);
                let Some((shortest, longest)) = times().min().zip(times().max()) else {
                    return self.no(Reason::Index);
                };
                self.wait(shortest, longest)
            }
            Instruction::Await { input, level, limit, target } => self.wait_for(input, level, limit, target),
            Instruction::End => {
                self.plain()?;
                self.demand(self.depth == 0 && self.next == self.code.len(), Reason::NotEnded)
            }
            Instruction::Begin { supply, amount, from, lasts } => {
                self.plain()?;
                let Some(capacity) = self.layout.machine.supplies.get(usize::from(supply)) else {
                    return self.no(Reason::Index);
                };
                self.demand(amount <= *capacity, Reason::ClaimTooLarge)?;
                self.heat = Heat { supply, amount, from, lasts, ..Heat::default() };
                self.phase = Phase::Begun;
                Ok(())
            }
            Instruction::Repeat(count) => {
                self.plain()?;
                self.demand(self.depth < DEEPEST && count > 0, Reason::Loop)?;
                self.counts[self.depth] = count;
                self.depth += 1;
                self.time[self.depth] = 0;
                Ok(())
            }
            Instruction::Again => {
                self.plain()?;
                self.demand(self.depth > 0, Reason::Loop)?;
                let inner = self.time[self.depth];
                self.depth -= 1;
                let all = inner.saturating_mul(u64::from(self.counts[self.depth]));
                self.time[self.depth] = self.time[self.depth].saturating_add(all);
                Ok(())
            }
            Instruction::Enough(count) => {
                self.plain()?;
                let closes = matches!(Instruction::decode(self.code, self.next), Some((Instruction::Again, _)));
                self.demand(self.depth == 1 && count > 0 && closes, Reason::Enough)
            }
            Instruction::Skip(target) => {
                self.plain()?;
                self.demand(self.lands(target, true), Reason::Jump)
            }
            Instruction::Scrap => self.plain(),
            Instruction::Fault(code) => {
                self.plain()?;
                self.demand(code >= FIRST_PROGRAM_FAULT, Reason::Index)
            }
        }
    }

    /// What may only be done while nothing heats and no bend is awaited.
    fn plain(&self) -> Result<(), Refusal> {
        match self.phase {
            Phase::Plain => Ok(()),
            Phase::Begun | Phase::Heating => self.no(Reason::InHeat),
            Phase::Bending => self.no(Reason::NoBend),
        }
    }

    fn on(&mut self, output: u8, level: u8) -> Result<(), Refusal> {
        self.demand(matches!(self.phase, Phase::Begun | Phase::Heating), Reason::NotBegun)?;
        let machine = &self.layout.machine;
        let Some(heater) = machine.heater(output) else { return self.no(Reason::Index) };
        self.demand(heater.switch == SwitchKind::SolidState || matches!(level, 0 | 255), Reason::Level)?;
        let bit = 1 << output;
        if self.heat.live & bit != 0 {
            return Ok(());
        }
        self.demand(self.heat.used & bit == 0, Reason::OnAgain)?;
        self.heat.live |= bit;
        self.heat.used |= bit;
        self.switched |= bit;
        let live = machine.outputs.iter().enumerate().filter(|(index, _)| self.heat.live & (1 << index) != 0);
        let drawn: u32 = live.map(|(_, output)| u32::from(output.draw)).sum();
        let covered = heater.supply == self.heat.supply && drawn <= u32::from(self.heat.amount);
        self.phase = Phase::Heating;
        self.demand(covered, Reason::ClaimTooSmall)
    }

    fn off(&mut self, output: u8) -> Result<(), Refusal> {
        self.demand(self.layout.machine.heater(output).is_some(), Reason::Index)?;
        self.demand(self.phase == Phase::Heating && self.heat.live & (1 << output) != 0, Reason::NotOn)?;
        self.heat.live &= !(1 << output);
        if self.heat.live != 0 {
            return Ok(());
        }
        let Heat { from, lasts, shortest, longest, used, .. } = self.heat;
        // A heat during which the operator stays at the bench throughout is a warm-up: nothing is bent after it.
        if from == 0 && lasts >= longest {
            self.phase = Phase::Plain;
            return Ok(());
        }
        self.demand(from <= shortest, Reason::Reservation)?;
        for heater in (0..8).filter(|heater| used & (1 << heater) != 0) {
            self.demand(self.layout.machine.input(InputRole::Down(heater)).is_some(), Reason::NoDownSwitch)?;
        }
        self.heat.due = used;
        self.phase = Phase::Bending;
        Ok(())
    }

    fn wait(&mut self, shortest: u32, longest: u32) -> Result<(), Refusal> {
        if self.phase != Phase::Heating {
            self.plain()?;
            self.pass(longest);
            return Ok(());
        }
        self.pass(longest);
        self.heat.shortest += shortest;
        self.heat.longest += longest;
        for (index, output) in self.layout.machine.outputs.iter().enumerate() {
            if self.heat.live & (1 << index) != 0 {
                self.heat.on[index] += longest;
                self.demand(self.heat.on[index] <= u32::from(output.longest) * 100, Reason::TooLong)?;
            }
        }
        Ok(())
    }

    fn wait_for(&mut self, input: u8, level: u8, limit: u32, target: u16) -> Result<(), Refusal> {
        if self.phase != Phase::Bending {
            self.plain()?;
        }
        let role = self.layout.machine.inputs.get(usize::from(input)).map(|input| input.role);
        let Some(InputRole::Down(of) | InputRole::Home(of)) = role else { return self.no(Reason::Index) };
        self.demand(level <= 1, Reason::Level)?;
        self.demand(self.lands(target, false), Reason::Jump)?;
        self.pass(limit);
        if self.phase == Phase::Plain {
            return Ok(());
        }
        let bit = 1 << of;
        let bends = role == Some(InputRole::Down(of)) && level == 1 && self.heat.due & bit != 0;
        self.demand(bends && self.gives_up(target), Reason::NoBend)?;
        self.heat.due &= !bit;
        self.heat.transfer = self.heat.transfer.max(limit);
        if self.heat.due == 0 {
            let Heat { from, lasts, longest, transfer, .. } = self.heat;
            self.phase = Phase::Plain;
            self.demand(from + lasts >= longest + transfer, Reason::Reservation)?;
        }
        Ok(())
    }

    fn pass(&mut self, time: u32) {
        self.time[self.depth] = self.time[self.depth].saturating_add(u64::from(time));
    }

    /// Whether a jump from here lands on an instruction further on, in the same turn of the same loop, outside every
    /// heat and the bends that end it. Right behind an `await` it does not.
    fn lands(&self, target: u16, mut open: bool) -> bool {
        let target = usize::from(target);
        let mut at = self.next;
        let mut depth = 0_u32;
        let mut live = 0_u8;
        let mut heating = false;
        while at < target {
            let Some((instruction, size)) = Instruction::decode(self.code, at) else { return false };
            match instruction {
                Instruction::Begin { .. } => {
                    open = false;
                    heating = true;
                    live = 0;
                }
                Instruction::On { output, .. } => live |= 1_u8.checked_shl(u32::from(output)).unwrap_or(0),
                Instruction::Off(output) => {
                    live &= !1_u8.checked_shl(u32::from(output)).unwrap_or(0);
                    heating = heating && live != 0;
                }
                Instruction::Step(_) | Instruction::Call(_) | Instruction::Await { .. } => {}
                Instruction::Repeat(_) => {
                    depth += 1;
                    open = open || !heating;
                }
                Instruction::Again => {
                    let Some(outer) = depth.checked_sub(1) else { return false };
                    depth = outer;
                    open = open || !heating;
                }
                Instruction::End
                | Instruction::Wait(_)
                | Instruction::WaitRow(_)
                | Instruction::Enough(_)
                | Instruction::Skip(_)
                | Instruction::Scrap
                | Instruction::Fault(_) => open = open || !heating,
            }
            at += size;
        }
        at == target && at < self.code.len() && depth == 0 && open
    }

    /// Whether what stands at an offset says that the part is spoilt, or stops everything.
    fn gives_up(&self, target: u16) -> bool {
        let mut at = usize::from(target);
        loop {
            match Instruction::decode(self.code, at) {
                Some((Instruction::Step(_) | Instruction::Call(_), size)) => at += size,
                Some((Instruction::Scrap | Instruction::Fault(_), _)) => return true,
                _ => return false,
            }
        }
    }
}
