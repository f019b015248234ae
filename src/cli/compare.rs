use std::fmt::Write;

use crate::cli::aids::Aids;
use crate::cli::arguments::{CompareArguments, Form};
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::cli::paths::open;
use crate::library::{Compared, Depth, Purpose, check_with, compare};

/// `withy compare`
pub fn run(arguments: &CompareArguments) -> Exit {
    let mut sides = Vec::new();
    for path in [&arguments.old, &arguments.new] {
        let opened = match open(std::slice::from_ref(path), Purpose::Targets) {
            Ok(opened) => opened,
            Err(exit) => return exit,
        };
        if opened.exit != Exit::Clean {
            return opened.exit;
        }
        let checked = check_with(&opened.loaded, Depth::Full, None, &Aids::new(arguments.no_cache).aid());
        sides.push((opened.loaded, checked));
    }
    let [(old_files, old), (new_files, new)] = sides.as_slice() else { return Exit::Fault };
    let compared = compare((old_files, old), (new_files, new));
    if compared.is_empty() {
        eprintln!("withy: no recipe is declared in these files: there is nothing to compare");
        return Exit::WrongUse;
    }
    let different = compared.iter().any(Compared::is_different);
    let text = match arguments.report {
        Form::Json => match serde_json::to_string_pretty(&compared) {
            Ok(text) => text + "\n",
            Err(_) => return Exit::Fault,
        },
        Form::Text => {
            let mut text = String::new();
            for recipe in &compared {
                let _ = writeln!(text, "{}", recipe.headline());
                let width = recipe.differences.iter().map(|one| one.of.len() + one.what.len() + 1).max().unwrap_or(0);
                for one in &recipe.differences {
                    let name = format!("{} {}", one.of, one.what);
                    let shown = |value: &str| if value.is_empty() { "-".to_owned() } else { value.to_owned() };
                    let _ = writeln!(text, "  {name:<width$}  {} → {}", shown(&one.old), shown(&one.new));
                }
            }
            text
        }
    };
    let exit = if different { Exit::Findings } else { Exit::Clean };
    exit.max(print(&text))
}
