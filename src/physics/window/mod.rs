//! The window of a bend: when it is ready, over and set, over all that is not known.

mod bend;
mod explore;
mod rows;
mod search;
mod unknown;
mod verdict;

pub use bend::{Bend, HeaterLine};
pub use explore::Span;
pub use rows::{Row, Rows, rows};
pub use search::{Change, Opening, is_worthwhile, search_stages, what_opens};
pub use unknown::{COUNT, Kind, Point, Unknown, Unknowns};
pub use verdict::{Closing, Verdict, Window, Worth, solve, solve_given, worth};
