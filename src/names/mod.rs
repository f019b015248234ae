//! Who is who: declarations, `use`, scopes and the nearest name to a wrong one.
//!
//! Owns one namespace per file, what `use` brings into it, and cycles among files. It never knows what a
//! declaration means.

mod kind;
mod nearest;
mod resolve;
mod uses;

pub use kind::DeclKind;
pub use nearest::nearest;
pub use resolve::{Decl, DeclId, Found, Names, Shape, Source, declared, is_good_name, resolve};
pub use uses::{UseLine, UseTarget, cycles, use_lines};
