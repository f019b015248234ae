//! The `withy` command: one file per subcommand, exit codes in one place.
//!
//! Owns arguments, the terminal and the file system. It reaches the compiler only through `library`.

mod aids;
mod arguments;
mod catalogue;
mod compare;
mod compile;
mod exit;
mod figures;
mod files;
mod format;
mod lint;
mod listing;
mod manual;
mod output;
mod paths;
mod planned;
mod rehearse;
mod rules;
mod send;
mod start;

use std::ffi::OsString;

use clap::Parser;

use crate::cli::arguments::{Arguments, Command};

pub use exit::Exit;

/// Runs the command with the given arguments, the program's name first. `serve` is the language server, which stands
/// beside this module; it tells whether it was ended in order.
pub fn run(arguments: impl IntoIterator<Item = OsString>, serve: impl FnOnce() -> bool) -> Exit {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are what was asked for; anything else is wrong use.
            let exit = if error.use_stderr() { Exit::WrongUse } else { Exit::Clean };
            return if error.print().is_ok() { exit } else { Exit::Unreadable };
        }
    };
    match arguments.command {
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Compile(arguments) => compile::run(&arguments),
        Command::Completions(arguments) => manual::completions(&arguments),
        Command::Manual => manual::manual(),
        Command::Reference => output::print(&crate::library::reference()),
        Command::Format(arguments) => format::run(&arguments),
        Command::Catalogue(arguments) => catalogue::run(&arguments),
        Command::Figures(arguments) => figures::run(&arguments),
        Command::LanguageServer(_) => {
            if serve() {
                Exit::Clean
            } else {
                Exit::Findings
            }
        }
        Command::Lint(arguments) => lint::run(&arguments),
        Command::Listing(arguments) => listing::run(&arguments),
        Command::Rehearse(arguments) => rehearse::run(&arguments),
        Command::Rules(arguments) => rules::run(&arguments),
        Command::Send(arguments) => send::run(&arguments),
        Command::Start(arguments) => start::run(&arguments),
    }
}
