//! Timing programs for tools that read other forms of them.

mod array;
mod hex;
mod machine;
mod structured_text;

pub use array::c_array;
pub use hex::intel_hex;
pub use machine::machine_header;
pub use structured_text::structured_text;
