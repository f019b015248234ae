//! Where an input comes from, as a person or a program is told: kind, words, file and line.

use serde::Serialize;

use crate::plan::{Basis, Origin};
use crate::syntax::{Arg, Entry, ExprKind, Tree};
use crate::text::{Files, Span};

/// The texts and trees in which sources are looked up.
#[derive(Debug)]
pub struct Sources<'a> {
    /// The texts.
    pub files: &'a Files,
    /// The tree of each file.
    pub trees: Vec<&'a Tree>,
    /// How many of the first files are the catalogue.
    pub catalogue: usize,
}

/// Where something comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Of what kind it is.
    pub kind: &'static str,
    /// What is said about it.
    pub text: String,
    /// The file it stands in; none for a default.
    pub file: Option<String>,
    /// The line, from 1.
    pub line: Option<u32>,
    /// The entry as it is written.
    pub entry: Option<String>,
}

impl<'a> Sources<'a> {
    /// What stands behind an input.
    pub fn of(&self, origin: &Origin) -> Source {
        match origin {
            Origin::Place(span) => self
                .path(*span)
                .last()
                .map_or_else(|| told(Basis::Written, String::new()), |(siblings, entry)| self.entry(siblings, entry)),
            Origin::Entry(span, head, otherwise) => match self.find(*span, head) {
                Some((siblings, entry)) => self.entry(siblings, entry),
                None => told(Basis::Unpublished, format!("not given: {otherwise}")),
            },
            Origin::Declared(name, head) => {
                let found = self.declaration(name).and_then(|entry| self.below(entry, head, 0));
                found.map_or_else(
                    || told(Basis::Written, format!("`{name}`")),
                    |(siblings, entry)| self.entry(siblings, entry),
                )
            }
            Origin::Model(basis, text) => told(*basis, (*text).to_owned()),
            Origin::Figure(name) => told(Basis::Computed, format!("from the figure `{name}`")),
        }
    }

    /// The source of one entry: its doc comment, or that of an entry with the same head above it.
    pub fn entry(&self, siblings: &'a [Entry], entry: &'a Entry) -> Source {
        let (kind, text) = self.doc(siblings, entry);
        let place = self.files.position(entry.span());
        Source {
            kind: kind.words(),
            text,
            file: Some(self.files.get(entry.span().file).path().to_owned()),
            line: Some(place.line),
            entry: Some(one_line(self.files.slice(entry.line()))),
        }
    }

    /// Kind and words of the doc comment that holds for an entry.
    pub fn doc(&self, siblings: &'a [Entry], entry: &'a Entry) -> (Basis, String) {
        let own = entry.doc().map(|doc| plain_doc(self.files.slice(doc))).unwrap_or_default();
        if let Some(basis) = basis(&own) {
            return (basis, own);
        }
        // A curve has its source above its first point.
        let head = |entry: &Entry| entry.head().map(|head| self.files.slice(head));
        let above = siblings.iter().take_while(|sibling| sibling.span() != entry.span());
        let same = above.filter(|sibling| head(sibling) == head(entry));
        let docs = same.filter_map(Entry::doc).map(|doc| plain_doc(self.files.slice(doc)));
        let inherited = docs.filter_map(|doc| Some((basis(&doc)?, doc))).last();
        match inherited {
            Some((basis, doc)) if own.is_empty() => (basis, doc),
            Some((basis, doc)) => (basis, format!("{doc} {own}")),
            None => (Basis::Written, own),
        }
    }

    /// The entries around a place, the outermost first, each with those it stands among.
    fn path(&self, span: Span) -> Vec<(&'a [Entry], &'a Entry)> {
        let mut path = Vec::new();
        let Some(tree) = self.trees.get(span.file.0 as usize) else { return path };
        let mut entries: &'a [Entry] = &tree.entries;
        while let Some(entry) = entries.iter().find(|entry| holds(entry.span(), span)) {
            path.push((entries, entry));
            entries = entry.inner();
        }
        path
    }

    /// The entry with a head in the block around a place, in one further out, or in what the declaration copies.
    fn find(&self, span: Span, head: &str) -> Option<(&'a [Entry], &'a Entry)> {
        let path = self.path(span);
        // The place may be such an entry itself.
        if let Some((siblings, entry)) = path.last()
            && entry.head().is_some_and(|word| self.files.slice(word) == head)
        {
            return Some((siblings, entry));
        }
        path.iter().rev().find_map(|(_, entry)| self.below(entry, head, 0))
    }

    /// The first entry with a head in the block of an entry, in its `every` blocks, or in what it copies.
    fn below(&self, entry: &'a Entry, head: &str, depth: usize) -> Option<(&'a [Entry], &'a Entry)> {
        let entries: &'a [Entry] = entry.inner();
        let has = |entry: &&Entry, word: &str| entry.head().is_some_and(|head| self.files.slice(head) == word);
        if let Some(found) = entries.iter().find(|entry| has(entry, head)) {
            return Some((entries, found));
        }
        if let Some(found) = entries.iter().filter(|entry| has(entry, "every")).find_map(|every| {
            let inner: &'a [Entry] = every.inner();
            inner.iter().find(|entry| has(entry, head)).map(|found| (inner, found))
        }) {
            return Some(found);
        }
        // Copies of copies end somewhere; circles were reported.
        if depth > 64 {
            return None;
        }
        let copied = entry.args().iter().skip_while(|arg| self.files.slice(arg.span()) != "from").nth(1)?;
        self.below(self.declaration(self.files.slice(copied.span()))?, head, depth + 1)
    }

    /// The declaration of a name; the shop's own go before the catalogue's.
    fn declaration(&self, name: &str) -> Option<&'a Entry> {
        let (catalogue, own) = self.trees.split_at(self.catalogue.min(self.trees.len()));
        let all = own.iter().chain(catalogue).flat_map(|tree| &tree.entries);
        all.into_iter().find(|entry| self.declares(entry, name))
    }

    fn declares(&self, entry: &Entry, name: &str) -> bool {
        match entry.args().first() {
            Some(Arg::Expr(expr)) => {
                matches!(expr.kind(), ExprKind::Path(path) if self.files.slice(path.span) == name)
            }
            _ => false,
        }
    }
}

fn told(basis: Basis, text: String) -> Source {
    Source { kind: basis.words(), text, file: None, line: None, entry: None }
}

fn holds(outer: Span, inner: Span) -> bool {
    outer.file == inner.file && outer.start <= inner.start && inner.end <= outer.end
}

/// A doc comment without its marks, in one line.
pub fn plain_doc(doc: &str) -> String {
    one_line(&doc.lines().map(|line| line.trim_start_matches([' ', '\t', ',', '#'])).collect::<Vec<_>>().join(" "))
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The kind with which a doc comment begins.
fn basis(doc: &str) -> Option<Basis> {
    [
        ("Published", Basis::Published),
        ("Common practice", Basis::Practice),
        ("From memory", Basis::Memory),
        ("Computed", Basis::Computed),
    ]
    .into_iter()
    .find(|(words, _)| doc.starts_with(words))
    .map(|found| found.1)
}
