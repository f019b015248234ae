//! Timing programs: the verifier and the interpreter against the controller's C and against an independent checker.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod bench;
mod differential;
mod mutants;
mod oracle;
mod random;
mod runtime;
mod serial;
mod vectors;
mod watch;

/// Whether the long run was asked for (`tests/deep`): full counts instead of reduced ones.
fn deep() -> bool {
    std::env::var_os("WITHY_DEEP").is_some()
}
