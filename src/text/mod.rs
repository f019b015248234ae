//! Source text: files, spans and line positions.
//!
//! Owns bytes, file identities, byte spans and the conversion of offsets to lines and columns (and to
//! UTF-16 for editors). It never knows what a recipe is.

mod changed;
mod files;
mod lines;
mod span;

pub use changed::{ChangedLines, Follows};
pub use files::{FileId, Files, SourceFile};
pub use lines::{LineIndex, Position};
pub use span::Span;
