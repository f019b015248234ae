use crate::report::{Diagnostic, figures};

/// What follows the headline where only text can be shown: figures, notes, helps and the titles of edits.
pub(super) fn lines(diagnostic: &Diagnostic) -> Vec<String> {
    let mut lines = figures::table(&diagnostic.figures);
    lines.extend(diagnostic.notes.iter().chain(&diagnostic.helps).cloned());
    lines.extend(diagnostic.edits.iter().map(|edit| {
        let control = if edit.changes_control { " (changes a time, power, temperature or current)" } else { "" };
        format!("edit: {}{control}", edit.title)
    }));
    lines
}
