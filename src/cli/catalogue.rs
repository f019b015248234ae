use crate::cli::arguments::{CatalogueArguments, Form};
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::library::catalogue_report;

/// Columns of the tables, the same wherever they are written to.
const WIDTH: u16 = 110;

/// `withy catalogue`
pub fn run(arguments: &CatalogueArguments) -> Exit {
    match catalogue_report(arguments.name.as_deref(), WIDTH) {
        Ok(report) => print(if arguments.report == Form::Json { &report.json } else { &report.text }),
        Err(why) => {
            eprintln!("withy: {why}");
            Exit::WrongUse
        }
    }
}
