use std::collections::BTreeSet;
use std::fmt::Write;

use crate::cli::arguments::{CompileArguments, Report};
use crate::cli::exit::Exit;
use crate::cli::output::{outcome, print, replace, report, to_terminal};
use crate::cli::paths::open;
use crate::library::{Depth, Disk, check, compile, offer_uses};

/// Columns of the step table where standard output is no terminal, so that the same source gives the same bytes.
const WIDTH: u16 = 110;

/// `withy compile`
pub fn run(arguments: &CompileArguments) -> Exit {
    let (loaded, opened) = match open(&arguments.paths) {
        Ok(opened) => opened,
        Err(exit) => return exit,
    };
    let mut checked = check(&loaded, Depth::Full, None);
    offer_uses(&Disk, &loaded, &mut checked);
    let (compiled, refused) = compile(&loaded, &checked, WIDTH);
    let mut folders = BTreeSet::new();
    for one in &compiled {
        if !folders.insert(&one.folder) {
            eprintln!("withy: two files would both be written to `{}`: compile them apart, with `--out`", one.folder);
            return Exit::WrongUse;
        }
    }
    let mut exit = outcome(&checked, &arguments.report).max(opened);
    let mut unwritten = BTreeSet::new();
    for one in &compiled {
        for output in &one.outputs {
            if let Err(why) = replace(&arguments.out.join(&one.folder).join(&output.name), &output.text) {
                eprintln!("withy: {why}");
                exit = exit.max(Exit::Unreadable);
                unwritten.insert(&one.folder);
            }
        }
    }
    for one in &refused {
        for output in &one.outputs {
            if let Err(why) = replace(&arguments.out.join(&one.folder).join(&output.name), &output.text) {
                eprintln!("withy: {why}");
                exit = exit.max(Exit::Unreadable);
                unwritten.insert(&one.folder);
            }
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
    let findings = report(&loaded, &checked, kind, to_terminal());
    text.push_str(&findings);
    if kind == Report::Text {
        for one in &refused {
            let _ = writeln!(text, "`{}` is not compiled: see above", one.name);
            let folder = arguments.out.join(&one.folder);
            let shown: Vec<&str> = one.outputs.iter().map(|output| output.name.as_str()).collect();
            if !shown.is_empty() && !unwritten.contains(&one.folder) {
                let _ = writeln!(text, "  what stands in the way: {} in {}", shown.join(", "), folder.display());
            } else if folder.exists() {
                let _ = writeln!(text, "  {} still holds what was written for an earlier version", folder.display());
            }
        }
        for one in compiled.iter().filter(|one| !unwritten.contains(&one.folder)) {
            let names: Vec<&str> = one.outputs.iter().map(|output| output.name.as_str()).collect();
            let folder = arguments.out.join(&one.folder);
            let _ = writeln!(text, "written: {} in {}", names.join(", "), folder.display());
        }
        if compiled.is_empty() && refused.is_empty() {
            text.push_str("no recipe or batch is declared in these files\n");
        }
    }
    if !refused.is_empty() {
        exit = exit.max(Exit::Findings);
    }
    exit.max(print(&text))
}
