//! The `withy` command.

use std::process::ExitCode;

use withy::cli::{Exit, run};
use withy::server::serve_stdio;

fn main() -> ExitCode {
    // A panic is a fault of ours: it is told as such, and ends with a number of its own.
    std::panic::set_hook(Box::new(|panic| {
        eprintln!("withy: a fault of this program, please report it with the files that show it: {panic}");
    }));
    let exit = std::panic::catch_unwind(|| run(std::env::args_os(), serve_stdio)).unwrap_or(Exit::Fault);
    ExitCode::from(exit.code())
}
