use similar::{DiffOp, TextDiff};

use crate::format::format;
use crate::report::Diagnostic;
use crate::syntax::parse;
use crate::text::{FileId, Files, SourceFile};

/// What formatting made of a text.
#[derive(Debug)]
pub struct Formatted {
    /// The text in the one style; none where something would be lost.
    pub text: Option<String>,
    /// Faults of syntax, around which the text was formatted, or why it was not.
    pub findings: Vec<Diagnostic>,
    /// The text by its name, for showing findings.
    pub files: Files,
}

/// A text in the one style.
pub fn formatted(name: &str, text: &str) -> Formatted {
    let mut files = Files::new();
    let id: FileId = files.add(SourceFile::new(name, text));
    let parsed = parse(id, text);
    let mut findings = parsed.faults.clone();
    let text = match format(id, text, &parsed) {
        Ok(text) => Some(text),
        Err(refusal) => {
            findings.push(refusal.finding());
            None
        }
    };
    Formatted { text, findings, files }
}

/// Lines that another text has in place of some.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The first byte that goes.
    pub start: u32,
    /// Just past the last byte that goes.
    pub end: u32,
    /// What comes in its place.
    pub text: String,
}

/// What turns one text into another, line by line: what stays as it is, an editor need not touch.
pub fn stretches(before: &str, after: &str) -> Vec<Stretch> {
    let (gone, come): (Vec<&str>, Vec<&str>) =
        (before.split_inclusive('\n').collect(), after.split_inclusive('\n').collect());
    let diff = TextDiff::from_slices(&gone, &come);
    let (old, new) = (starts(before), starts(after));
    let at = |starts: &[usize], line: usize| starts.get(line).or(starts.last()).copied().unwrap_or(0);
    let small = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    // Only what the library says to be alike is asked: of lines that go and come side by side it tells wrong places, where
    // it has slid one past the other.
    let alike = diff.ops().iter().filter(|op| matches!(op, DiffOp::Equal { .. }));
    let alike = alike.map(|op| (op.old_range(), op.new_range()));
    let end = (gone.len()..gone.len(), come.len()..come.len());
    let mut done = (0, 0);
    let mut changes = Vec::new();
    for (kept, same) in alike.chain(std::iter::once(end)) {
        if done != (kept.start, same.start) {
            let text = after.get(at(&new, done.1)..at(&new, same.start)).unwrap_or("").to_owned();
            changes.push(Stretch { start: small(at(&old, done.0)), end: small(at(&old, kept.start)), text });
        }
        done = (kept.end, same.end);
    }
    changes
}

/// Where each line begins, and where the text ends.
fn starts(text: &str) -> Vec<usize> {
    let lengths = text.split_inclusive('\n').map(str::len);
    std::iter::once(0)
        .chain(lengths.scan(0, |at, length| {
            *at += length;
            Some(*at)
        }))
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    use super::stretches;

    proptest! {
        #[test]
        fn stretches_turn_one_text_into_the_other(before in "([a-cµ]{0,2}(\n|\r\n)?){0,24}", after in "([a-cµ]{0,2}(\n|\r\n)?){0,24}") {
            let mut text = before.clone();
            let changes = stretches(&before, &after);
            for stretch in changes.iter().rev() {
                text.replace_range(stretch.start as usize..stretch.end as usize, &stretch.text);
            }
            prop_assert_eq!(text, after);
            // An editor takes them in any order.
            prop_assert!(changes.windows(2).all(|pair| pair[0].end < pair[1].start));
        }
    }
}
