//! The only door: files and settings in, findings and compiled recipes out.
//!
//! Owns loading, checking from one end to the other and what is kept between checks; all I/O goes through a
//! trait. It knows no protocol and parses no arguments.

mod catalogue;
mod check;
mod compile;
mod figures;
mod io;
mod load;

pub use catalogue::catalogue_report;
pub use check::{Checked, Made, Plan, check};
pub use compile::{Compiled, Output, compile};
pub use figures::{Asked, FigureReport, NoFigures, figures};
pub use io::{Disk, Io, Memory, ReadProblem};
pub use load::{Loaded, Places, Unreadable, load, plain};
