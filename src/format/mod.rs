//! From a parsed text to the same text in the one style. There are no options.
//!
//! Owns the style and the promise that nothing is lost: the text that comes out has the same tokens, the same
//! comments in the same places and the same tree, or no text comes out. It never reads names, kinds or values.
//!
//! The style:
//! - Two spaces for each level. An entry has a line of its own, unless its block was written on one line and fits
//!   100 columns: then entries stand between commas, `{ wire hot_20, gap 8 mm }`. Commas that end entries are
//!   no tokens of meaning: they come and go with the lines. An empty block is `{}`.
//! - One space between tokens; none before `,` and `:`, inside brackets, around `..`, `^` and `.`, around `/` and
//!   `*` within a unit, and between a sign and its operand.
//! - An entry is laid on one line where it fits. A longer one is broken after `then` and commas, before `because`,
//!   `until` and `else`, and around operators, the outermost place first, and goes on four spaces further in.
//! - One blank line at most, none at the start and end of a block; between two top-level declarations one of which
//!   spans lines there always is one. None stands between a doc comment and its entry.
//! - A comment at the end of a line stands two spaces behind it. Where all such comments of a row of lines (of one
//!   block, without a blank line or a deeper block between) began in one column, they do so again: two spaces behind
//!   the longest of their lines.
//! - Look-alike signs and other spellings of a unit become the one that is printed (`µm` → `um`, `×` → `*`).
//! - Lines end in `\n`; there is no byte order mark and nothing behind the last character of a line.
//!
//! Broken parts: an entry with a fault of syntax keeps its own text, and so does a whole declaration whose braces
//! do not match.

mod layout;
mod lines;
mod mark;
mod shape;
mod spell;
mod verify;
mod wrap;

use crate::syntax::Parsed;
use crate::text::FileId;

pub use shape::shape;
pub use verify::Refusal;

/// Columns of the longest line that is not broken.
pub const WIDTH: usize = 100;

/// The text in the one style; a refusal where something would be lost, which is a fault of this module.
///
/// `parsed` must be what [`crate::syntax::parse`] made of `text`.
pub fn format(file: FileId, text: &str, parsed: &Parsed) -> Result<String, Refusal> {
    let marks = mark::marks(parsed, text);
    let formatted = layout::lay_out(parsed, text, &marks);
    // Most files are formatted already, and equal texts need no comparing of tokens.
    if formatted != text {
        verify::verify(file, (text, parsed, &marks), &formatted)?;
    }
    Ok(formatted)
}
