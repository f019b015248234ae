//! The only door: files and settings in, findings and compiled recipes out.
//!
//! Owns loading, checking from one end to the other and what is kept between checks; all I/O goes through a
//! trait. It knows no protocol and parses no arguments.

mod baseline;
mod cache;
mod catalogue;
mod check;
mod compare;
mod compile;
pub mod editor;
mod formatted;
mod figures;
mod io;
mod load;
mod look;
mod meant;
mod mend;
mod notes;
mod offer;
mod outcome;
mod program;
mod rehearse;
mod renew;
mod session;
mod settings;
mod since;
mod whole;

pub use crate::emit::{BendNote, RecipeNote, page_of as rule_page, reference, rule_list};
pub use crate::plan::Progress;
pub use crate::program::{Client, Line, NotSent, hexadecimal};
pub use crate::rehearse::{FAULTS, Fault, trouble};
pub use baseline::{Baseline, Held};
pub use cache::CacheFolder;
pub use catalogue::catalogue_report;
pub use check::{Aid, AsTheyAre, Checked, Depth, Made, Plan, Taker, check, check_taking, check_with};
pub use compare::{Change, Compared, compare};
pub use compile::{Compiled, OBSTACLES, Output, Refused, compile, is_output};
pub use figures::{Asked, FigureReport, NoFigures, figures};
pub use formatted::{Formatted, Stretch, formatted, stretches};
pub use io::{Disk, Io, Memory, ReadProblem, Unreadable, Walked, system_date};
pub use load::{Loaded, Places, load, plain};
pub use meant::{Meant, NotMeant, Purpose, meant};
pub use mend::{Chosen, MendOutcome, Mended, Task, mend};
pub use notes::{files_of, note};
pub use program::{event_line, image_of, program_listing};
pub use rehearse::{NotRehearsed, Rehearse, Rehearsed, rehearsal, rehearse};
pub use renew::{Edited, Looks, Renewed};
pub use session::Session;
pub use settings::{SETTINGS, Settings};
pub use since::{changed_since, concerned};
