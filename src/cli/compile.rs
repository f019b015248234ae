use std::collections::BTreeSet;
use std::fmt::Write;

use crate::cli::aids::Aids;
use crate::cli::arguments::{CompileArguments, Report};
use crate::cli::exit::Exit;
use crate::cli::files::replace_folder;
use crate::cli::output::{outcome, print, report, to_terminal};
use crate::cli::paths::open;
use crate::library::{Depth, OBSTACLES, Purpose, check_with, compile, is_output};

/// Columns of the step table where standard output is no terminal, so that the same source gives the same bytes.
const WIDTH: u16 = 110;

/// `withy compile`
pub fn run(arguments: &CompileArguments) -> Exit {
    if arguments.out.as_os_str() == "-" {
        eprintln!("withy: `--out` takes a folder; to make one of the name `-`, write `./-`");
        return Exit::WrongUse;
    }
    let opened = match open(&arguments.paths, Purpose::Targets) {
        Ok(opened) => opened,
        Err(exit) => return exit,
    };
    let loaded = opened.loaded;
    let checked = check_with(&loaded, Depth::Full, None, &Aids::new(arguments.no_cache).aid());
    let (compiled, refused) = compile(&loaded, &checked, WIDTH);
    let mut folders = BTreeSet::new();
    for one in &compiled {
        if !folders.insert(&one.folder) {
            eprintln!("withy: two files would both be written to `{}`: compile them apart, with `--out`", one.folder);
            return Exit::WrongUse;
        }
    }
    let fail_on = arguments.report.fail_on.unwrap_or(loaded.settings.fail_on);
    let mut exit = outcome(&checked, fail_on).max(opened.exit);
    let mut unwritten = BTreeSet::new();
    for one in &compiled {
        let files: Vec<(String, Vec<u8>)> =
            one.outputs.iter().map(|output| (output.name.clone(), output.bytes.clone())).collect();
        if let Err(why) = replace_folder(&arguments.out.join(&one.folder), &files, is_output) {
            eprintln!("withy: {why}");
            exit = exit.max(Exit::Unreadable);
            unwritten.insert(&one.folder);
        }
    }
    for one in refused.iter().filter(|one| !one.outputs.is_empty()) {
        let files: Vec<(String, Vec<u8>)> =
            one.outputs.iter().map(|output| (output.name.clone(), output.bytes.clone())).collect();
        // What was written before stays, as for any recipe that is refused.
        if let Err(why) = replace_folder(&arguments.out.join(&one.folder), &files, |name| name == OBSTACLES) {
            eprintln!("withy: {why}");
            exit = exit.max(Exit::Unreadable);
            unwritten.insert(&one.folder);
        }
    }
    let kind = arguments.report.report;
    let mut text = String::new();
    if kind == Report::Text {
        for one in &compiled {
            text.push_str(&one.table);
            text.push('\n');
        }
    }
    let findings = report(&loaded, &checked, kind, fail_on, to_terminal());
    text.push_str(&findings);
    if kind == Report::Text {
        for one in &refused {
            let _ = writeln!(text, "`{}` is not compiled: see above", one.name);
            let folder = arguments.out.join(&one.folder);
            let shown: Vec<&str> = one.outputs.iter().map(|output| output.name.as_str()).collect();
            if !shown.is_empty() && !unwritten.contains(&one.folder) {
                let _ = writeln!(text, "  what stands in the way: {} in {}", shown.join(", "), folder.display());
            }
            // The picture alone is nothing of an earlier version.
            if folder.join("steps.csv").exists() {
                let _ = writeln!(text, "  {} still holds what was written for an earlier version", folder.display());
            }
        }
        for one in compiled.iter().filter(|one| !unwritten.contains(&one.folder)) {
            let names: Vec<&str> = one.outputs.iter().map(|output| output.name.as_str()).collect();
            let folder = arguments.out.join(&one.folder);
            let _ = writeln!(text, "written: {} in {}", names.join(", "), folder.display());
            if let Some(why) = &one.no_program {
                let _ = writeln!(text, "  no timing program for `{}`: {why}", one.name);
            }
            if let Some(note) = &one.program_note {
                let _ = writeln!(text, "  in the timing program of `{}`: {note}", one.name);
            }
        }
    }
    if compiled.is_empty() && refused.is_empty() && exit == Exit::Clean {
        eprintln!("withy: no recipe or batch is declared in these files: there is nothing to compile");
        exit = Exit::WrongUse;
    }
    if !refused.is_empty() {
        exit = exit.max(Exit::Findings);
    }
    exit.max(print(&text))
}
