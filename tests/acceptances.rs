//! `accept RULE because "…" until DATE` in every block, and all that can be wrong with it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use withy::library::{Checked, Depth, Loaded, Places, check, load};
use withy::report::edit::apply;
use withy::types::Date;

use crate::common::{LIBRARY, memory, shown};

const STOCK: &str = include_str!("../src/cli/start/acrylic.withy");
const BENCH: &str = include_str!("../src/cli/start/first.withy");
const PART: &str = include_str!("../src/cli/start/tray.withy");

/// Both bends are let go long before they have set, whatever the sheet: `short-set`, a caution, at each bend's `set`.
const RECIPE: &str = r#"
use "../parts/tray.withy"
use "../bench/first.withy"
## µ trays.
recipe tray_run for tray on first {
  ambient 18..26 degC
  every bend { heat 164 s, set 20 s }
  bend back { set 15 s }
  order front then back
}
"#;

const ACCEPT: &str = "accept short-set because \"held by hand\"";

fn library(changes: &[(&str, &str, &str)]) -> BTreeMap<String, String> {
    let mut files: BTreeMap<String, String> = [
        ("stock/acrylic.withy", STOCK),
        ("bench/first.withy", BENCH),
        ("parts/tray.withy", PART),
        ("recipes/tray.withy", RECIPE),
    ]
    .map(|(name, text)| (name.to_owned(), text.to_owned()))
    .into();
    for (name, from, to) in changes {
        let text = files.get_mut(*name).unwrap();
        assert!(text.contains(from), "{from} in {name}");
        *text = text.replacen(from, to, 1);
    }
    files
}

fn checked(changes: &[(&str, &str, &str)], today: &str) -> (Loaded, Checked) {
    let places = Places { root: PathBuf::from(LIBRARY), shown_from: PathBuf::from(LIBRARY) };
    let path = Path::new(LIBRARY).join("recipes/tray.withy");
    let (loaded, unreadable) = load(&memory(&library(changes)), &places, &[path], None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    let checked = check(&loaded, Depth::Full, Date::parse(today));
    (loaded, checked)
}

/// Findings of one rule as `line` or `(line)` where it is accepted, and everything that is wrong with acceptances.
fn told(rule: &str, changes: &[(&str, &str, &str)], today: &str) -> String {
    let (loaded, checked) = checked(changes, today);
    let mut words = Vec::new();
    for finding in &checked.findings {
        let line = loaded.files.position(finding.primary()).line;
        if finding.name() == rule {
            words.push(if finding.accepted.is_some() { format!("({line})") } else { line.to_string() });
        } else if finding.name().contains("accept") || finding.name().contains("reason") || finding.is_error() {
            words.push(format!("{}:{line}", finding.name()));
        }
    }
    words.join(" ")
}

fn sets(changes: &[(&str, &str, &str)]) -> String {
    told("short-set", changes, "2026-11-25")
}

const FILE: &str = "recipes/tray.withy";

#[test]
fn an_acceptance_holds_in_its_block() {
    let within = |entry: &str| format!("{entry}, {ACCEPT}");
    assert_eq!(sets(&[]), "7 8");
    assert_eq!(sets(&[(FILE, "set 15 s", &within("set 15 s"))]), "7 (8)");
    // What is said for every bend is said for each.
    assert_eq!(sets(&[(FILE, "set 20 s", &within("set 20 s"))]), "(7) (8)");
    assert_eq!(sets(&[(FILE, "  order", &format!("  {ACCEPT}\n  order"))]), "(7) (8)");
}

#[test]
fn what_a_recipe_uses_can_carry_the_acceptance() {
    let rule = "uncalibrated-heater";
    let accept = "accept uncalibrated-heater because \"strips on Monday, ± 1 µm\"";
    let told = |name: &str, before: &str| told(rule, &[(name, before, &format!("{accept}\n  {before}"))], "2026-11-25");
    assert_eq!(told("bench/first.withy", "length 508 mm"), "(5)", "in the heater");
    assert_eq!(told(FILE, "ambient"), "(5)", "in the recipe");
    assert_eq!(
        told("bench/first.withy", "alloy nichrome"),
        "idle-acceptance:13 5",
        "in the wire, which it is not about"
    );
}

#[test]
fn the_nearest_acceptance_counts() {
    let twice = [
        (FILE, "set 15 s", "set 15 s, accept short-set because \"inner\""),
        (FILE, "  order", "  accept short-set because \"outer\"\n  order"),
    ];
    let (_, checked) = checked(&twice, "2026-11-25");
    let reasons: Vec<&str> = checked
        .findings
        .iter()
        .filter_map(|finding| finding.accepted.as_ref().filter(|_| finding.name() == "short-set"))
        .map(|accepted| accepted.because.as_str())
        .collect();
    assert_eq!(reasons, ["outer", "inner"]);
    // The outer one has nothing left to do once the inner ones cover everything.
    let both = [twice[0], twice[1], (FILE, "set 20 s", "set 20 s, accept short-set because \"each\"")];
    assert_eq!(sets(&both), "(7) (8) idle-acceptance:9");
}

#[test]
fn past_its_date_it_silences_nothing() {
    let until = [(FILE, "set 15 s", "set 15 s, accept short-set because \"by hand\" until 2026-11-25")];
    assert_eq!(told("short-set", &until, "2026-11-25"), "7 (8)", "the last day counts");
    assert_eq!(told("short-set", &until, "2026-11-26"), "7 8 stale-acceptance:8");
    let (loaded, undated) = checked(&until, "no day");
    assert!(undated.findings.iter().any(|finding| finding.accepted.is_some()), "without a day no date has passed");
    drop(loaded);
    // A wider one that still holds takes over.
    let wider = [until[0], (FILE, "  order", &format!("  {ACCEPT}\n  order"))];
    assert_eq!(told("short-set", &wider, "2026-11-26"), "(7) (8) stale-acceptance:8");
}

#[test]
fn what_is_wrong_with_it_is_told() {
    let with = |accept: &str| sets(&[(FILE, "  order", &format!("  {accept}\n  order"))]);
    assert_eq!(with("accept supply-overload because \"µ\""), "7 8 idle-acceptance:9");
    assert_eq!(with("accept short-sett because \"x\""), "7 8 unknown-rule:9");
    assert_eq!(with("accept fire-heat because \"x\""), "7 8 danger-accepted:9");
    assert_eq!(with("accept short-set because \" \""), "(7) (8) missing-reason:9");
    assert!(with("accept short-set").contains(":9"), "no reason at all: {}", with("accept short-set"));
}

/// Both kinds offer to be taken out, and the file is as if they had never been there.
#[test]
fn taking_it_out_leaves_no_trace() {
    let kinds = [
        ("  order", "  accept fence-out-of-reach because \"µ\"\n  order"),
        ("set 15 s }", "set 15 s, accept fence-out-of-reach because \"µ\" }"),
        ("{ set 15 s", "{ accept fence-out-of-reach because \"µ\", set 15 s"),
        ("  order", "\taccept short-heat because \"µ\" until 2020-01-01  \r\n  order"),
    ];
    for (from, to) in kinds {
        let (loaded, checked) = checked(&[(FILE, from, to)], "2026-11-25");
        let finding = checked.findings.iter().find(|finding| finding.name().ends_with("-acceptance"));
        let finding = finding.unwrap_or_else(|| panic!("{to}"));
        let file = finding.primary().file;
        let text = apply(file, loaded.files.get(file).text(), &finding.edits).unwrap();
        assert_eq!(text, RECIPE, "{to}");
    }
}

/// A copy has to be weighed anew.
#[test]
fn a_copy_takes_no_acceptance_over() {
    let bench = "heater other from line { length 18 in }\n\nbench first {";
    let changes = [
        (
            "bench/first.withy",
            "length 508 mm",
            "length 508 mm\n  accept uncalibrated-heater because \"strips on Monday\"",
        ),
        ("bench/first.withy", "bench first {", bench),
        ("bench/first.withy", "arm front { heater line,", "arm front { heater other,"),
    ];
    let (loaded, checked) = checked(&changes, "2026-11-25");
    let open = checked.findings.iter().filter(|finding| finding.name() == "uncalibrated-heater" && finding.is_open());
    let all: Vec<String> = checked.findings.iter().map(|finding| shown(&loaded, finding)).collect();
    assert_eq!(open.count(), 1, "{}", all.join("\n"));
}
