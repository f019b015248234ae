//! The words that the grammars for editors tell apart are those of the compiler's tables. `WITHY_UPDATE=1` writes what is
//! generated from them; read the difference before you commit it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use withy::syntax::{DECLARATIONS, Kind};
use withy::types::FUNCTIONS;
use withy::units::UNITS;

/// What follows a wire gauge's number. It is written like a unit, but it is a size of its own and stands in no table.
const GAUGE: &str = "AWG";

/// A file of the project.
fn at(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

pub fn read(path: &str) -> String {
    std::fs::read_to_string(at(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Holds a generated file against what it should be, or writes it where that is asked for.
pub fn in_step(path: &str, fresh: &str) {
    if std::env::var_os("WITHY_UPDATE").is_some() {
        std::fs::write(at(path), fresh).unwrap();
    }
    let there = std::fs::read_to_string(at(path)).unwrap_or_default();
    assert!(there == fresh, "{path}: run `WITHY_UPDATE=1 cargo test --test syntax`");
}

/// The reserved words, sorted.
pub fn reserved() -> BTreeSet<String> {
    Kind::ALL.into_iter().filter(|kind| kind.is_reserved()).map(|kind| kind.describe().replace('`', "")).collect()
}

/// Every spelling of every unit, sorted.
pub fn units() -> BTreeSet<&'static str> {
    UNITS
        .iter()
        .flat_map(|unit| std::iter::once(unit.word).chain(unit.aliases.iter().copied()))
        .chain([GAUGE])
        .collect()
}

pub fn quoted<T: AsRef<str>>(words: impl IntoIterator<Item = T>, between: &str) -> String {
    let words: Vec<String> = words.into_iter().map(|word| format!("\"{}\"", word.as_ref())).collect();
    words.join(between)
}

/// `text` with what stands between the two lines that name a table put in anew; `mark` begins a comment.
pub fn between(text: &str, mark: &str, table: &str, fresh: &str) -> String {
    let (begin, end) = (format!("{mark} begin {table}"), format!("{mark} end {table}"));
    let from = text.find(&begin).unwrap_or_else(|| panic!("no line `{begin}`"));
    let from = from + text[from..].find('\n').unwrap() + 1;
    let to = from + text[from..].find(&end).unwrap_or_else(|| panic!("no line `{end}`"));
    format!("{}{fresh}{}", &text[..from], &text[to..])
}

#[test]
fn the_words_of_the_tree_sitter_grammar_are_in_step() {
    let (declarations, reserved) = (quoted(DECLARATIONS, ", "), quoted(reserved(), ", "));
    let words = format!("{{\n  \"declarations\": [{declarations}],\n  \"reserved\": [{reserved}]\n}}\n");
    in_step("grammar/tree-sitter-withy/words.json", &words);
}

#[test]
fn the_words_of_its_scanner_are_in_step() {
    let before = Kind::ALL.into_iter().filter(|kind| kind.continues());
    let before: BTreeSet<String> = before.map(|kind| kind.describe().replace('`', "")).collect();
    let header = format!(
        "// Written from the compiler's own tables by `WITHY_UPDATE=1 cargo test --test syntax words`.\n\n\
         static const char *const JOINED_BEFORE[] = {{{}}};\n\
         static const char *const RESERVED[] = {{{}}};\n\
         static const char *const DECLARATIONS[] = {{{}}};\n",
        quoted(before, ", "),
        quoted(reserved(), ", "),
        quoted(DECLARATIONS, ", ")
    );
    in_step("grammar/tree-sitter-withy/src/words.h", &header);
}

#[test]
fn the_words_that_open_a_next_line_are_in_step() {
    let grammar = read("grammar/tree-sitter-withy/grammar.js");
    let after: BTreeSet<String> = Kind::ALL
        .into_iter()
        .filter(|kind| kind.is_reserved() && kind.wants_more())
        .map(|kind| kind.describe().replace('`', ""))
        .collect();
    assert!(grammar.contains(&format!("const JOINERS = [{}];", quoted(after, ", "))));
}

#[test]
fn the_units_and_functions_that_it_colours_are_in_step() {
    let path = "grammar/tree-sitter-withy/queries/highlights.scm";
    let functions = quoted(FUNCTIONS.iter().map(|function| function.0), " ");
    let functions =
        format!("((call function: (name) @function.builtin)\n  (#any-of? @function.builtin {functions}))\n");
    let units = format!("((unit_name) @type.builtin\n  (#any-of? @type.builtin {}))\n", quoted(units(), " "));
    let text = between(&read(path), ";", "functions", &functions);
    in_step(path, &between(&text, ";", "units", &units));
}
