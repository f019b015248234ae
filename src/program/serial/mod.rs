//! The serial protocol of `grammar/program-format.md`, from the sending side. It has no port: bytes go through a trait.

mod client;
mod frame;

pub use client::{Client, Hello, Line, Logged, NotSent, SerialError};
pub use frame::{Unframed, frame};
