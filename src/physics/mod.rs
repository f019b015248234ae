//! The physics of a line bender: wire, coupling, heat in the sheet and supply.
//!
//! Owns pure functions on plain SI numbers, the source of each formula beside it. Temperatures are in kelvin unless a
//! name says otherwise. It never knows the language, its spans or its wording, and does no input or output.

pub mod air;
pub mod circuit;
pub mod collide;
pub mod coupling;
pub mod fault;
pub mod section;
pub mod supply;
pub mod table;
pub mod tension;
pub mod window;
pub mod wire;

pub use crate::units::Known;
pub use fault::{Fault, Input};
