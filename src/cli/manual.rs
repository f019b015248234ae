use clap::CommandFactory;

use crate::cli::arguments::{Arguments, CompletionsArguments};
use crate::cli::exit::Exit;
use crate::cli::output::print;

/// `withy manual`: the man page.
pub fn manual() -> Exit {
    let mut page = Vec::new();
    match clap_mangen::Man::new(Arguments::command()).render(&mut page) {
        Ok(()) => print(&String::from_utf8_lossy(&page)),
        Err(_) => Exit::Fault,
    }
}

/// `withy completions`: what a shell needs to complete arguments.
pub fn completions(arguments: &CompletionsArguments) -> Exit {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "withy", &mut script);
    print(&String::from_utf8_lossy(&script))
}
