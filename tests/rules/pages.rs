//! Every rule has a page; the examples on it are run, and its wrong example stands in `examples/wrong/`.
//!
//! `WITHY_UPDATE=1` writes the marks of the examples and the files of `examples/wrong/` anew: then read the difference.

use std::path::{Path, PathBuf};

use withy::lint::{RULES, Rule};

use crate::common::root;
use crate::found::{check_without, everything, found};
use crate::mark;

const HEADINGS: [&str; 5] = ["What it finds", "What can happen", "Wrong", "Right", "Where the limit comes from"];

fn updating() -> bool {
    std::env::var_os("WITHY_UPDATE").is_some()
}

fn snake(rule: &Rule) -> String {
    rule.name.replace('-', "_")
}

fn page_path(rule: &Rule) -> PathBuf {
    root().join("src/lint/rules").join(format!("{}.md", snake(rule)))
}

/// The page as it stands in the folder now, so that an update is seen without building again.
fn page(rule: &Rule) -> String {
    std::fs::read_to_string(page_path(rule)).unwrap()
}

/// The code below a heading; `##` begins doc comments in code, so that headings are only looked for outside of it.
pub fn example(page: &str, heading: &str) -> Option<String> {
    let (_, section) = page.split_once(&format!("\n## {heading}\n\n```withy\n"))?;
    Some(section.split_once("```\n")?.0.to_owned())
}

fn headings(page: &str) -> Vec<&str> {
    let prose = page.split("```").step_by(2);
    prose.flat_map(str::lines).filter_map(|line| line.strip_prefix("## ")).collect()
}

/// The wrong example of a rule, without its mark.
pub fn wrong(rule: &Rule) -> String {
    mark::read(&example(&page(rule), "Wrong").unwrap()).1
}

/// Everything that is wrong with the page of a rule.
fn faults(rule: &Rule) -> Vec<String> {
    let page = page(rule);
    let headings = headings(&page);
    let mut faults = Vec::new();
    let mut fault = |text: String| faults.push(format!("{}: {text}", rule.name));
    if page.lines().any(|line| line.chars().count() > 120) {
        fault("a line of its page is longer than 120 characters".to_owned());
    }
    if headings != HEADINGS {
        fault(format!("its headings are {headings:?}"));
    }
    let (Some(wrong), Some(right)) = (example(&page, "Wrong"), example(&page, "Right")) else {
        fault("its page lacks an example".to_owned());
        return faults;
    };
    let (mut at, plain) = mark::read(&wrong);
    let fired = found(&plain, rule.name);
    if updating()
        && let [one] = fired.as_slice()
    {
        let new = (one.line, one.column.max(2), one.length);
        let marked = mark::write(&plain, new);
        std::fs::write(page_path(rule), page.replace(&wrong, &marked)).unwrap();
        at = Some(new);
    }
    let fits = match (fired.as_slice(), at) {
        ([one], Some((line, column, length))) => {
            one.here && one.name == rule.name && (one.line, one.column.max(2), one.length) == (line, column, length)
        }
        _ => false,
    };
    if !fits {
        let all = everything(&plain);
        fault(format!("the wrong example is marked at {at:?} and gives {fired:?}; all: {all:#?}"));
    }
    let quiet = found(&right, rule.name);
    if !quiet.is_empty() {
        fault(format!("the right example gives {quiet:?}"));
    }
    if let Some(one) = fired.first().filter(|one| one.name == rule.name) {
        let summary = rule.summary;
        let header = format!("# expect {} {} at {}:{}\n# {summary}\n\n", one.word, one.name, one.line + 3, one.column);
        let path = root().join("examples/wrong").join(format!("{}.withy", rule.name));
        if updating() {
            std::fs::write(&path, header + &plain).unwrap();
        } else if !same(&path, &(header + &plain)) {
            fault("its file in examples/wrong differs from its page: run with WITHY_UPDATE=1".to_owned());
        }
    }
    faults
}

fn same(path: &Path, text: &str) -> bool {
    std::fs::read_to_string(path).is_ok_and(|found| found == text)
}

#[test]
fn every_page_has_its_headings_and_its_examples_do_what_they_say() {
    let faults: Vec<String> = RULES.iter().flat_map(faults).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_registry_holds_what_stands_in_the_folder() {
    let mut seen = 0;
    for rule in RULES {
        assert_eq!(rule.page, page(rule), "{}: build again", rule.name);
        let code = root().join("src/lint/rules").join(format!("{}.rs", snake(rule)));
        assert!(code.exists(), "{}", rule.name);
        seen += 1;
    }
    let folder = std::fs::read_dir(root().join("src/lint/rules")).unwrap();
    let pages = folder.filter(|entry| entry.as_ref().unwrap().path().extension().is_some_and(|end| end == "md"));
    assert_eq!(pages.count(), seen, "a page belongs to no rule");
}

/// The check of the check: with a rule switched off, its wrong example gives nothing.
#[test]
fn a_rule_that_is_switched_off_is_missed() {
    for rule in RULES {
        let (_, checked) = check_without(rule.name, &wrong(rule));
        let heard = checked.findings.iter().all(|finding| finding.name() != rule.name);
        assert!(heard, "{} does not hear the switch", rule.name);
    }
}
