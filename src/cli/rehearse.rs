use std::slice;

use crate::cli::aids::Aids;
use crate::cli::arguments::{Form, RehearseArguments, Report};
use crate::cli::exit::Exit;
use crate::cli::files::replace;
use crate::cli::output::{print, report, to_terminal};
use crate::cli::paths::open;
use crate::library::{Depth, NotRehearsed, Purpose, Rehearse, check_with, rehearse};

/// Columns of the tables, the same wherever they are written to.
const WIDTH: u16 = 140;

/// `withy rehearse`
pub fn run(arguments: &RehearseArguments) -> Exit {
    let opened = match open(slice::from_ref(&arguments.file), Purpose::Targets) {
        Ok(opened) => opened,
        Err(exit) => return exit,
    };
    if opened.exit != Exit::Clean {
        return opened.exit;
    }
    let loaded = opened.loaded;
    let checked = check_with(&loaded, Depth::Full, None, &Aids::new(arguments.no_cache).aid());
    let asked = Rehearse { name: arguments.name.as_deref(), faults: &arguments.faults, parts: arguments.parts };
    let done = match rehearse(&loaded, &checked, asked, WIDTH) {
        Ok(done) => done,
        Err(NotRehearsed::Wrong(why)) => {
            eprintln!("withy: {why}");
            return Exit::WrongUse;
        }
        Err(NotRehearsed::NoProgram(why)) => {
            eprintln!("withy: there is no timing program to rehearse: {why}");
            return Exit::Findings;
        }
        Err(NotRehearsed::Blocked(name)) => {
            let kind = if arguments.report == Form::Json { Report::Json } else { Report::Text };
            let printed = print(&report(&loaded, &checked, kind, loaded.settings.fail_on, to_terminal()));
            eprintln!("withy: `{name}` is not rehearsed before these findings are mended");
            return Exit::Findings.max(printed);
        }
    };
    let mut exit = if done.clean { Exit::Clean } else { Exit::Findings };
    if let Some(path) = &arguments.chart
        && let Err(why) = replace(path, &done.svg)
    {
        eprintln!("withy: {why}");
        exit = exit.max(Exit::Unreadable);
    }
    exit.max(print(if arguments.report == Form::Json { &done.json } else { &done.text }))
}
