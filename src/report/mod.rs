//! The one shape of a finding, and its renderers.
//!
//! Owns [`Diagnostic`] and one renderer per file. It never holds the wording of a finding: whoever finds
//! the fault words it.

mod diagnostic;

pub use diagnostic::{Acceptance, Change, Class, Diagnostic, Edit, Figure, Label, Subject};
