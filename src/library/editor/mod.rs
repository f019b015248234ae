//! What an editor asks about a place in a text: what stands there, what fits there, who else uses it, what follows
//! from it. Answers are in bytes and plain structs.
//!
//! Owns the questions; the answers come from the stages. It knows no protocol.

mod around;
mod follow;
mod hover;
mod marks;
mod outline;
mod quantity;
mod view;

pub use hover::{Hover, hover};
pub use marks::{Mark, Meaning};
pub use outline::{Fold, Item, folds, outline, selections, symbols};
pub use view::View;
