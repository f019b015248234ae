//! The schema of every declaration, and the check of source against it.
//!
//! Owns the one table of entries (`schema/`), the evaluation of expressions, copies, and the catalogue that
//! ships with the compiler. It knows kinds and units, no physics.

mod call;
pub mod catalogue;
mod check;
mod common;
mod eval;
pub mod figures;
mod header;
mod merge;
mod missing;
mod pattern;
mod phrase;
mod ranges;
pub mod schema;
mod value;
mod wording;

pub use call::FUNCTIONS;
pub use check::{Checker, Env, Found};
pub use common::Common;
pub use eval::Value;
pub use header::RecipeHeader;
pub use missing::{Missing, MissingName, MissingUse};
pub use value::{Allowance, CheckedBlock, CheckedEntry, Date, LocalName, Parameter, Slot, Stage};
pub use wording::{a, all_of, any_of, usage};
