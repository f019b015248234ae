//! Withy: a recipe language, compiler and linter for heat-bending acrylic sheet on line benders.
//!
//! Data flows down this list; a module uses only what stands above it (`tests/layers.rs` checks).

pub mod text;
pub mod report;
pub mod units;
pub mod syntax;
pub mod format;
pub mod names;
pub mod types;
pub mod model;
pub mod physics;
pub mod plan;
pub mod program;
pub mod rehearse;
pub mod lint;
pub mod emit;
pub mod library;
pub mod cli;
pub mod server;
