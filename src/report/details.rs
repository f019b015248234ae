use crate::report::{Diagnostic, figures};

/// What follows the headline where only text can be shown: figures, notes, helps and the titles of edits.
pub(super) fn lines(diagnostic: &Diagnostic) -> Vec<String> {
    let mut lines = remarks(diagnostic);
    lines.extend(diagnostic.edits.iter().map(|edit| {
        let control = if edit.changes_control { " (changes a time, power, temperature or current)" } else { "" };
        format!("edit: {}{control}", edit.title)
    }));
    lines
}

/// The whole finding as plain text, for where places and edits are shown otherwise.
pub fn message(diagnostic: &Diagnostic) -> String {
    let mut lines = vec![diagnostic.headline.clone()];
    lines.extend(diagnostic.labels.first().map(|label| label.text.clone()).filter(|text| !text.is_empty()));
    lines.extend(remarks(diagnostic));
    lines.join("\n")
}

fn remarks(diagnostic: &Diagnostic) -> Vec<String> {
    let mut lines = figures::table(&diagnostic.figures);
    lines.extend(diagnostic.notes.iter().chain(&diagnostic.helps).cloned());
    lines
}
