//! The only door: files and settings in, findings and compiled recipes out.
//!
//! Owns loading, checking from one end to the other and what is kept between checks; all I/O goes through a
//! trait. It knows no protocol and parses no arguments.

mod catalogue;
mod check;
mod compare;
mod compile;
mod formatted;
mod figures;
mod io;
mod load;
mod offer;

pub use crate::emit::{page_of as rule_page, reference, rule_list};
pub use catalogue::catalogue_report;
pub use check::{Checked, Depth, Made, Plan, check};
pub use compare::{Change, Compared, compare};
pub use compile::{Compiled, Output, Refused, compile};
pub use figures::{Asked, FigureReport, NoFigures, figures};
pub use formatted::{Formatted, formatted};
pub use io::{Disk, Io, Memory, ReadProblem};
pub use load::{Loaded, Places, Unreadable, load, plain};
pub use offer::offer_uses;
