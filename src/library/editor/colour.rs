//! What each word of a text is, for its colour.

use std::collections::{BTreeMap, BTreeSet};

use crate::library::editor::marks::{Mark, Meaning};
use crate::library::editor::view::View;
use crate::names::DeclKind;
use crate::syntax::{Entry, Kind};
use crate::text::{FileId, Span};
use crate::units::lookup;

/// What a word is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// A comment.
    Comment,
    /// A doc comment.
    Doc,
    /// A word that begins a declaration, or a reserved one.
    Keyword,
    /// A word that begins an entry.
    Entry,
    /// A word that an entry takes.
    Word,
    /// A declaration's name.
    Name,
    /// The name of a named expression.
    Value,
    /// A bend, an arm.
    Local,
    /// A parameter.
    Parameter,
    /// The prefix of a `use`.
    Prefix,
    /// A function.
    Function,
    /// A rule.
    Rule,
    /// A number or a date.
    Number,
    /// A unit.
    Unit,
    /// A text in quotes.
    Text,
}

/// A coloured word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coloured {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub colour: Colour,
    /// Whether it is given its meaning here.
    pub declares: bool,
}

/// The words of a file, in order.
pub fn colours(view: &View<'_>, file: FileId) -> Vec<Coloured> {
    let Some(parsed) = view.loaded.parsed.get(file.0 as usize) else { return Vec::new() };
    let marks: BTreeMap<u32, Mark> = view.marks(file).into_iter().map(|mark| (mark.span.start, mark)).collect();
    let mut heads = BTreeSet::new();
    let mut declarations = BTreeSet::new();
    for entry in &parsed.tree.entries {
        declarations.extend(entry.head().map(|head| head.start));
        inner_heads(entry, &mut heads);
    }
    let table = parsed.table(view.text(file));
    let mut found: Vec<Coloured> = Vec::new();
    let mut covered = 0;
    for (index, kind) in table.kinds().iter().enumerate() {
        let span = table.span(index);
        if span.start < covered {
            continue;
        }
        let before = index.checked_sub(1).and_then(|before| table.kinds().get(before)).copied();
        // Reserved words look alike wherever they stand.
        let mark = marks.get(&span.start).filter(|mark| mark.meaning != Meaning::Word || !kind.is_reserved());
        if let Some(mark) = mark {
            found.push(Coloured { span: mark.span, colour: named(view, &mark.meaning), declares: mark.declares });
            covered = mark.span.end;
            continue;
        }
        let colour = match kind {
            _ if declarations.contains(&span.start) => Colour::Keyword,
            _ if heads.contains(&span.start) => Colour::Entry,
            Kind::Number | Kind::Fraction | Kind::Deviations | Kind::Date => Colour::Number,
            Kind::Text | Kind::OpenText => Colour::Text,
            Kind::Percent | Kind::DegreeSign => Colour::Unit,
            Kind::Word if is_unit(before) && lookup(view.slice(span)).is_some() => Colour::Unit,
            Kind::Word if view.slice(span) == "AWG" => Colour::Unit,
            kind if kind.is_reserved() => Colour::Keyword,
            Kind::Word => Colour::Word,
            _ => continue,
        };
        found.push(Coloured { span, colour, declares: false });
    }
    found.extend(table.comments().iter().map(|comment| Coloured {
        span: comment.span,
        colour: if comment.doc { Colour::Doc } else { Colour::Comment },
        declares: false,
    }));
    found.sort_by_key(|coloured| coloured.span.start);
    found
}

/// Whether a unit can stand behind a token of this kind.
fn is_unit(before: Option<Kind>) -> bool {
    matches!(
        before,
        Some(
            Kind::Number
                | Kind::Fraction
                | Kind::Deviations
                | Kind::UnitSlash
                | Kind::UnitStar
                | Kind::DegreeSign
                | Kind::OpenParen
                | Kind::Word
        )
    )
}

fn inner_heads(entry: &Entry, heads: &mut BTreeSet<u32>) {
    for inner in entry.inner() {
        heads.extend(inner.head().map(|head| head.start));
        inner_heads(inner, heads);
    }
}

fn named(view: &View<'_>, meaning: &Meaning) -> Colour {
    match meaning {
        Meaning::Decl(id) if view.names.decl(*id).kind == DeclKind::Let => Colour::Value,
        Meaning::Decl(_) => Colour::Name,
        Meaning::Parameter(..) => Colour::Parameter,
        Meaning::Bend(..) | Meaning::Arm(..) => Colour::Local,
        Meaning::Prefix(..) => Colour::Prefix,
        Meaning::Rule(_) => Colour::Rule,
        Meaning::Word => Colour::Word,
        Meaning::Function(_) => Colour::Function,
    }
}
