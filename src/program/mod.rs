//! Timing programs: the bytes that a controller runs, the proof that they can do no harm, and what they do.
//!
//! Owns the format of `grammar/program-format.md`: instructions, images, the verifier, the interpreter and the listing.
//! It knows no model types.

mod assemble;
mod crc;
mod encode;
mod image;
mod instruction;
mod layout;
mod listing;
mod machine;
mod refusal;
mod run;
mod serial;
mod verify;

pub use assemble::{Assembler, Label};
pub use crc::{crc16, crc32};
pub use encode::{
    Encoded, Heating, LanePlan, MOST_PARTS, Mark, PartLoop, Pass, ProgramPlan, Stage, StageTime, Stretch, WarmUp,
    encode, stretches, thicknesses,
};
pub use image::{Image, close};
pub use instruction::Instruction;
pub use layout::{
    HeatRow, LONGEST_CALL, LONGEST_NAME, Layout, MAGIC, MOST_CALLS, MOST_ROWS, MOST_TABLES, VERSION, Verdict,
};
pub use listing::{hexadecimal, listing};
pub use machine::{
    Input, InputRole, MOST_INPUTS, MOST_LANES, MOST_OUTPUTS, MOST_SUPPLIES, Machine, Output, OutputRole, SwitchKind,
    bench_number,
};
pub use refusal::{Reason, Refusal};
pub use run::{
    CHATTER, CURRENT_FALLS, Controller, DOWN_ABSENT, Event, EventKind, FaultCode, HELD, LEAK, LONGEST_TICK, NO_LANE,
    NotLoaded, SHORTEST_REST, SHOWS_DARK, SOUNDS, State, WINDOW,
};
pub use serial::{Client, Hello, Line, Logged, NotSent, SerialError, Unframed, frame};
pub use verify::{DEEPEST, FIRST_PROGRAM_FAULT, Verified, verify};
