//! The firmware on its chip: in a simulator that counts cycles (libsimavr, a general-purpose library), loaded by
//! `withy send` over a pseudo-terminal, and held against the compiler's own interpreter.
//!
//! Needs avr-gcc, avr-libc, libsimavr and libelf; `tests/run` installs them. Without them these tests fail.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod budget;
mod build;
mod dangers;
mod host;
mod loading;
mod person;
mod recipes;

/// Whether the long run was asked for (`tests/deep`): full counts instead of reduced ones.
fn deep() -> bool {
    std::env::var_os("WITHY_DEEP").is_some()
}
