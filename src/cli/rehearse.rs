use crate::cli::arguments::{Form, RehearseArguments, Report};
use crate::cli::exit::Exit;
use crate::cli::files::replace;
use crate::cli::output::{print, report, to_terminal};
use crate::cli::planned::planned;
use crate::library::{NotRehearsed, Rehearse, rehearse};

/// Columns of the tables, the same wherever they are written to.
const WIDTH: u16 = 140;

/// `withy rehearse`
pub fn run(arguments: &RehearseArguments) -> Exit {
    let (loaded, checked) = match planned(&arguments.file, arguments.no_cache) {
        Ok(planned) => planned,
        Err(exit) => return exit,
    };
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
