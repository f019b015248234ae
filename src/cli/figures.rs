use crate::cli::arguments::{FiguresArguments, Form, Report};
use crate::cli::exit::Exit;
use crate::cli::output::{print, report, to_terminal};
use crate::cli::planned::planned;
use crate::library::{Asked, NoFigures, figures};

/// Columns of the tables, the same wherever they are written to.
const WIDTH: u16 = 140;

/// `withy figures`
pub fn run(arguments: &FiguresArguments) -> Exit {
    let (loaded, checked) = match planned(&arguments.file, arguments.no_cache) {
        Ok(planned) => planned,
        Err(exit) => return exit,
    };
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
