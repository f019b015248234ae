//! The one place where bytes, paths and findings become what the protocol calls positions, URIs and diagnostics, and
//! back.

mod diagnostic;
mod position;
mod uri;

pub use diagnostic::{Pages, Shown, WrittenPlace, WrittenUri, diagnostic};
pub use position::{Encoding, Lines};
pub use uri::{path_of, uri_of};
