use std::collections::BTreeSet;
use std::path::Path;

use crate::cli::aids::Aids;
use crate::cli::arguments::LintArguments;
use crate::cli::exit::Exit;
use crate::cli::files::replace;
use crate::cli::output::{outcome, print, report, to_terminal};
use crate::cli::paths::{Opened, open};
use crate::library::{
    AsTheyAre, Baseline, Checked, Chosen, Depth, Disk, Io, Loaded, MendOutcome, Mended, Purpose, Task, changed_since,
    check_taking, concerned, load, mend, system_date,
};
use crate::report::edit;
use crate::types::Date;

/// `withy lint`
pub fn run(arguments: &LintArguments) -> Exit {
    match lint(arguments) {
        Ok(exit) | Err(exit) => exit,
    }
}

fn lint(arguments: &LintArguments) -> Result<Exit, Exit> {
    let mut opened = open(&arguments.paths, Purpose::Sources)?;
    let chosen = chosen(arguments);
    if opened.typed && (chosen.is_some() || arguments.since.is_some() || arguments.baseline.is_some()) {
        return Err(wrong("what is typed is in no library: `--apply`, `--since` and `--baseline` take files"));
    }
    if arguments.record && (!opened.whole || arguments.since.is_some()) {
        return Err(wrong("`--record` looks at a whole library: name its root folder, or nothing inside it"));
    }
    if let Some(revision) = &arguments.since {
        keep_concerned(&mut opened, revision)?;
    }
    let aids = Aids::new(arguments.no_cache);
    let today = arguments.today.or_else(system_date);
    let (loaded, mut checked, mended) = match &chosen {
        Some(chosen) => mended(&opened, chosen, today, &aids, arguments.diff)?,
        None => {
            let checked =
                check_taking(&opened.loaded, Depth::Full, today, &aids.aid(), &mut AsTheyAre { plans: false });
            (opened.loaded, checked, Exit::Clean)
        }
    };
    let mut exit = opened.exit.max(mended);
    if let Some(path) = &arguments.baseline {
        exit = exit.max(held(path, arguments, opened.whole, &loaded, &mut checked)?);
    }
    let fail_on = arguments.report.fail_on.unwrap_or(loaded.settings.fail_on);
    if chosen.is_none() || !arguments.diff {
        let kind = arguments.report.report;
        exit = exit.max(print(&report(&loaded, &checked, kind, fail_on, to_terminal())));
    }
    let exit = outcome(&checked, fail_on).max(exit);
    // The program ends here: giving back the memory of ten thousand recipes piece by piece takes a tenth of its time.
    std::mem::forget((loaded, checked));
    Ok(exit)
}

fn wrong(why: &str) -> Exit {
    eprintln!("withy: {why}");
    Exit::WrongUse
}

/// Which edits are asked for, if any are.
fn chosen(arguments: &LintArguments) -> Option<Chosen> {
    let names: BTreeSet<String> = arguments.apply.iter().filter(|name| !name.is_empty()).cloned().collect();
    let harmless = names.len() < arguments.apply.len() || (arguments.apply.is_empty() && arguments.diff);
    (harmless || !names.is_empty()).then_some(Chosen { harmless, names })
}

/// Leaves only what changed since a revision, and what uses it.
fn keep_concerned(opened: &mut Opened, revision: &str) -> Result<(), Exit> {
    let changed = changed_since(&opened.places.root, revision).map_err(|why| {
        eprintln!("withy: {why}");
        Exit::Unreadable
    })?;
    opened.files = concerned(&opened.loaded, &changed);
    let (loaded, _) = load(&Disk, &opened.places, &opened.files, None);
    opened.loaded = loaded;
    Ok(())
}

/// Makes the edits, or shows what they would change, and tells what was done.
fn mended(
    opened: &Opened,
    chosen: &Chosen,
    today: Option<Date>,
    aids: &Aids,
    only_shown: bool,
) -> Result<(Loaded, Checked, Exit), Exit> {
    let task = Task { places: &opened.places, files: &opened.files, today };
    let MendOutcome { mended, loaded, checked, unknown } = mend(&Disk, task, chosen, &aids.aid());
    if let Some(name) = unknown.first() {
        return Err(wrong(&format!("`--apply={name}`: there is no such rule, and nothing of that name was found")));
    }
    let mut exit = Exit::Clean;
    for one in &mended {
        if only_shown {
            exit = exit.max(Exit::Findings).max(print(&edit::diff(&one.name, &one.before, &one.after)));
        } else {
            write_back(one)?;
        }
    }
    // What was asked for by name and is left needs a person.
    let left = checked.findings.iter().filter(|finding| finding.is_open() && !finding.edits.is_empty()).count();
    if left > 0 {
        eprintln!(
            "withy: {left} more with edits: between several choose yourself; those that change a time, a power, a \
             temperature or a current are made by name, with `--apply=RULE`"
        );
    }
    Ok((loaded, checked, exit))
}

fn write_back(mended: &Mended) -> Result<(), Exit> {
    // Somebody may have saved the file while it was checked.
    let unchanged = Disk.read(&mended.path).is_ok_and(|bytes| bytes == mended.before.as_bytes());
    let written = if unchanged {
        replace(&mended.path, &mended.after)
    } else {
        Err(format!("`{}` has changed in the meantime, and was left alone", mended.name))
    };
    written.map_err(|why| {
        eprintln!("withy: {why}");
        Exit::Unreadable
    })?;
    let edits = if mended.edits == 1 { "1 edit".to_owned() } else { format!("{} edits", mended.edits) };
    eprintln!("mended: {} ({edits})", mended.name);
    Ok(())
}

/// Holds what was found against a baseline, and records what is left of it where that is asked for.
fn held(
    path: &Path,
    arguments: &LintArguments,
    whole: bool,
    loaded: &Loaded,
    checked: &mut Checked,
) -> Result<Exit, Exit> {
    let unreadable = |why: String| {
        eprintln!("withy: `{}`: {why}", path.display());
        Exit::Unreadable
    };
    let write = |baseline: &Baseline| {
        replace(path, &baseline.written()).map_err(|why| {
            eprintln!("withy: {why}");
            Exit::Unreadable
        })
    };
    if arguments.record && !path.exists() {
        let baseline = Baseline::of(loaded, checked);
        write(&baseline)?;
        let held = baseline.hold(loaded, checked);
        eprintln!("recorded: {} findings in {}", held.known, path.display());
        return Ok(Exit::Clean);
    }
    let bytes = Disk.read(path).map_err(|problem| unreadable(format!("it cannot be read: {problem}")))?;
    let text = String::from_utf8(bytes).map_err(|_| unreadable("it is not a text in UTF-8".to_owned()))?;
    let baseline = Baseline::read(&text).map_err(unreadable)?;
    let held = baseline.hold(loaded, checked);
    if whole && held.gone > 0 {
        if arguments.record {
            write(&baseline.struck(loaded, checked))?;
            eprintln!("struck: {} findings from {}", held.gone, path.display());
        } else {
            eprintln!("withy: {} findings in {} are gone: strike them with `--record`", held.gone, path.display());
        }
    }
    Ok(Exit::Clean)
}
