//! Withy: a recipe language, compiler and linter for heat-bending acrylic sheet on line benders.
//!
//! Data flows down this list; a module uses only what stands above it (`tests/layers.rs` checks).

pub mod format;
pub mod library;
pub mod names;
pub mod report;
pub mod syntax;
pub mod text;
pub mod types;
pub mod units;
