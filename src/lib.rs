//! Withy: a recipe language, compiler and linter for heat-bending acrylic sheet on line benders.
//!
//! Data flows down this list; a module uses only what stands above it (`tests/layers.rs` checks).

pub mod physics;
pub mod report;
pub mod text;
pub mod units;
