//! Making mends: edits applied to a text, and what they change shown line by line.

use std::fmt;

use similar::TextDiff;

use crate::report::{Change, Edit};
use crate::text::{FileId, Span};

/// Why edits cannot be made together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EditFault {
    /// The span does not lie in the text.
    OutOfRange(Span),
    /// The span begins or ends inside a character.
    InsideCharacter(Span),
    /// The second span begins before the first one ends.
    Overlap(Span, Span),
}

impl fmt::Display for EditFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange(span) => write!(f, "bytes {}..{} do not lie in the text", span.start, span.end),
            Self::InsideCharacter(span) => write!(f, "bytes {}..{} split a character", span.start, span.end),
            Self::Overlap(a, b) => {
                write!(f, "bytes {}..{} and {}..{} overlap", a.start, a.end, b.start, b.end)
            }
        }
    }
}

impl std::error::Error for EditFault {}

/// The text of `file` with the changes that `edits` make in it; changes in other files are left out.
///
/// The same change asked for twice (two findings may offer the same `use`) is made once; different insertions at
/// one place follow each other in the order given.
pub fn apply(file: FileId, text: &str, edits: &[Edit]) -> Result<String, EditFault> {
    let changes = edits.iter().flat_map(|edit| &edit.changes).filter(|change| change.span.file == file);
    let mut distinct: Vec<&Change> = Vec::new();
    for change in changes {
        if !distinct.contains(&change) {
            distinct.push(change);
        }
    }
    distinct.sort_by_key(|change| (change.span.start, change.span.end));

    let mut edited = String::with_capacity(text.len());
    let mut last: Option<Span> = None;
    for change in distinct {
        if let Some(last) = last.filter(|last| change.span.start < last.end) {
            return Err(EditFault::Overlap(last, change.span));
        }
        let kept = last.map_or(0, |last| last.end as usize)..change.span.start as usize;
        check(change.span, text)?;
        edited.push_str(text.get(kept).unwrap_or(""));
        edited.push_str(&change.text);
        last = Some(change.span);
    }
    edited.push_str(text.get(last.map_or(0, |last| last.end as usize)..).unwrap_or(""));
    Ok(edited)
}

fn check(span: Span, text: &str) -> Result<(), EditFault> {
    if span.start > span.end || span.end as usize > text.len() {
        return Err(EditFault::OutOfRange(span));
    }
    if text.get(span.range()).is_none() {
        return Err(EditFault::InsideCharacter(span));
    }
    Ok(())
}

/// The unified diff that turns `before` into `after`; empty where they are the same.
pub fn diff(path: &str, before: &str, after: &str) -> String {
    let path = path.replace(['\n', '\r'], " ");
    TextDiff::from_lines(before, after).unified_diff().header(&format!("a/{path}"), &format!("b/{path}")).to_string()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{Strategy, proptest};

    use super::{EditFault, apply, diff};
    use crate::report::{Change, Edit};
    use crate::text::{FileId, Span};

    const FILE: FileId = FileId(3);

    fn span(start: u32, end: u32) -> Span {
        Span { file: FILE, start, end }
    }

    fn edit(changes: &[(u32, u32, &str)]) -> Edit {
        let changes =
            changes.iter().map(|(start, end, text)| Change { span: span(*start, *end), text: (*text).to_owned() });
        Edit { title: "mend".to_owned(), changes_control: false, changes: changes.collect() }
    }

    #[test]
    fn changes_of_several_edits_are_made_together() {
        let elsewhere = Change { span: Span::new(FileId(0), 0, 99), text: "gone".to_owned() };
        let mut other = edit(&[(0, 0, "use \"a\"\n"), (8, 8, "!")]);
        other.changes.push(elsewhere);
        let edits = [edit(&[(6, 8, "80 °C"), (0, 0, "use \"a\"\n")]), other, edit(&[(0, 0, "use \"b\"\n")])];
        let edited = apply(FILE, "heat µ", &edits[..0]);
        assert_eq!(edited.as_deref(), Ok("heat µ"));
        let edited = apply(FILE, "heat  at µ", &edits);
        assert_eq!(edited.as_deref(), Ok("use \"a\"\nuse \"b\"\nheat  80 °C! µ"));
    }

    #[test]
    fn changes_that_cannot_be_made_are_refused() {
        let fault = |changes| apply(FILE, "a µ b", &[edit(changes)]).unwrap_err();
        assert_eq!(fault(&[(0, 2, ""), (1, 4, "")]), EditFault::Overlap(span(0, 2), span(1, 4)));
        assert_eq!(fault(&[(1, 2, "x"), (1, 2, "y")]), EditFault::Overlap(span(1, 2), span(1, 2)));
        assert_eq!(fault(&[(0, 2, "x"), (1, 1, "y")]), EditFault::Overlap(span(0, 2), span(1, 1)));
        assert_eq!(fault(&[(3, 4, "")]), EditFault::InsideCharacter(span(3, 4)));
        assert_eq!(fault(&[(3, 3, "")]), EditFault::InsideCharacter(span(3, 3)));
        assert_eq!(fault(&[(6, 7, "")]), EditFault::OutOfRange(span(6, 7)));
        assert_eq!(fault(&[(2, 1, "")]), EditFault::OutOfRange(span(2, 1)));
    }

    #[test]
    fn a_diff_shows_what_an_edit_changes() {
        let before = "recipe lid for tray on north {\n  ambient 18..27 °C\n  heat 90 s\n}";
        insta::assert_snapshot!(diff("a b.withy", before, &before.replace("90 s", "84 s")), @r"
        --- a/a b.withy
        +++ b/a b.withy
        @@ -1,4 +1,4 @@
         recipe lid for tray on north {
           ambient 18..27 °C
        -  heat 90 s
        +  heat 84 s
         }
        \ No newline at end of file
        ");
        assert_eq!(diff("a.withy", before, before), "");
    }

    /// Texts of a few short lines, with and without a line break at the end.
    fn text() -> impl Strategy<Value = String> {
        "([a-c°]{0,3}(\n|\r\n)?){0,8}"
    }

    proptest! {
        #[test]
        fn any_edits_give_a_text_or_a_fault(
            text in text(),
            changes in proptest::collection::vec((0..12_u32, 0..12_u32, "[x-zµ]{0,2}"), 0..4),
        ) {
            let changes = changes.iter().map(|(start, end, new)| Change { span: span(*start, *end), text: new.clone() });
            let edit = Edit { title: String::new(), changes_control: false, changes: changes.collect() };
            let removed: usize = edit.changes.iter().map(|c| (c.span.end as usize).saturating_sub(c.span.start as usize)).sum();
            let added: usize = edit.changes.iter().map(|c| c.text.len()).sum();
            if let Ok(edited) = apply(FILE, &text, &[edit]) {
                assert!(edited.len() <= text.len() + added);
                assert!(edited.len() + removed >= text.len());
            }
        }

        #[test]
        fn a_diff_holds_both_texts(before in text(), after in text()) {
            let diff = diff("a.withy", &before, &after);
            let side = |mark: char| diff.lines().skip(2).filter(|line| line.starts_with(mark)).count();
            let lines = |text: &str| text.split_inclusive('\n').count();
            assert_eq!(lines(&before) + side('+'), lines(&after) + side('-'));
            assert_eq!(diff.is_empty(), before == after);
        }
    }
}
