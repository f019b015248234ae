//! The shape of the code: data flows down one list of modules, imports are spelled out, files stay small, and nothing
//! unfinished or bound to one machine is left behind.

use std::path::{Path, PathBuf};

use crate::common::root;

/// Each module uses only what stands before it; `cli` and `server` stand side by side.
const LIST: [&str; 17] = [
    "text", "report", "units", "syntax", "format", "names", "types", "model", "physics", "plan", "program", "rehearse",
    "lint", "emit", "library", "cli", "server",
];

/// A longer file gives its reason in its header, in a sentence that begins with "Long because".
const LONGEST: usize = 600;
const LONGEST_MEDIAN: usize = 200;

#[test]
fn every_module_uses_only_what_stands_before_it() {
    let faults: Vec<String> = sources("src").iter().flat_map(|(path, text)| upward(path, text)).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_library_names_its_modules_in_the_order_of_the_list() {
    let text = read(&root().join("src/lib.rs"));
    let named: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    let listed: Vec<&str> = LIST.into_iter().filter(|module| named.contains(module)).collect();
    assert_eq!(named, listed);
    for entry in std::fs::read_dir(root().join("src")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let known =
            ["lib.rs", "main.rs", "model_version.rs"].contains(&name.as_str()) || named.contains(&name.as_str());
        assert!(known, "src/{name} stands in no list");
    }
}

#[test]
fn source_is_finished_and_spelled_out() {
    let mut faults = Vec::new();
    for folder in ["src", "tests", "benches"] {
        for (path, text) in sources(folder) {
            faults.extend(unfinished(&path, &text));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn half_of_the_files_are_short() {
    let mut lengths: Vec<usize> = sources("src").iter().map(|(_, text)| text.lines().count()).collect();
    lengths.sort_unstable();
    assert!(lengths.len() > 100, "{} files", lengths.len());
    let median = lengths[lengths.len() / 2];
    assert!(median <= LONGEST_MEDIAN, "the median file has {median} lines");
}

#[test]
fn nothing_names_a_folder_of_one_machine() {
    let mut seen = 0;
    let mut faults = Vec::new();
    for entry in ignore::WalkBuilder::new(root()).require_git(false).hidden(false).build() {
        let entry = entry.unwrap();
        let path = entry.path().strip_prefix(root()).unwrap().display().to_string();
        if !entry.file_type().is_some_and(|kind| kind.is_file()) || path.starts_with(".git/") || path == ".git" {
            continue;
        }
        // What is no text cannot name a folder that a person would read.
        let Ok(text) = std::fs::read_to_string(entry.path()) else { continue };
        seen += 1;
        faults.extend(machine_paths(&path, &text));
    }
    assert!(seen > 200, "only {seen} files seen");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn these_checks_can_fail() {
    let up = |path, text| upward(path, text).len();
    assert_eq!(up("src/units/a.rs", "use crate::report::Diagnostic;"), 0);
    assert_eq!(up("src/units/a.rs", "use crate::units::Unit;"), 0);
    assert_eq!(up("src/units/a.rs", "use crate::syntax::Kind;"), 1);
    assert_eq!(up("src/units/a.rs", "fn f() -> crate::plan::Step { todo() }"), 1);
    assert_eq!(up("src/units/a.rs", "// use crate::plan::Step;\nlet s = \"crate::plan::Step\";"), 0);
    assert_eq!(up("src/units/a.rs", "use crate::elsewhere::Step;"), 1);
    assert_eq!(up("src/units/a.rs", "use crate::{report::Edit, units::Unit};"), 1, "not spelled out one by one");
    assert_eq!(up("src/cli/a.rs", "use crate::server::Request;"), 1);
    assert_eq!(up("src/server/a.rs", "use crate::cli::Exit;"), 1);
    assert_eq!(up("src/units/a.rs", "use super::b::C;"), 0);
    assert_eq!(up("src/units/a.rs", "use super::super::plan::Step;"), 1);
    assert_eq!(up("src/units/mod.rs", "use super::plan::Step;"), 1);
    assert_eq!(up("src/units/mod.rs", "mod tests { use super::Unit; }"), 0);
    assert_eq!(up("src/units/deep/a.rs", "mod tests { use super::super::super::Unit; }"), 0);
    assert_eq!(up("src/units/deep/a.rs", "mod tests { use super::super::super::super::plan::Step; }"), 1);
    assert_eq!(up("src/units.rs", "use crate::syntax::Kind;"), 1);

    let wrong = |text: &str| unfinished("src/a.rs", text).len();
    assert_eq!(wrong("use crate::units::{Kind, Unit};"), 0);
    assert_eq!(wrong("use crate::units::*;"), 1);
    assert_eq!(wrong("use std::{fmt::*, io};"), 1);
    assert_eq!(wrong("let area = width * height; // use a::*;"), 0);
    for word in ["todo", "dbg", "unimplemented"] {
        assert_eq!(wrong(&format!("fn f() {{ {word}!(1) }}")), 1, "{word}");
        assert_eq!(wrong(&format!("// {word}!(1)\nlet a = \"{word}!\";")), 0, "{word}");
    }
    assert_eq!(wrong("#[test]\n#[ignore]\nfn f() {}"), 1);
    assert_eq!(wrong("#[test]\n#[ignore = \"slow\"]\nfn f() {}"), 1);
    let long = "fn f() {}\n".repeat(LONGEST + 1);
    assert_eq!(wrong(&long), 1);
    assert_eq!(wrong(&format!("//! Parses. Long because it is one table.\n{long}")), 0);
    assert_eq!(wrong(&format!("{long}//! Long because the reason stands in the wrong place.\n")), 1);

    let slash = '/';
    assert_eq!(machine_paths("a", &format!("see {slash}home{slash}someone/a")).len(), 1);
    assert_eq!(machine_paths("a", &format!("\"{slash}root{slash}a\"")).len(), 1);
    assert_eq!(
        machine_paths("a", &format!("src{slash}work{slash}a and {slash}worker and {slash}dev{slash}null")).len(),
        0
    );
}

/// Rust files below a folder of the project, by their path from its root.
fn sources(folder: &str) -> Vec<(String, String)> {
    let mut files: Vec<PathBuf> = ignore::WalkBuilder::new(root().join(folder))
        .require_git(false)
        .build()
        .map(|entry| entry.unwrap().into_path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .collect();
    files.sort();
    assert!(!files.is_empty(), "{folder} holds no source");
    let short = |path: &Path| path.strip_prefix(root()).unwrap().display().to_string();
    files.iter().map(|path| (short(path), read(path))).collect()
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Uses of modules that stand further down the list, or of what is in no list.
fn upward(path: &str, text: &str) -> Vec<String> {
    let inner = path.strip_prefix("src/").unwrap_or(path);
    let Some(own) = inner.split('/').next().map(|first| first.trim_end_matches(".rs")) else { return Vec::new() };
    let Some(place) = LIST.iter().position(|module| *module == own) else { return Vec::new() };
    // How many `super::` lead from this file to the root of the crate.
    let depth = inner.split('/').count() - usize::from(inner.ends_with("/mod.rs"));
    let mut faults = Vec::new();
    for (number, line) in code(text).lines().enumerate() {
        for (at, _) in line.match_indices("crate::") {
            let used = word(&line[at + "crate::".len()..]);
            let side_by_side = ["cli", "server"].contains(&own) && ["cli", "server"].contains(&used) && own != used;
            let below = LIST.iter().position(|module| *module == used);
            if side_by_side || below.is_none_or(|below| below > place) {
                faults.push(format!("{path}:{}: `{own}` uses `crate::{used}`", number + 1));
            }
        }
    }
    for (steps, line) in climbs(&code(text)) {
        if steps >= depth {
            faults.push(format!("{path}:{line}: `super::` leaves `{own}`"));
        }
    }
    faults
}

/// Every chain of `super::`, by its length beyond the inline modules it stands in, and its line.
fn climbs(code: &str) -> Vec<(usize, usize)> {
    const STEP: &str = "super::";
    let opens_module = |before: &str| {
        let name = before.trim_end().trim_end_matches(|c: char| c.is_alphanumeric() || c == '_');
        name.len() < before.trim_end().len() && name.trim_end().ends_with("mod")
    };
    let mut found = Vec::new();
    let mut braces = Vec::new();
    for (at, character) in code.char_indices() {
        match character {
            '{' => braces.push(opens_module(&code[..at])),
            '}' => drop(braces.pop()),
            's' if code[at..].starts_with(STEP) && !code[..at].ends_with(STEP) => {
                let rest = code[at..].trim_start_matches(STEP);
                let steps = (code.len() - at - rest.len()) / STEP.len();
                let inside = braces.iter().filter(|module| **module).count();
                found.push((steps.saturating_sub(inside), code[..at].matches('\n').count() + 1));
            }
            _ => {}
        }
    }
    found
}

/// What no source may hold: glob imports, unfinished code, ignored tests, too many lines without a reason.
fn unfinished(path: &str, text: &str) -> Vec<String> {
    let code = code(text);
    let mut faults = Vec::new();
    for (number, line) in code.lines().enumerate() {
        let mut fault = |what: &str| faults.push(format!("{path}:{}: {what}", number + 1));
        if line.contains("::*") {
            fault("a glob import");
        }
        for word in ["todo!", "dbg!", "unimplemented!"] {
            if line.contains(word) {
                fault(word);
            }
        }
        if line.contains("#[ignore") {
            fault("an ignored test");
        }
    }
    let header: String = text.lines().take_while(|line| line.starts_with("//!")).collect();
    if text.lines().count() > LONGEST && !header.contains("Long because") {
        faults.push(format!("{path}: more than {LONGEST} lines, and its header does not say \"Long because …\""));
    }
    faults
}

/// Absolute paths into folders that only one machine has.
fn machine_paths(path: &str, text: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for folder in ["work", "root", "home", "farm", "Users"] {
        let wanted = format!("/{folder}/");
        for (at, _) in text.match_indices(&wanted) {
            let before = text[..at].chars().next_back();
            let after = text[at + wanted.len()..].chars().next();
            if before.is_none_or(|c| !(c.is_alphanumeric() || "._-".contains(c)))
                && after.is_some_and(char::is_alphanumeric)
            {
                let line = text[..at].matches('\n').count() + 1;
                faults.push(format!("{path}:{line}: a path of one machine: {wanted}…"));
            }
        }
    }
    faults
}

fn word(text: &str) -> &str {
    let end = text.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(text.len());
    &text[..end]
}

/// Rust source with comments and texts blanked out, line for line.
fn code(text: &str) -> String {
    let mut result = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if first == '"' {
            closing_quote(rest)
        } else if let Some(hashes) = raw_text(rest, &result) {
            let close = format!("\"{}", "#".repeat(hashes));
            let open = hashes + 2;
            rest[open..].find(&close).map_or(rest.len(), |end| open + end + close.len())
        } else if let Some(length) = character(rest) {
            length
        } else {
            result.push(first);
            rest = &rest[first.len_utf8()..];
            continue;
        };
        result.extend(rest[..skipped].chars().filter(|c| *c == '\n'));
        rest = &rest[skipped..];
    }
    result
}

/// The length of a text that begins with its quote.
fn closing_quote(text: &str) -> usize {
    let mut escaped = false;
    for (at, character) in text.char_indices().skip(1) {
        match character {
            '"' if !escaped => return at + 1,
            '\\' => escaped = !escaped,
            _ => escaped = false,
        }
    }
    text.len()
}

/// The hashes of a raw text that begins here.
fn raw_text(text: &str, before: &str) -> Option<usize> {
    let rest = text.strip_prefix('r')?;
    let hashes = rest.len() - rest.trim_start_matches('#').len();
    let glued = before.ends_with(|c: char| c.is_alphanumeric() || c == '_') && !before.ends_with('b');
    (rest[hashes..].starts_with('"') && !glued).then_some(hashes)
}

/// The length of a character literal that begins here; a lifetime is none.
fn character(text: &str) -> Option<usize> {
    let inner = text.strip_prefix('\'')?;
    if inner.starts_with('\\') {
        return inner[2..].find('\'').map(|end| end + 4);
    }
    let first = inner.chars().next()?;
    inner[first.len_utf8()..].starts_with('\'').then(|| first.len_utf8() + 2)
}
