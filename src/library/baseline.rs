//! The baseline of an old library: how many findings of each rule each file has been forgiven. It only ever shrinks, and
//! never holds an error or a danger.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::library::check::Checked;
use crate::library::load::Loaded;
use crate::report::{Class, Diagnostic};

/// The name of the schema and its version; `grammar/baseline.schema.json` describes it.
const SCHEMA: &str = "withy:baseline:1";

/// Findings that are known, by file (from the library's root) and rule.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Baseline {
    schema: String,
    files: BTreeMap<String, BTreeMap<String, usize>>,
}

/// What holding a check against a baseline showed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Held {
    /// Findings that it knows.
    pub known: usize,
    /// Findings that it knows and that are gone; means something only where the whole library was checked.
    pub gone: usize,
}

impl Baseline {
    /// A baseline that is written down; a sentence says what is wrong with it.
    pub fn read(text: &str) -> Result<Self, String> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let baseline: Self = serde_json::from_str(text).map_err(|error| format!("it is no baseline: {error}"))?;
        if baseline.schema != SCHEMA {
            return Err(format!("it is a baseline of another kind: `{}` instead of `{SCHEMA}`", baseline.schema));
        }
        Ok(baseline)
    }

    /// The text to be written down.
    pub fn written(&self) -> String {
        // Writing text and numbers to memory cannot fail.
        serde_json::to_string_pretty(self).map(|text| text + "\n").unwrap_or_default()
    }

    /// What an old library is forgiven: everything that was found, but for errors, dangers and what is accepted.
    pub fn of(loaded: &Loaded, checked: &Checked) -> Self {
        Self { schema: SCHEMA.to_owned(), files: counts(loaded, checked) }
    }

    /// Marks the findings that are known. Where a file has more findings of a rule than are known, none of them is,
    /// since nobody can tell which of them is new.
    pub fn hold(&self, loaded: &Loaded, checked: &mut Checked) -> Held {
        let found = counts(loaded, checked);
        let files = loaded.files_from_root();
        let mut held = Held::default();
        for finding in &mut checked.findings {
            let file = files.get(finding.primary().file).path();
            let of = |counts: &BTreeMap<String, BTreeMap<String, usize>>| {
                counts.get(file).and_then(|rules| rules.get(finding.name())).copied().unwrap_or(0)
            };
            let (known, found) = (of(&self.files), of(&found));
            if known == 0 || !may_be_known(finding) {
                continue;
            }
            if found <= known {
                finding.known = true;
                held.known += 1;
            } else {
                finding.notes.push(format!("The baseline knows {known} of the {found} findings of this rule here."));
            }
        }
        held.gone = self.total() - self.struck(loaded, checked).total();
        held
    }

    /// What is left of it once the whole library was checked: no more than was found.
    #[must_use]
    pub fn struck(&self, loaded: &Loaded, checked: &Checked) -> Self {
        let found = counts(loaded, checked);
        let mut left = self.clone();
        for (file, rules) in &mut left.files {
            let found = found.get(file);
            for (rule, count) in rules.iter_mut() {
                *count = (*count).min(found.and_then(|rules| rules.get(rule)).copied().unwrap_or(0));
            }
            rules.retain(|_, count| *count > 0);
        }
        left.files.retain(|_, rules| !rules.is_empty());
        left
    }

    fn total(&self) -> usize {
        self.files.values().flat_map(BTreeMap::values).sum()
    }
}

fn may_be_known(finding: &Diagnostic) -> bool {
    finding.accepted.is_none() && finding.class().is_some_and(|class| class != Class::Danger)
}

fn counts(loaded: &Loaded, checked: &Checked) -> BTreeMap<String, BTreeMap<String, usize>> {
    let files = loaded.files_from_root();
    let mut counts: BTreeMap<String, BTreeMap<String, usize>> = BTreeMap::new();
    for finding in checked.findings.iter().filter(|finding| may_be_known(finding)) {
        let rules = counts.entry(files.get(finding.primary().file).path().to_owned()).or_default();
        *rules.entry(finding.name().to_owned()).or_default() += 1;
    }
    counts
}
