use std::slice;

use crate::cli::aids::Aids;
use crate::cli::arguments::{FiguresArguments, Form, Report};
use crate::cli::exit::Exit;
use crate::cli::output::{print, report, to_terminal};
use crate::cli::paths::open;
use crate::library::{Asked, Depth, NoFigures, Purpose, check_with, figures};

/// Columns of the tables, the same wherever they are written to.
const WIDTH: u16 = 140;

/// `withy figures`
pub fn run(arguments: &FiguresArguments) -> Exit {
    let opened = match open(slice::from_ref(&arguments.file), Purpose::Targets) {
        Ok(opened) => opened,
        Err(exit) => return exit,
    };
    if opened.exit != Exit::Clean {
        return opened.exit;
    }
    let loaded = opened.loaded;
    let checked = check_with(&loaded, Depth::Full, None, &Aids::new(arguments.no_cache).aid());
    let asked = Asked { name: &arguments.recipe, bend: arguments.bend.as_deref(), rows: arguments.rows };
    match figures(&loaded, &checked, asked, WIDTH) {
        Ok(found) => print(if arguments.report == Form::Json { &found.json } else { &found.text }),
        Err(NoFigures::Unknown(why)) => {
            eprintln!("withy: {why}");
            Exit::WrongUse
        }
        Err(NoFigures::Unplanned) => {
            let kind = if arguments.report == Form::Json { Report::Json } else { Report::Text };
            let printed = print(&report(&loaded, &checked, kind, loaded.settings.fail_on, to_terminal()));
            eprintln!("withy: `{}` has no figures before these findings are mended", arguments.recipe);
            Exit::Findings.max(printed)
        }
    }
}
