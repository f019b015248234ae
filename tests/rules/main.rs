//! Tests of the rules: their pages, their fixtures, what their edits do, and a library with seeded faults.
//!
//! `WITHY_RULE_OFF=thin-margin` runs them with one rule switched off: its fixtures must then fail.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../common/mod.rs"]
#[allow(dead_code, reason = "shared with the tests of the whole compiler")]
mod common;
#[path = "../support/dice.rs"]
#[allow(dead_code, reason = "shared with the tests of the physics")]
mod dice;
mod edits;
mod found;
mod limits;
mod mark;
mod pages;
#[allow(clippy::assigning_clones, clippy::format_push_string, reason = "a table of faults reads better so")]
mod seeded;
