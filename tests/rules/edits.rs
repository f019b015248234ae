//! What an edit of a finding does: it makes the finding go, and adds none.

use withy::lint::{RULES, Rule};
use withy::report::edit::apply;

use crate::found::{NAME, check, found};
use crate::pages::wrong;

/// What is wrong with the edits of a rule's wrong example, and how many there are.
fn faults(rule: &Rule) -> (usize, Vec<String>) {
    let text = wrong(rule);
    let (loaded, checked) = check(&text);
    let before = found(&text, rule.name);
    let mut faults = Vec::new();
    let mut seen = 0;
    for finding in checked.findings.iter().filter(|finding| finding.name() == rule.name) {
        for edit in &finding.edits {
            seen += 1;
            let file = finding.primary().file;
            assert_eq!(loaded.files.get(file).path(), NAME);
            let mended = apply(file, &text, std::slice::from_ref(edit)).unwrap_or_else(|fault| panic!("{fault:?}"));
            let after = found(&mended, rule.name);
            let left = after.iter().any(|one| one.name == rule.name);
            let added = after.iter().any(|one| before.iter().all(|other| other.name != one.name));
            if left || added {
                faults.push(format!("{}: `{}` leaves {after:?} in\n{mended}", rule.name, edit.title));
            }
        }
    }
    (seen, faults)
}

#[test]
fn every_edit_mends_its_finding_and_adds_none() {
    let (counts, faults): (Vec<usize>, Vec<Vec<String>>) = RULES.iter().map(faults).unzip();
    let faults = faults.concat();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let edits: usize = counts.iter().sum();
    assert!(edits >= 6, "only {edits} edits");
}
