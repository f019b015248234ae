use std::fmt::Write;

use crate::cli::arguments::{CompareArguments, Form};
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::cli::paths::open;
use crate::library::{Compared, Depth, check, compare};

/// `withy compare`
pub fn run(arguments: &CompareArguments) -> Exit {
    let mut sides = Vec::new();
    for path in [&arguments.old, &arguments.new] {
        let (loaded, exit) = match open(std::slice::from_ref(path)) {
            Ok(opened) => opened,
            Err(exit) => return exit,
        };
        if exit != Exit::Clean {
            return exit;
        }
        let checked = check(&loaded, Depth::Full, None);
        sides.push((loaded, checked));
    }
    let [(old_files, old), (new_files, new)] = sides.as_slice() else { return Exit::Fault };
    let compared = compare((old_files, old), (new_files, new));
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
            if compared.is_empty() {
                text.push_str("no recipe is declared in these files\n");
            }
            text
        }
    };
    let exit = if different { Exit::Findings } else { Exit::Clean };
    exit.max(print(&text))
}
