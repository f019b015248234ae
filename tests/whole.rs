//! Tests of the whole compiler, from text to files: one program, so that it is linked once.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod acceptances;
mod bend_checks;
mod binary;
mod bounds;
mod ci;
mod common;
mod deletions;
#[path = "support/dice.rs"]
mod dice;
mod examples;
mod kept;
mod layers;
mod order;
mod mends;
#[cfg(unix)]
mod odd;
mod physics_examples;
mod physics_refused;
mod poor;
#[path = "support/python.rs"]
mod python;
mod readme;
mod reference_page;
mod rehearse;
mod settings;
mod timing;
mod twenty;
mod wrong;
