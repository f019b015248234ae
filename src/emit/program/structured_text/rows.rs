//! What a lane does, as rows: the data of its function block.

use crate::program::{LanePlan, Machine, Mark, PartLoop, Pass, ProgramPlan, WarmUp, stretches};

/// Kinds of rows, as the CASE of a lane has them.
pub(super) const PRESS: u8 = 0;
/// Heaters are on.
pub(super) const HEAT: u8 = 1;
/// Arms are awaited at their stops.
pub(super) const BEND: u8 = 2;
/// Arms are held.
pub(super) const HOLD: u8 = 3;
/// A good part is counted.
pub(super) const GOOD: u8 = 4;
/// A part is spoilt, and a press awaited.
pub(super) const SPOILT: u8 = 5;
/// The next part, or the next loop.
pub(super) const AGAIN: u8 = 6;
/// The lane is done.
pub(super) const END: u8 = 7;

/// One row of the parallel arrays.
#[derive(Clone, Debug, Default)]
pub(super) struct Row {
    pub kind: u8,
    /// The number of its call, from 1; 0 without one.
    pub call: usize,
    /// Of a press: the heaters that begin. Of a heat: those that are on. Of a bend: those whose arms are awaited.
    pub arms: u8,
    /// When it is over, in each row of heat times, ms since the press, of a hold since the bend.
    pub until: Vec<u32>,
    pub levels: [u8; 8],
    pub supply: u8,
    pub amount: u16,
    pub from: u32,
    pub lasts: u32,
    /// Where it goes on after a missed bend, a good part, and for another part.
    pub target: usize,
    pub asked: u16,
    pub tries: u16,
}

/// The rows of one lane, and its calls.
#[derive(Clone, Debug, Default)]
pub(super) struct Lane {
    pub rows: Vec<Row>,
    pub calls: Vec<String>,
    /// The outputs that it heats with, in ascending order.
    pub heaters: Vec<u8>,
}

impl Lane {
    /// When a row is over, ms.
    pub fn until(row: &Row, choice: usize) -> u32 {
        row.until.get(choice).or(row.until.first()).copied().unwrap_or(0)
    }

    fn call(&mut self, mark: &Mark) -> usize {
        let Some(call) = &mark.call else { return 0 };
        let at = self.calls.iter().position(|known| known == call).unwrap_or_else(|| {
            self.calls.push(call.clone());
            self.calls.len() - 1
        });
        at + 1
    }

    /// A press that begins the heat of these heaters.
    fn press(&mut self, machine: &Machine, mark: &Mark, heaters: &[u8], (from, lasts): (u32, u32)) {
        let (supply, amount) = machine.claim(heaters.iter().copied());
        let call = self.call(mark);
        self.rows.push(Row { kind: PRESS, call, arms: mask(heaters), supply, amount, from, lasts, ..Row::default() });
    }

    fn warm_up(&mut self, machine: &Machine, own: &WarmUp) {
        self.press(machine, &own.mark, &[own.output], (0, own.lasts));
        let mut row = Row { kind: HEAT, arms: mask(&[own.output]), until: vec![own.lasts], ..Row::default() };
        set(&mut row.levels, own.output, u8::MAX);
        self.rows.push(row);
    }

    fn part(&mut self, machine: &Machine, part: &PartLoop) {
        let first = self.rows.len();
        let mut bends = Vec::new();
        for pass in &part.passes {
            bends.push(self.pass(machine, pass));
        }
        let unload = self.call(&part.unload);
        let good = self.rows.len();
        self.rows.push(Row { kind: GOOD, call: unload, target: good + 2, ..Row::default() });
        let spoilt = self.call(&part.spoilt);
        self.rows.push(Row { kind: SPOILT, call: spoilt, ..Row::default() });
        let (asked, tries) = (part.asked(), part.tries());
        self.rows.push(Row { kind: AGAIN, target: first, asked, tries, ..Row::default() });
        for row in bends {
            if let Some(row) = self.rows.get_mut(row) {
                row.target = good + 1;
            }
        }
    }

    /// Gives the row of the bend.
    fn pass(&mut self, machine: &Machine, pass: &Pass) -> usize {
        let heaters: Vec<u8> = pass.heats.iter().map(|heat| heat.output).collect();
        self.press(machine, &pass.lay, &heaters, pass.reservation);
        let mut until: Vec<u32> = Vec::new();
        let mut row = Row { kind: HEAT, ..Row::default() };
        for stretch in stretches(&pass.heats) {
            for (output, stage) in &stretch.changes {
                set(&mut row.levels, *output, stage.level);
                row.arms |= mask(&[*output]);
            }
            until.resize(stretch.lasts.len(), 0);
            for (until, lasts) in until.iter_mut().zip(&stretch.lasts) {
                *until = until.saturating_add(*lasts);
            }
            row.until.clone_from(&until);
            self.rows.push(row.clone());
        }
        let late = until.iter().map(|until| until.saturating_add(pass.transfer)).collect();
        let bend = self.rows.len();
        let call = self.call(&pass.bend);
        self.rows.push(Row { kind: BEND, call, arms: mask(&heaters), until: late, ..Row::default() });
        self.rows.push(Row { kind: HOLD, until: vec![pass.set], ..Row::default() });
        bend
    }
}

/// The rows of a lane of a plan.
pub(super) fn lane(plan: &ProgramPlan, own: &LanePlan) -> Lane {
    let mut lane = Lane::default();
    for warm_up in &own.warm_ups {
        lane.warm_up(&plan.machine, warm_up);
    }
    for part in &own.loops {
        lane.part(&plan.machine, part);
    }
    lane.rows.push(Row { kind: END, ..Row::default() });
    let all = lane.rows.iter().filter(|row| row.kind == HEAT).fold(0, |all, row| all | row.arms);
    lane.heaters = (0..8).filter(|output| all & mask(&[*output]) != 0).collect();
    lane
}

fn set(levels: &mut [u8; 8], output: u8, level: u8) {
    if let Some(place) = levels.get_mut(usize::from(output)) {
        *place = level;
    }
}

/// One bit for each output.
pub(super) fn mask(outputs: &[u8]) -> u8 {
    outputs.iter().fold(0, |mask, output| mask | 1_u8.checked_shl(u32::from(*output)).unwrap_or(0))
}
