use std::io::Read;
use std::path::Path;

use crate::cli::arguments::FormatArguments;
use crate::cli::exit::Exit;
use crate::cli::files::replace;
use crate::cli::output::print;
use crate::cli::paths::find;
use crate::library::{Disk, Formatted, Io, Purpose, formatted};
use crate::report::{edit, short};

/// `withy format`
pub fn run(arguments: &FormatArguments) -> Exit {
    let (meant, places, mut exit) = match find(&arguments.paths, Purpose::Sources) {
        Ok(found) => found,
        Err(exit) => return exit,
    };
    if arguments.paths.iter().any(|path| path.as_os_str() == "-") {
        exit = exit.max(standard_input(arguments));
    }
    for file in &meant.files {
        // Named as a person at this prompt would.
        exit = exit.max(one(file.strip_prefix(&places.shown_from).unwrap_or(file), arguments));
    }
    exit
}

fn standard_input(arguments: &FormatArguments) -> Exit {
    let mut text = String::new();
    if let Err(error) = std::io::stdin().read_to_string(&mut text) {
        eprintln!("withy: standard input cannot be read: {error}");
        return Exit::Unreadable;
    }
    let made = formatted("standard input", &text);
    let told = tell(&made);
    let Some(new) = made.text else { return told };
    if arguments.check || arguments.diff {
        return told.max(compare("standard input", &text, &new, arguments));
    }
    told.max(print(&new))
}

fn one(path: &Path, arguments: &FormatArguments) -> Exit {
    let name = path.display().to_string();
    let text = match Disk.read(path).map(String::from_utf8) {
        Ok(Ok(text)) => text,
        Ok(Err(_)) => {
            eprintln!("withy: `{name}` cannot be read: it is not a text in UTF-8");
            return Exit::Unreadable;
        }
        Err(problem) => {
            eprintln!("withy: `{name}` cannot be read: {problem}");
            return Exit::Unreadable;
        }
    };
    let made = formatted(&name, &text);
    let told = tell(&made);
    let Some(new) = made.text else { return told };
    if new == text {
        return told;
    }
    if arguments.check || arguments.diff {
        return told.max(compare(&name, &text, &new, arguments));
    }
    match replace(path, &new) {
        Ok(()) => told.max(print(&format!("formatted: {name}\n"))),
        Err(why) => {
            eprintln!("withy: {why}");
            Exit::Unreadable
        }
    }
}

/// Faults of syntax do not keep a file from being formatted around them, but they are told.
fn tell(made: &Formatted) -> Exit {
    eprint!("{}", short::render(&made.findings, &made.files));
    if made.findings.is_empty() { Exit::Clean } else { Exit::Findings }
}

fn compare(name: &str, old: &str, new: &str, arguments: &FormatArguments) -> Exit {
    if old == new {
        return Exit::Clean;
    }
    let text = if arguments.diff { edit::diff(name, old, new) } else { format!("not formatted: {name}\n") };
    Exit::Findings.max(print(&text))
}
