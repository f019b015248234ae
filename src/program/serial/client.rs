//! Talking to a controller.

use std::fmt;

use crate::program::layout::Layout;
use crate::program::refusal::{Reason, Refusal};
use crate::program::serial::frame::{Unframed, frame};

/// A serial line. Reading waits a while, and gives nothing when nothing comes.
pub trait Line {
    /// Sends bytes.
    fn send(&mut self, bytes: &[u8]) -> Result<(), String>;
    /// The bytes that come within a moment; none if none come.
    fn receive(&mut self) -> Result<Vec<u8>, String>;
}

/// How often something is asked before the line counts as dead.
const ASKED: usize = 4;
/// How often reading may give nothing, and how many bytes may come, before it is asked again.
const PATIENCE: usize = 8;
const NOISE: usize = 4096;
/// Bytes of an image in one message.
const PIECE: usize = 64;
/// The protocol that is spoken.
const PROTOCOL: u8 = 1;

/// What a controller says of itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hello {
    /// Version of its runtime.
    pub version: u16,
    /// Its bench.
    pub bench: u32,
    /// Its wiring.
    pub wiring: u32,
    /// Bytes for one program.
    pub space: u16,
    /// What it is doing: 0 self-test, 1 idle, 2 running, 3 fault, 4 checking.
    pub state: u8,
    /// Digest and name of the program it holds.
    pub loaded: Option<([u8; 16], String)>,
}

/// One line of a controller's log.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Logged {
    /// Since the program started, ms.
    pub time: u32,
    /// The lane; 255: none.
    pub lane: u8,
    /// Row of the step table.
    pub step: u16,
    /// What happened.
    pub kind: u8,
    /// More about it.
    pub detail: u16,
}

/// What went wrong on the line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SerialError {
    /// The port itself.
    Port(String),
    /// Nobody answers.
    Silent,
    /// Something answers, but not as a controller does.
    Strange,
    /// The controller says no: its code.
    Refused(u8),
}

impl fmt::Display for SerialError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Port(why) => write!(f, "the line broke: {why}"),
            Self::Silent => f.write_str(
                "no answer: is the controller powered, is this its port, and does nobody else use the port?",
            ),
            Self::Strange => f.write_str("something answers, but it is no controller of this kind or version"),
            Self::Refused(2) => f.write_str("the controller is at work: let the program end, or stop it at the bench"),
            Self::Refused(3) => f.write_str("the program is larger than the controller's program space"),
            Self::Refused(6) => f.write_str("the controller could not write its memory: have it repaired"),
            Self::Refused(code) => write!(f, "the controller refuses with code {code}: load the program again"),
        }
    }
}

/// Why a program was not sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotSent {
    /// The line.
    Line(SerialError),
    /// The line, after so many bytes of the program.
    BrokenOff(SerialError, usize),
    /// The image itself is not safe, or not for this controller; nothing was sent.
    Refused(Refusal),
    /// The controller refuses it.
    RefusedThere(Option<Reason>, u16),
    /// What was read back differs, from this byte on.
    ReadsBackWrong(usize),
}

impl From<SerialError> for NotSent {
    fn from(error: SerialError) -> Self {
        Self::Line(error)
    }
}

impl fmt::Display for NotSent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line(error) => error.fmt(f),
            Self::BrokenOff(error, sent) => write!(
                f,
                "{error}\nIt broke off after {sent} bytes. The controller keeps the program that it had: send this one again."
            ),
            Self::Refused(refusal) => refusal.fmt(f),
            Self::RefusedThere(Some(reason), at) => {
                write!(f, "the controller refuses it at byte {at}: {}", reason.text())
            }
            Self::RefusedThere(None, at) => write!(f, "the controller refuses it at byte {at}"),
            Self::ReadsBackWrong(at) => {
                write!(f, "what the controller reads back differs from byte {at} on: do not use it, send it again")
            }
        }
    }
}

/// The sending side of a line.
pub struct Client<'a> {
    line: &'a mut dyn Line,
    number: u8,
}

impl<'a> Client<'a> {
    /// On a line that is open.
    pub fn new(line: &'a mut dyn Line) -> Self {
        Self { line, number: 0 }
    }

    fn ask(&mut self, kind: u8, operands: &[u8]) -> Result<Vec<u8>, SerialError> {
        self.number = self.number.wrapping_add(1);
        let mut message = vec![kind, self.number];
        message.extend(operands);
        let framed = frame(&message);
        let mut noise = false;
        for _ in 0..ASKED {
            self.line.send(&framed).map_err(SerialError::Port)?;
            let mut unframed = Unframed::default();
            let (mut idle, mut bytes) = (0, 0);
            while idle < PATIENCE && bytes < NOISE {
                let received = self.line.receive().map_err(SerialError::Port)?;
                idle += usize::from(received.is_empty());
                bytes += received.len();
                noise |= !received.is_empty();
                for byte in received {
                    match unframed.byte(byte).as_deref() {
                        Some([0xFF, number, code]) if *number == self.number => {
                            return Err(SerialError::Refused(*code));
                        }
                        Some([answer, number, rest @ ..]) if *answer == kind | 0x80 && *number == self.number => {
                            return Ok(rest.to_vec());
                        }
                        // Damaged, or an answer to something older: what was asked is still to come.
                        _ => {}
                    }
                }
            }
        }
        Err(if noise { SerialError::Strange } else { SerialError::Silent })
    }

    /// Who is there?
    pub fn hello(&mut self) -> Result<Hello, SerialError> {
        let answer = self.ask(1, &[])?;
        let mut fields = Fields(&answer);
        if fields.number(1)? != u32::from(PROTOCOL) {
            return Err(SerialError::Strange);
        }
        let version = fields.short()?;
        let (bench, wiring) = (fields.number(4)?, fields.number(4)?);
        let (space, state, loaded) = (fields.short()?, fields.byte()?, fields.byte()?);
        let digest = <[u8; 16]>::try_from(fields.bytes(16)?).map_err(|_| SerialError::Strange)?;
        let length = usize::from(fields.byte()?);
        let name = String::from_utf8_lossy(fields.bytes(length)?).into_owned();
        let loaded = (loaded == 1).then_some((digest, name));
        Ok(Hello { version, bench, wiring, space, state, loaded })
    }

    /// Sends an image, commits it and reads it back; `progress` is told how many bytes are there.
    pub fn send(&mut self, image: &[u8], mut progress: impl FnMut(usize)) -> Result<(), NotSent> {
        let verified = crate::program::verify(image, None).map_err(NotSent::Refused)?;
        fits(&verified.layout, &self.hello()?, image.len()).map_err(NotSent::Refused)?;
        let length = u16::try_from(image.len()).unwrap_or(u16::MAX);
        self.ask(2, &length.to_le_bytes())?;
        for (index, piece) in image.chunks(PIECE).enumerate() {
            let mut operands = u16::try_from(index * PIECE).unwrap_or(u16::MAX).to_le_bytes().to_vec();
            operands.extend(piece);
            self.ask(3, &operands).map_err(|error| NotSent::BrokenOff(error, index * PIECE))?;
            progress(index * PIECE + piece.len());
        }
        let answer = self.ask(4, &[]);
        match answer.as_deref() {
            // The answer may have got lost after the commit, and asking again is out of order: what is read back decides.
            Ok([0, ..]) | Err(SerialError::Refused(4)) => {}
            Ok([reason, low, high]) => {
                return Err(NotSent::RefusedThere(Reason::from_number(*reason), u16::from_le_bytes([*low, *high])));
            }
            Ok(_) => return Err(SerialError::Strange.into()),
            Err(error) => return Err(error.clone().into()),
        }
        for (index, piece) in image.chunks(PIECE).enumerate() {
            let mut operands = u16::try_from(index * PIECE).unwrap_or(u16::MAX).to_le_bytes().to_vec();
            operands.push(u8::try_from(piece.len()).unwrap_or(0));
            if self.ask(5, &operands)? != piece {
                return Err(NotSent::ReadsBackWrong(index * PIECE));
            }
        }
        Ok(())
    }

    /// The log, as far as the controller still holds it.
    pub fn log(&mut self) -> Result<Vec<Logged>, SerialError> {
        let mut all = Vec::new();
        let mut next: u16 = 0;
        loop {
            let answer = self.ask(6, &next.to_le_bytes())?;
            let mut fields = Fields(&answer);
            let (total, first, count) = (fields.short()?, fields.short()?, fields.byte()?);
            for _ in 0..count {
                let time = fields.number(4)?;
                let lane = fields.byte()?;
                let step = fields.short()?;
                let kind = fields.byte()?;
                all.push(Logged { time, lane, step, kind, detail: fields.short()? });
            }
            next = first.wrapping_add(u16::from(count));
            if count == 0 || next == total {
                return Ok(all);
            }
        }
    }
}

/// Whether a program is for this controller, before anything of it is changed.
fn fits(layout: &Layout, hello: &Hello, length: usize) -> Result<(), Refusal> {
    let no = |reason, offset| Err(Refusal { reason, offset });
    if length > usize::from(hello.space) {
        return no(Reason::TooLarge, 6);
    }
    if layout.machine.bench != hello.bench {
        return no(Reason::OtherBench, 24);
    }
    if layout.machine.digest() != hello.wiring {
        return no(Reason::OtherWiring, 28);
    }
    Ok(())
}

/// Fields of an answer.
struct Fields<'a>(&'a [u8]);

impl<'a> Fields<'a> {
    fn bytes(&mut self, count: usize) -> Result<&'a [u8], SerialError> {
        let (taken, rest) = self.0.split_at_checked(count).ok_or(SerialError::Strange)?;
        self.0 = rest;
        Ok(taken)
    }

    fn number(&mut self, count: usize) -> Result<u32, SerialError> {
        Ok(self.bytes(count)?.iter().rev().fold(0, |number, byte| number << 8 | u32::from(*byte)))
    }

    fn short(&mut self) -> Result<u16, SerialError> {
        Ok(u16::try_from(self.number(2)?).unwrap_or(0))
    }

    fn byte(&mut self) -> Result<u8, SerialError> {
        Ok(u8::try_from(self.number(1)?).unwrap_or(0))
    }
}
