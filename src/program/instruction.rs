//! The instructions of a timing program, and their bytes.

/// One instruction. Times are in ms and fit 24 bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instruction {
    /// The lane is done.
    End,
    /// A row of the step table begins.
    Step(u16),
    /// Calls the operator.
    Call(u8),
    /// A heater on, at a level of 255; level 0 lets the heat soak in: the heater is dark, its time and claim run on.
    On {
        /// The heater.
        output: u8,
        /// Share of full power, in 255ths.
        level: u8,
    },
    /// A heater off.
    Off(u8),
    /// Waits for a press at a moment when supply and operator are free.
    Begin {
        /// The supply.
        supply: u8,
        /// What is claimed of it, 10 mA.
        amount: u16,
        /// From when the operator is reserved, counted from the press.
        from: u32,
        /// For how long.
        lasts: u32,
    },
    /// Waits.
    Wait(u32),
    /// Waits for an input; goes to `target` when it takes longer than `limit`.
    Await {
        /// The input.
        input: u8,
        /// 1: active, 0: at rest.
        level: u8,
        /// The longest wait.
        limit: u32,
        /// An offset in the lane.
        target: u16,
    },
    /// Waits for the time of the chosen row.
    WaitRow(u8),
    /// A loop begins.
    Repeat(u16),
    /// A loop ends.
    Again,
    /// Counts a good part, and leaves the loop after so many.
    Enough(u16),
    /// Goes forward.
    Skip(u16),
    /// The part is spoilt; waits for a press.
    Scrap,
    /// Everything off.
    Fault(u8),
}

impl Instruction {
    /// The instruction at an offset, and how many bytes it takes.
    pub fn decode(code: &[u8], at: usize) -> Option<(Self, usize)> {
        let byte = |offset: usize| code.get(at + offset).copied();
        let short = |offset: usize| Some(u16::from_le_bytes([byte(offset)?, byte(offset + 1)?]));
        let time = |offset: usize| Some(u32::from_le_bytes([byte(offset)?, byte(offset + 1)?, byte(offset + 2)?, 0]));
        let instruction = match byte(0)? {
            0x00 => Self::End,
            0x01 => Self::Step(short(1)?),
            0x02 => Self::Call(byte(1)?),
            0x10 => Self::On { output: byte(1)?, level: byte(2)? },
            0x11 => Self::Off(byte(1)?),
            0x12 => Self::Begin { supply: byte(1)?, amount: short(2)?, from: time(4)?, lasts: time(7)? },
            0x20 => Self::Wait(time(1)?),
            0x21 => Self::Await { input: byte(1)?, level: byte(2)?, limit: time(3)?, target: short(6)? },
            0x22 => Self::WaitRow(byte(1)?),
            0x30 => Self::Repeat(short(1)?),
            0x31 => Self::Again,
            0x32 => Self::Enough(short(1)?),
            0x40 => Self::Skip(short(1)?),
            0x41 => Self::Scrap,
            0x42 => Self::Fault(byte(1)?),
            _ => return None,
        };
        Some((instruction, instruction.size()))
    }

    /// How many bytes it takes.
    pub fn size(self) -> usize {
        match self {
            Self::End | Self::Again | Self::Scrap => 1,
            Self::Call(_) | Self::Off(_) | Self::WaitRow(_) | Self::Fault(_) => 2,
            Self::Step(_) | Self::On { .. } | Self::Repeat(_) | Self::Enough(_) | Self::Skip(_) => 3,
            Self::Wait(_) => 4,
            Self::Await { .. } => 8,
            Self::Begin { .. } => 10,
        }
    }

    /// Its bytes.
    pub fn encode(self) -> Vec<u8> {
        let mut bytes = vec![self.opcode()];
        let time = |bytes: &mut Vec<u8>, time: u32| bytes.extend(time.to_le_bytes().into_iter().take(3));
        match self {
            Self::End | Self::Again | Self::Scrap => {}
            Self::Call(one) | Self::Off(one) | Self::WaitRow(one) | Self::Fault(one) => bytes.push(one),
            Self::Step(short) | Self::Repeat(short) | Self::Enough(short) | Self::Skip(short) => {
                bytes.extend(short.to_le_bytes());
            }
            Self::On { output, level } => bytes.extend([output, level]),
            Self::Wait(lasts) => time(&mut bytes, lasts),
            Self::Await { input, level, limit, target } => {
                bytes.extend([input, level]);
                time(&mut bytes, limit);
                bytes.extend(target.to_le_bytes());
            }
            Self::Begin { supply, amount, from, lasts } => {
                bytes.push(supply);
                bytes.extend(amount.to_le_bytes());
                time(&mut bytes, from);
                time(&mut bytes, lasts);
            }
        }
        bytes
    }

    fn opcode(self) -> u8 {
        match self {
            Self::End => 0x00,
            Self::Step(_) => 0x01,
            Self::Call(_) => 0x02,
            Self::On { .. } => 0x10,
            Self::Off(_) => 0x11,
            Self::Begin { .. } => 0x12,
            Self::Wait(_) => 0x20,
            Self::Await { .. } => 0x21,
            Self::WaitRow(_) => 0x22,
            Self::Repeat(_) => 0x30,
            Self::Again => 0x31,
            Self::Enough(_) => 0x32,
            Self::Skip(_) => 0x40,
            Self::Scrap => 0x41,
            Self::Fault(_) => 0x42,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Instruction;

    #[test]
    fn every_instruction_reads_back_and_no_byte_is_missing() {
        let all = [
            Instruction::End,
            Instruction::Step(0x1234),
            Instruction::Call(7),
            Instruction::On { output: 1, level: 255 },
            Instruction::Off(1),
            Instruction::Begin { supply: 0, amount: 1130, from: 0x00AB_CDEF, lasts: 4000 },
            Instruction::Wait(0x00FF_FFFF),
            Instruction::Await { input: 3, level: 1, limit: 3000, target: 99 },
            Instruction::WaitRow(2),
            Instruction::Repeat(43),
            Instruction::Again,
            Instruction::Enough(40),
            Instruction::Skip(17),
            Instruction::Scrap,
            Instruction::Fault(200),
        ];
        for instruction in all {
            let bytes = instruction.encode();
            assert_eq!(Instruction::decode(&bytes, 0), Some((instruction, bytes.len())));
            assert_eq!(Instruction::decode(&bytes[..bytes.len() - 1], 0), None, "{instruction:?}");
        }
        assert_eq!(Instruction::decode(&[0x03], 0), None);
    }
}
