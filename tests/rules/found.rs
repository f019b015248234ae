//! Runs the rules on a text that stands in the example library.

use std::collections::BTreeMap;
use std::sync::{OnceLock, PoisonError, RwLock};

use withy::library::{Checked, Loaded, Memory};
use withy::lint::without;
use withy::report::Diagnostic;

use crate::common::{Overlay, checked, examples, fails, memory, place, shown};

/// Where the text stands: beside the other wrong examples, so that it can use the library as they do.
pub const NAME: &str = "wrong/tried.withy";

/// Findings that only say that nobody has bent trial strips yet: a short example on a heater of its own has them.
const STANDING: [&str; 2] = ["uncalibrated-heater", "unproved-window"];

/// One finding in the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    pub word: &'static str,
    pub name: &'static str,
    pub line: usize,
    pub column: usize,
    /// How many characters of its first line the place covers.
    pub length: usize,
    /// Whether it stands in the text itself.
    pub here: bool,
}

fn library() -> &'static Memory {
    static LIBRARY: OnceLock<Memory> = OnceLock::new();
    LIBRARY.get_or_init(|| {
        let mut files: BTreeMap<String, String> = examples();
        files.insert(NAME.to_owned(), String::new());
        memory(&files)
    })
}

/// Tests of one program run side by side, and a rule is switched off for all of them: whoever does it waits until nobody
/// checks.
static GATE: RwLock<()> = RwLock::new(());

/// Checks a text.
pub fn check(text: &str) -> (Loaded, Checked) {
    if let Ok(rule) = std::env::var("WITHY_RULE_OFF") {
        return check_without(&rule, text);
    }
    let _open = GATE.read().unwrap_or_else(PoisonError::into_inner);
    checked(&Overlay::new(library(), NAME, text), &[NAME])
}

/// Checks a text with one rule switched off.
pub fn check_without(rule: &str, text: &str) -> (Loaded, Checked) {
    let _shut = GATE.write().unwrap_or_else(PoisonError::into_inner);
    without(rule, || checked(&Overlay::new(library(), NAME, text), &[NAME]))
}

/// The open findings in the text itself, without those that only ask for trial strips unless they are wanted; and those
/// elsewhere that make a check fail.
pub fn found(text: &str, wanted: &str) -> Vec<Found> {
    let (loaded, checked) = check(text);
    let open = |finding: &&Diagnostic| {
        finding.accepted.is_none() && (finding.name() == wanted || !STANDING.contains(&finding.name()))
    };
    checked.findings.iter().filter(open).filter_map(|finding| one(&loaded, finding)).collect()
}

/// Every finding anywhere, for the messages of tests.
pub fn everything(text: &str) -> Vec<String> {
    let (loaded, checked) = check(text);
    checked.findings.iter().map(|finding| shown(&loaded, finding)).collect()
}

fn one(loaded: &Loaded, finding: &Diagnostic) -> Option<Found> {
    let (file, line, column) = place(loaded, finding);
    let shown = loaded.files.slice(finding.primary());
    let length = shown.lines().next().unwrap_or("").chars().count();
    let here = file == NAME;
    let (word, name) = (finding.word(), finding.name());
    (here || fails(finding)).then_some(Found { word, name, line, column, length, here })
}
