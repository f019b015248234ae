//! Where the parts of an image lie. Reading one checks everything but the code of the lanes.

use crate::program::crc::crc32;
use crate::program::machine::{
    Input, InputRole, MOST_INPUTS, MOST_LANES, MOST_OUTPUTS, MOST_SUPPLIES, Machine, Output, OutputRole, SwitchKind,
};
use crate::program::refusal::{Reason, Refusal};

/// The first bytes of an image.
pub const MAGIC: [u8; 4] = *b"WTHY";
/// The version of the format.
pub const VERSION: u16 = 1;
/// Bytes before the name.
pub(super) const HEADER: usize = 43;
/// Bytes of the check sum at the end.
pub(super) const TRAILER: usize = 4;
/// Bytes of an output in its table.
const OUTPUT: usize = 8;
/// Bytes of an input in its table.
const INPUT: usize = 5;
/// Bytes of a row of a table of heat times.
const ROW: usize = 5;
/// The longest program name, bytes.
pub const LONGEST_NAME: usize = 20;
/// The longest call, bytes.
pub const LONGEST_CALL: usize = 60;
/// The most calls.
pub const MOST_CALLS: usize = 64;
/// The most tables of heat times.
pub const MOST_TABLES: usize = 4;
/// The most rows of such a table.
pub const MOST_ROWS: usize = 16;

/// What the figures behind a program are worth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Hold over everything that is not exactly known.
    Proved,
    /// Hold at nominal values only.
    Nominal,
}

impl Verdict {
    /// Its number in an image.
    pub fn number(self) -> u8 {
        match self {
            Self::Proved => 1,
            Self::Nominal => 2,
        }
    }

    /// For people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Proved => "proved",
            Self::Nominal => "nominal",
        }
    }
}

/// A row of a table of heat times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeatRow {
    /// Measured thickness, 0.01 mm.
    pub thickness: u16,
    /// ms
    pub time: u32,
}

/// What an image holds, and where its lanes lie.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// Digest of what was resolved.
    pub digest: [u8; 16],
    /// What its figures are worth.
    pub verdict: Verdict,
    /// Its name.
    pub name: String,
    /// Rows of the step table.
    pub steps: u16,
    /// The wiring it was made for; `space` is the image's own length.
    pub machine: Machine,
    /// Texts for the operator.
    pub calls: Vec<String>,
    /// Tables of heat times, all of the same number of rows.
    pub tables: Vec<Vec<HeatRow>>,
    /// Offset of the table of outputs.
    pub outputs_at: usize,
    /// Offset of the tables of heat times.
    pub rows_at: usize,
    /// Offset and length of the code of each lane.
    pub lanes: Vec<(usize, usize)>,
}

impl Layout {
    /// How many rows of heat times there are to choose from; 0 without tables.
    pub fn rows(&self) -> usize {
        self.tables.first().map_or(0, Vec::len)
    }

    /// The time of a row as it now stands in the image, ms.
    pub(super) fn row_time(&self, image: &[u8], table: u8, row: u8) -> Option<u32> {
        let (table, row) = (usize::from(table), usize::from(row));
        if table >= self.tables.len() || row >= self.rows() {
            return None;
        }
        let at = self.rows_at + table * (1 + ROW * self.rows()) + 1 + ROW * row + 2;
        let bytes = image.get(at..at + 3)?;
        Some(bytes.iter().rev().fold(0, |time, byte| time << 8 | u32::from(*byte)))
    }

    /// Reads an image.
    pub fn read(image: &[u8]) -> Result<Self, Refusal> {
        let mut reader = Reader { image, at: 0, end: image.len() };
        let sixteen = |bytes: &[u8]| <[u8; 16]>::try_from(bytes).unwrap_or_default();
        if image.len() < HEADER + TRAILER {
            // Whatever else it is, say so if it does not even begin like a program.
            let begins = image.len() >= MAGIC.len() && !image.starts_with(&MAGIC);
            return refuse(if begins { Reason::Magic } else { Reason::Length }, 0);
        }
        if reader.bytes(4)? != MAGIC {
            return refuse(Reason::Magic, 0);
        }
        if reader.short()? != VERSION {
            return refuse(Reason::Version, 4);
        }
        if usize::from(reader.short()?) != image.len() {
            return refuse(Reason::Length, 6);
        }
        reader.end = image.len() - TRAILER;
        let (body, sum) = image.split_at(reader.end);
        if crc32(body).to_le_bytes() != *sum {
            return refuse(Reason::CheckSum, reader.end);
        }
        let digest = sixteen(reader.bytes(16)?);
        let bench = reader.long()?;
        let wiring = reader.long()?;
        let verdict = match reader.byte()? {
            1 => Verdict::Proved,
            2 => Verdict::Nominal,
            _ => return refuse(Reason::Header, 32),
        };
        let operators = reader.counted(1, 8)?;
        let outputs = reader.counted(1, MOST_OUTPUTS)?;
        let inputs = reader.counted(1, MOST_INPUTS)?;
        let supplies = reader.counted(1, MOST_SUPPLIES)?;
        let calls = reader.counted(0, MOST_CALLS)?;
        let tables = reader.counted(0, MOST_TABLES)?;
        let lanes = reader.counted(1, MOST_LANES)?;
        let steps = reader.short()?;
        let name = reader.text(LONGEST_NAME)?;
        let outputs_at = reader.at;
        let machine = Machine {
            bench,
            operators: u8::try_from(operators).unwrap_or(1),
            space: u16::try_from(image.len()).unwrap_or(u16::MAX),
            outputs: Vec::new(),
            inputs: Vec::new(),
            supplies: Vec::new(),
        };
        let machine = reader.tables(machine, outputs, inputs, supplies)?;
        if machine.digest() != wiring {
            return refuse(Reason::OtherWiring, 28);
        }
        let calls = (0..calls).map(|_| reader.text(LONGEST_CALL)).collect::<Result<_, _>>()?;
        let rows_at = reader.at;
        let tables = reader.rows(tables)?;
        let lanes = (0..lanes).map(|_| reader.lane()).collect::<Result<_, _>>()?;
        if reader.at != reader.end {
            return refuse(Reason::LaneLength, reader.at);
        }
        Ok(Self { digest, verdict, name, steps, machine, calls, tables, outputs_at, rows_at, lanes })
    }
}

/// A refusal as a result.
pub(super) fn refuse<T>(reason: Reason, offset: usize) -> Result<T, Refusal> {
    Err(Refusal { reason, offset: u16::try_from(offset).unwrap_or(u16::MAX) })
}

struct Reader<'a> {
    image: &'a [u8],
    at: usize,
    end: usize,
}

impl<'a> Reader<'a> {
    fn bytes(&mut self, count: usize) -> Result<&'a [u8], Refusal> {
        let to = self.at + count;
        match self.image.get(self.at..to) {
            Some(bytes) if to <= self.end => {
                self.at = to;
                Ok(bytes)
            }
            _ => refuse(Reason::Length, self.at),
        }
    }

    fn byte(&mut self) -> Result<u8, Refusal> {
        Ok(self.bytes(1)?.first().copied().unwrap_or(0))
    }

    fn short(&mut self) -> Result<u16, Refusal> {
        let bytes = self.bytes(2)?;
        Ok(u16::from_le_bytes(bytes.try_into().unwrap_or_default()))
    }

    fn long(&mut self) -> Result<u32, Refusal> {
        let bytes = self.bytes(4)?;
        Ok(u32::from_le_bytes(bytes.try_into().unwrap_or_default()))
    }

    fn counted(&mut self, least: usize, most: usize) -> Result<usize, Refusal> {
        let at = self.at;
        let count = usize::from(self.byte()?);
        if (least..=most).contains(&count) { Ok(count) } else { refuse(Reason::Header, at) }
    }

    /// A text with its length before it: no control characters, so that a display is never confused.
    fn text(&mut self, longest: usize) -> Result<String, Refusal> {
        let at = self.at;
        let length = usize::from(self.byte()?);
        if length == 0 || length > longest {
            return refuse(Reason::Text, at);
        }
        let bytes = self.bytes(length)?;
        if bytes.iter().any(|byte| *byte < 0x20 || *byte == 0x7f) {
            return refuse(Reason::Text, at);
        }
        Ok(String::from_utf8_lossy(bytes).into_owned())
    }

    fn tables(
        &mut self,
        mut machine: Machine,
        outputs: usize,
        inputs: usize,
        supplies: usize,
    ) -> Result<Machine, Refusal> {
        for _ in 0..outputs {
            let at = self.at;
            match self.output()? {
                Some(output) if Machine::output_is_sound(output, supplies) => machine.outputs.push(output),
                _ => return refuse(Reason::OutputTable, at),
            }
        }
        let inputs_at = self.at;
        for _ in 0..inputs {
            let at = self.at;
            match self.input()? {
                Some(input) if machine.input_is_sound(input, supplies) => machine.inputs.push(input),
                _ => return refuse(Reason::InputTable, at),
            }
        }
        if machine.input(InputRole::Start).is_none() || machine.input(InputRole::Stop).is_none() {
            return refuse(Reason::InputTable, inputs_at);
        }
        for _ in 0..supplies {
            let at = self.at;
            match self.short()? {
                0 => return refuse(Reason::SupplyTable, at),
                capacity => machine.supplies.push(capacity),
            }
        }
        Ok(machine)
    }

    fn output(&mut self) -> Result<Option<Output>, Refusal> {
        let mut part = Reader { image: self.bytes(OUTPUT)?, at: 0, end: OUTPUT };
        let (pin, role, switch, supply) = (part.byte()?, part.byte()?, part.byte()?, part.byte()?);
        let (longest, draw) = (part.short()?, part.short()?);
        let both = OutputRole::from_number(role).zip(SwitchKind::from_number(switch));
        Ok(both.map(|(role, switch)| Output { pin, role, switch, supply, longest, draw }))
    }

    fn input(&mut self) -> Result<Option<Input>, Refusal> {
        let mut part = Reader { image: self.bytes(INPUT)?, at: 0, end: INPUT };
        let (pin, role, subject) = (part.byte()?, part.byte()?, part.byte()?);
        let (flags, debounce) = (part.byte()?, part.byte()?);
        let role = InputRole::from_numbers(role, subject).filter(|_| flags <= 1);
        Ok(role.map(|role| Input { pin, role, normally_closed: flags == 1, debounce }))
    }

    fn rows(&mut self, tables: usize) -> Result<Vec<Vec<HeatRow>>, Refusal> {
        let mut all: Vec<Vec<HeatRow>> = Vec::new();
        for _ in 0..tables {
            let at = self.at;
            let count = usize::from(self.byte()?);
            let same = all.first().is_none_or(|first| first.len() == count);
            if !(1..=MOST_ROWS).contains(&count) || !same {
                return refuse(Reason::RowTable, at);
            }
            let mut rows = Vec::new();
            for _ in 0..count {
                let at = self.at;
                let mut part = Reader { image: self.bytes(ROW)?, at: 0, end: ROW };
                let thickness = part.short()?;
                let time = u32::from_le_bytes([part.byte()?, part.byte()?, part.byte()?, 0]);
                if time == 0 {
                    return refuse(Reason::RowTable, at);
                }
                rows.push(HeatRow { thickness, time });
            }
            all.push(rows);
        }
        Ok(all)
    }

    fn lane(&mut self) -> Result<(usize, usize), Refusal> {
        let at = self.at;
        let length = usize::from(self.short()?);
        let from = self.at;
        if length == 0 || from + length > self.end {
            return refuse(Reason::LaneLength, at);
        }
        self.at = from + length;
        Ok((from, length))
    }
}
