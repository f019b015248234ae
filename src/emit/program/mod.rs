//! Timing programs for tools that read other forms of them.

mod array;
mod hex;
mod text;

pub use array::c_array;
pub use hex::intel_hex;
pub use text::structured_text;
