//! The language server: each request in both encodings, edits against fresh checks, the findings of the command line,
//! and clients that break the rules.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../support/python.rs"]
mod python;
#[path = "../support/random.rs"]
mod random;

mod client;
mod edits;
mod findings;
mod independent;
mod requests;
mod wild;
