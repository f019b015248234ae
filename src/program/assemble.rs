//! Code with labels: jumps name a place that is not yet known.

use crate::program::instruction::Instruction;

/// A place in the code of a lane.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Label(u16);

/// Code of one lane in the making.
#[derive(Clone, Debug, Default)]
pub struct Assembler {
    code: Vec<Instruction>,
    /// Where each label stands, as a number of instructions.
    places: Vec<usize>,
}

impl Assembler {
    /// Adds an instruction that does not jump.
    pub fn push(&mut self, instruction: Instruction) {
        self.code.push(instruction);
    }

    /// A label that is placed later.
    pub fn label(&mut self) -> Label {
        self.places.push(usize::MAX);
        Label(u16::try_from(self.places.len() - 1).unwrap_or(u16::MAX))
    }

    /// Places a label before what is added next.
    pub fn place(&mut self, label: Label) {
        if let Some(place) = self.places.get_mut(usize::from(label.0)) {
            *place = self.code.len();
        }
    }

    /// Adds a forward jump.
    pub fn skip(&mut self, label: Label) {
        self.code.push(Instruction::Skip(label.0));
    }

    /// Adds a wait for an input; if it does not come within `limit`, it goes on at the label.
    pub fn wait_for(&mut self, input: u8, level: u8, limit: u32, label: Label) {
        self.code.push(Instruction::Await { input, level, limit, target: label.0 });
    }

    /// The offset of the next instruction.
    pub fn offset(&self) -> usize {
        self.code.iter().map(|instruction| instruction.size()).sum()
    }

    /// The code with every label resolved; one that was never placed lies behind the end, which the verifier refuses.
    pub fn finish(self) -> Vec<Instruction> {
        let sizes = self.code.iter().scan(0, |at, instruction| {
            let here = *at;
            *at += instruction.size();
            Some(here)
        });
        let offsets: Vec<usize> = sizes.collect();
        let resolve = |label: u16| {
            let place = self.places.get(usize::from(label)).copied().unwrap_or(usize::MAX);
            offsets.get(place).and_then(|offset| u16::try_from(*offset).ok()).unwrap_or(u16::MAX)
        };
        let resolved = self.code.iter().map(|instruction| match *instruction {
            Instruction::Skip(label) => Instruction::Skip(resolve(label)),
            Instruction::Await { input, level, limit, target } => {
                Instruction::Await { input, level, limit, target: resolve(target) }
            }
            other => other,
        });
        resolved.collect()
    }
}
