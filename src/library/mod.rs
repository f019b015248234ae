//! The only door: files and settings in, findings and compiled recipes out.
//!
//! Owns loading, checking from one end to the other and what is kept between checks; all I/O goes through a
//! trait. It knows no protocol and parses no arguments.

mod check;
mod io;
mod load;

pub use check::{Checked, check};
pub use io::{Disk, Io, Memory, ReadProblem};
pub use load::{Loaded, Unreadable, load, plain};
