use crate::format::lines::content;
use crate::format::mark::Marks;
use crate::format::shape::entry_shape;
use crate::format::spell::spell;
use crate::report::Diagnostic;
use crate::syntax::{Comment, Kind, Parsed, TokenTable, parse};
use crate::text::{FileId, Span};

/// Why a text is not formatted: the new one would have lost something. Each place lies in the old text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// This token would be lost or changed.
    Token(Span),
    /// This comment would be lost, changed or moved to another token.
    Comment(Span),
    /// This entry would mean something else.
    Meaning(Span),
}

impl Refusal {
    /// What would be lost.
    pub fn span(self) -> Span {
        match self {
            Self::Token(span) | Self::Comment(span) | Self::Meaning(span) => span,
        }
    }

    /// The refusal as a finding.
    pub fn finding(self) -> Diagnostic {
        let headline = match self {
            Self::Token(_) => "not formatted: this would be lost",
            Self::Comment(_) => "not formatted: this comment would be lost",
            Self::Meaning(_) => "not formatted: this would be read in another way",
        };
        Diagnostic::error("format-refused", self.span(), headline)
            .here("the file is left as it is")
            .note("This is a fault of the formatter, not of the file.")
    }
}

/// Compares the formatted text with what it was made from.
pub fn verify(file: FileId, old: (&str, &Parsed, &Marks), formatted: &str) -> Result<(), Refusal> {
    let (text, parsed, marks) = old;
    let new = parse(file, formatted);
    let (table, of_new) = (parsed.table(text), new.table(formatted));
    let end = table.span(table.len());
    compare_tokens(text, table, marks, formatted, of_new)?;
    compare_comments((text, table), (formatted, of_new))?;
    let mut entries = new.tree.entries.iter();
    for entry in &parsed.tree.entries {
        let same = entries.next().is_some_and(|new| entry_shape(entry, text) == entry_shape(new, formatted));
        if !same {
            return Err(Refusal::Meaning(entry.span()));
        }
    }
    let subjects = |parsed: &Parsed| parsed.faults.iter().map(|fault| fault.subject).collect::<Vec<_>>();
    if entries.next().is_some() || subjects(parsed) != subjects(&new) {
        return Err(Refusal::Meaning(parsed.faults.first().map_or(end, Diagnostic::primary)));
    }
    Ok(())
}

/// Tokens must be the same but for commas, which may stand for line breaks; those that do not are part of the tree.
fn compare_tokens(
    text: &str,
    old: &TokenTable,
    marks: &Marks,
    formatted: &str,
    new: &TokenTable,
) -> Result<(), Refusal> {
    let mut others = without_commas(new).map(|index| formatted.get(new.span(index).range()).unwrap_or(""));
    for index in without_commas(old) {
        let written = text.get(old.span(index).range()).unwrap_or("");
        if others.next() != Some(spell(old.kinds()[index], marks.marks[index], written)) {
            return Err(Refusal::Token(old.span(index)));
        }
    }
    match others.next() {
        Some(_) => Err(Refusal::Token(old.span(old.len()))),
        None => Ok(()),
    }
}

fn without_commas(table: &TokenTable) -> impl Iterator<Item = usize> {
    (0..table.len()).filter(|index| table.kinds()[*index] != Kind::Comma)
}

fn compare_comments(old: (&str, &TokenTable), new: (&str, &TokenTable)) -> Result<(), Refusal> {
    let mut others = placed_comments(new.1);
    for (comment, place) in placed_comments(old.1) {
        let same = others.next().is_some_and(|(other, other_place)| {
            place == other_place && content(old.0, comment) == content(new.0, other)
        });
        if !same {
            return Err(Refusal::Comment(comment.span));
        }
    }
    match others.next() {
        Some(_) => Err(Refusal::Comment(old.1.span(old.1.len()))),
        None => Ok(()),
    }
}

/// Each comment with the number of tokens before it, commas apart.
fn placed_comments(table: &TokenTable) -> impl Iterator<Item = (Comment, usize)> {
    let (mut token, mut commas) = (0, 0);
    table.comments().iter().map(move |comment| {
        let before = comment.before as usize;
        commas += table.kinds()[token..before].iter().filter(|kind| **kind == Kind::Comma).count();
        token = before;
        (*comment, before - commas)
    })
}

#[cfg(test)]
mod tests {
    use super::{Refusal, verify};
    use crate::format::mark::marks;
    use crate::syntax::parse;
    use crate::text::FileId;

    /// Whether `new` may stand for `old`; otherwise what is lost.
    fn lost(old: &str, new: &str) -> Option<(Refusal, String)> {
        let parsed = parse(FileId(0), old);
        let refusal = verify(FileId(0), (old, &parsed, &marks(&parsed, old)), new).err()?;
        Some((refusal, old[refusal.span().range()].to_owned()))
    }

    #[test]
    fn a_lost_token_is_refused() {
        for new in ["a 3 mm\n", "a 3 mm b c\n", "a 4 mm b\n", "a 3 mm, c\n"] {
            assert!(matches!(lost("a 3 mm b", new), Some((Refusal::Token(_), _))), "{new}");
        }
        assert_eq!(lost("a 3 mm b", "a 3 mm b\n"), None);
        assert_eq!(lost("a 3 \u{b5}m", "a 3 um\n"), None);
        assert_eq!(lost("a \u{b5}m", "a um\n").unwrap().1, "\u{b5}m");
    }

    #[test]
    fn a_lost_or_moved_comment_is_refused() {
        let old = "a 3  # one\nb  # two\n";
        for new in ["a 3\nb  # two\n", "a 3  # one\nb\n", "a 3\n# one\n# two\nb", "a 3  # one\nb  # two\n# three"] {
            assert!(matches!(lost(old, new), Some((Refusal::Comment(_), _))), "{new}");
        }
        assert_eq!(lost(old, "a 3 # one  \nb\n# two"), None);
    }

    #[test]
    fn another_meaning_is_refused() {
        let cases = [
            ("a 1, b 2", "a 1 b 2\n"),
            ("a { b }", "a { b } {}\n"),
            ("let x = 5 W / m", "let x = 5 W/m\n"),
            ("a x (3)", "a x(3)\n"),
            ("## doc\na\nb", "a\n## doc\nb\n"),
        ];
        for (old, new) in cases {
            assert!(lost(old, new).is_some(), "{old} became {new}");
        }
        assert!(matches!(lost("a 1, b 2", "a 1 b 2\n"), Some((Refusal::Meaning(_), _))));
        assert!(matches!(lost("let x = 5 W / m", "let x = 5 W/m\n"), Some((Refusal::Meaning(_), _))));
    }

    #[test]
    fn a_refusal_says_what_and_where() {
        let (refusal, _) = lost("a 3", "a\n").unwrap();
        let finding = refusal.finding();
        assert_eq!(finding.headline, "not formatted: this would be lost");
        assert_eq!(finding.primary(), refusal.span());
    }
}
