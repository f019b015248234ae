//! What an editor asks about a place in a text: what stands there, what fits there, who else uses it, what follows
//! from it. Answers are in bytes and plain structs.
//!
//! Owns the questions; the answers come from the stages. It knows no protocol.

mod action;
mod around;
mod colour;
mod complete;
mod follow;
mod hint;
mod hover;
mod marks;
mod offer;
mod outline;
mod quantity;
mod rename;
mod signature;
mod view;

pub use action::{Action, actions, mend_all};
pub use colour::{Colour, Coloured, colours};
pub use complete::complete;
pub use hint::{Hint, HintKind, hints};
pub use hover::{Hover, hover};
pub use marks::{Mark, Meaning};
pub use offer::{Offer, Sort};
pub use outline::{Fold, Item, folds, outline, selections, symbols};
pub use rename::{renamable, rename};
pub use signature::{Signature, signature};
pub use view::View;
