//! Support for editors, tested in real ones. `tests/run` installs what is needed: a Node with the packages of
//! `editors/vscode`, Neovim, Emacs and Vim.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod emacs;
mod helix;
mod home;
mod kakoune;
mod neovim;
mod textmate;
mod vim;
mod vscode;

use std::path::{Path, PathBuf};

/// A file of the project.
fn at(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// A program of the given name, or the one that a variable of the environment names.
fn program(variable: &str, name: &str) -> String {
    std::env::var(variable).unwrap_or_else(|_| name.to_owned())
}
