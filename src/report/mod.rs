//! The one shape of a finding, and its renderers.
//!
//! Owns [`Diagnostic`] and one renderer per file, each a pure function from findings and files to text. It
//! never holds the wording of a finding: whoever finds the fault words it.

pub mod counts;
mod details;
mod diagnostic;
pub mod edit;
mod figures;
pub mod json;
pub mod junit;
mod kept;
mod order;
mod place;
mod plain;
mod rule_info;
pub mod sarif;
pub mod short;
mod source;
mod summary;
pub mod terminal;

pub use counts::Counts;
pub use details::message;
pub use diagnostic::{Acceptance, Change, Class, Diagnostic, Edit, Figure, Label, Subject};
pub use kept::Kept;
pub use order::sorted;
pub use rule_info::RuleInfo;
pub use summary::summary;
