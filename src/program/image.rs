//! Putting an image together.

use crate::program::crc::crc32;
use crate::program::instruction::Instruction;
use crate::program::layout::{HeatRow, MAGIC, VERSION, Verdict};
use crate::program::machine::Machine;

/// Everything that goes into an image.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Image {
    /// Digest of what was resolved.
    pub digest: [u8; 16],
    /// What its figures are worth.
    pub verdict: Verdict,
    /// Its name.
    pub name: String,
    /// Rows of the step table.
    pub steps: u16,
    /// The wiring.
    pub machine: Machine,
    /// Texts for the operator.
    pub calls: Vec<String>,
    /// Tables of heat times.
    pub tables: Vec<Vec<HeatRow>>,
    /// The code of each lane.
    pub lanes: Vec<Vec<Instruction>>,
}

impl Image {
    /// Its bytes. What does not fit its field is cut: the verifier refuses what comes of it.
    pub fn encode(&self) -> Vec<u8> {
        let count = |length: usize| u8::try_from(length).unwrap_or(u8::MAX);
        let short = |length: usize| u16::try_from(length).unwrap_or(u16::MAX).to_le_bytes();
        let machine = &self.machine;
        let mut bytes = Vec::from(MAGIC);
        bytes.extend(VERSION.to_le_bytes());
        bytes.extend([0, 0]);
        bytes.extend(self.digest);
        bytes.extend(machine.bench.to_le_bytes());
        bytes.extend(machine.digest().to_le_bytes());
        bytes.extend([self.verdict.number(), machine.operators]);
        let counts = [machine.outputs.len(), machine.inputs.len(), machine.supplies.len()];
        bytes.extend(counts.map(count));
        bytes.extend([self.calls.len(), self.tables.len(), self.lanes.len()].map(count));
        bytes.extend(self.steps.to_le_bytes());
        let text = |bytes: &mut Vec<u8>, text: &str| {
            bytes.push(count(text.len()));
            bytes.extend(text.as_bytes());
        };
        text(&mut bytes, &self.name);
        bytes.extend(machine.tables(true));
        for call in &self.calls {
            text(&mut bytes, call);
        }
        for rows in &self.tables {
            bytes.push(count(rows.len()));
            for row in rows {
                bytes.extend(row.thickness.to_le_bytes());
                bytes.extend(row.time.to_le_bytes().into_iter().take(3));
            }
        }
        for lane in &self.lanes {
            let code: Vec<u8> = lane.iter().flat_map(|instruction| instruction.encode()).collect();
            bytes.extend(short(code.len()));
            bytes.extend(code);
        }
        close(bytes)
    }
}

/// Writes the length into the header and the check sum to the end.
pub fn close(mut bytes: Vec<u8>) -> Vec<u8> {
    let length = u16::try_from(bytes.len() + 4).unwrap_or(u16::MAX).to_le_bytes();
    for (place, byte) in bytes.iter_mut().skip(6).zip(length) {
        *place = byte;
    }
    let sum = crc32(&bytes);
    bytes.extend(sum.to_le_bytes());
    bytes
}
