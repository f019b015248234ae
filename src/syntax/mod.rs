//! From text to a tree: tokens (logos), a lossless token table, and a parser (chumsky) that recovers entry
//! by entry.
//!
//! Owns the shape of the language; it cannot fail. It never knows names, kinds or units.

mod descent;
mod expr;
mod fault;
mod grammar;
mod mentions;
mod moved;
mod parse;
mod slice;
mod slip;
mod table;
mod token;
mod tree;

pub use expr::{Argument, Expr, ExprKind, Measure, Number, Operator, Path, UnitSyntax};
pub use mentions::mentions;
pub use parse::{Kept, Parsed, parse};
pub use slice::{DECLARATIONS, is_declaration_word, opens_declaration};
pub use slip::{decimal_comma, iso_date, needless_sign, path_without_quotes};
#[cfg(test)]
pub use table::READS;
pub use table::{Comment, TokenTable};
pub use token::Kind;
pub use tree::{Arg, Block, Entry, List, Tree};
