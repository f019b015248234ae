use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::names::{DeclId, DeclKind, Found, Names};
use crate::report::Diagnostic;
use crate::syntax::{Arg, Block, Entry, Expr};
use crate::text::{FileId, Files, Span};
use crate::types::schema::{BlockSchema, Many, declaration};

/// The entries of a declaration after its copies were carried through.
pub type Merged<'t> = Vec<MergedEntry<'t>>;

/// An entry and the file whose names it uses.
#[derive(Clone, Debug)]
pub struct MergedEntry<'t> {
    /// The syntax of the line.
    pub entry: &'t Entry,
    /// The file it stands in.
    pub file: FileId,
    /// Its block, after merging.
    pub block: Option<Merged<'t>>,
    /// Whether it stands for a broken one that is copied, so that its block may lack what that one says.
    pub partial: bool,
}

/// Carries `from` through: a copy's entries replace those of what it copies, blocks entry by entry.
pub struct Merger<'n, 't> {
    names: &'n Names<'t>,
    files: &'n Files,
    done: BTreeMap<DeclId, Option<Arc<Merged<'t>>>>,
}

impl<'n, 't> Merger<'n, 't> {
    /// Nothing merged yet.
    pub fn new(names: &'n Names<'t>, files: &'n Files) -> Self {
        Self { names, files, done: BTreeMap::new() }
    }

    /// The entries of a declaration; none where it copies something broken.
    pub fn merged(&mut self, id: DeclId) -> Option<Arc<Merged<'t>>> {
        // The way to the first declaration whose entries are known, or that copies nothing.
        let mut way = vec![id];
        let mut inherited = loop {
            let last = way[way.len() - 1];
            if let Some(done) = self.done.get(&last) {
                way.pop();
                break Inherited::from(done.clone());
            }
            match self.base(last) {
                Base::None => break Inherited::Nothing,
                Base::Broken => break Inherited::Broken,
                Base::Copy(base) if way.contains(&base) => break Inherited::Broken,
                Base::Copy(base) => way.push(base),
            }
        };
        while let Some(next) = way.pop() {
            let merged = match inherited {
                Inherited::Broken => None,
                Inherited::Nothing => Some(Arc::new(self.own(next))),
                Inherited::Entries(base) => self.copy(next, Arc::unwrap_or_clone(base)).map(Arc::new),
            };
            self.done.insert(next, merged.clone());
            inherited = Inherited::from(merged);
        }
        match inherited {
            Inherited::Entries(entries) => Some(entries),
            Inherited::Broken | Inherited::Nothing => None,
        }
    }

    /// What is wrong if copies go round in a circle; it is told where the first declaration of the circle stands.
    pub fn circle(&self, id: DeclId) -> Option<Diagnostic> {
        let mut round = vec![id];
        while let Base::Copy(base) = self.base(round[round.len() - 1]) {
            if base == id {
                return Some(circular_copy(&round, self.names));
            }
            if base < id || round.contains(&base) {
                return None;
            }
            round.push(base);
        }
        None
    }

    /// The entries of the declaration itself, without what it copies.
    pub fn own(&self, id: DeclId) -> Merged<'t> {
        let decl = self.names.decl(id);
        decl.entry.block().map_or_else(Vec::new, |block| own_entries(block, decl.file))
    }

    /// The entries of what a declaration copies, if it is a copy of something sound.
    pub fn inherited(&mut self, id: DeclId) -> Option<Arc<Merged<'t>>> {
        match self.base(id) {
            Base::Copy(base) => self.merged(base),
            Base::None | Base::Broken => None,
        }
    }

    fn copy(&self, id: DeclId, mut inherited: Merged<'t>) -> Option<Merged<'t>> {
        let kind = self.names.decl(id).kind;
        if kind == DeclKind::Heater {
            // Another heater: what trials on the first have shown does not hold for it.
            inherited.retain(|entry| self.word(entry) != "calibrated");
        }
        let schema = declaration(kind)?;
        Some(self.overlay(inherited, self.own(id), schema))
    }

    fn overlay(&self, mut base: Merged<'t>, own: Merged<'t>, schema: &BlockSchema) -> Merged<'t> {
        let mut laid: BTreeSet<(&str, &str)> = BTreeSet::new();
        for entry in own {
            let word = self.word(&entry);
            let entry_schema = schema.entry(word);
            let many = entry_schema.map_or(Many::Any, |schema| schema.many);
            let key = match many {
                Many::Once => "",
                Many::Keyed => self.key(&entry),
                Many::Any => {
                    base.push(entry);
                    continue;
                }
            };
            // What is said twice stays there twice, and is reported.
            if !laid.insert((word, key)) {
                base.push(entry);
                continue;
            }
            // One of two alternatives replaces the other.
            let others = entry_schema.map_or(&[][..], |schema| schema.instead_of);
            base.retain(|old| !others.contains(&self.word(old)));
            let same = |old: &MergedEntry<'t>| self.word(old) == word && (many == Many::Once || self.key(old) == key);
            let Some(place) = base.iter().position(same) else {
                base.push(entry);
                continue;
            };
            if ends_with_none(&entry, self.files) {
                base.remove(place);
                continue;
            }
            let inner = entry_schema.and_then(|schema| schema.block);
            let partial = base[place].partial || base[place].entry.broken();
            let old = base[place].block.take();
            base[place] = match (old, entry.block.clone(), inner) {
                (Some(old), Some(new), Some(inner)) => {
                    MergedEntry { block: Some(self.overlay(old, new, inner)), partial, ..entry }
                }
                _ => MergedEntry { partial, ..entry },
            };
        }
        base
    }

    fn word(&self, entry: &MergedEntry<'t>) -> &'n str {
        entry.entry.head().map_or("", |head| self.files.slice(head))
    }

    /// The first argument as it is written; of `0 heats left_line`, the `0`.
    fn key(&self, entry: &MergedEntry<'t>) -> &'n str {
        key_span(entry.entry).map_or("", |span| self.files.slice(span))
    }

    fn base(&self, id: DeclId) -> Base {
        let decl = self.names.decl(id);
        if !decl.kind.can_be_copied() {
            return Base::None;
        }
        // A header that is malformed was reported, and may have meant a copy.
        let path = match decl.entry.args().get(1..).unwrap_or(&[]) {
            [] => return Base::None,
            [Arg::Word(word), Arg::Expr(other)]
                if self.files.slice(*word) == "from"
                    && !decl.entry.broken()
                    && let Some(path) = other.path() =>
            {
                path
            }
            _ => return Base::Broken,
        };
        let words: Vec<&str> = path.words().map(|word| self.files.slice(word)).collect();
        match self.names.find(decl.file, &words) {
            Found::Decl(base) if self.names.decl(base).kind == decl.kind => Base::Copy(base),
            // The header's own check reports a wrong kind and a missing name.
            _ => Base::Broken,
        }
    }
}

fn circular_copy(round: &[DeclId], names: &Names<'_>) -> Diagnostic {
    let called: Vec<&str> = round.iter().map(|id| names.decl(*id).name.as_str()).collect();
    let shown = format!("{} → {}", called.join(" → "), called.first().unwrap_or(&""));
    let spans: Vec<Span> = round.iter().map(|id| names.decl(*id).name_span).collect();
    let fault = Diagnostic::error("circular-copy", spans[0], format!("copies go round in a circle: {shown}"))
        .here("the circle begins here")
        .help("One of them must say what it is instead of copying.");
    spans.iter().skip(1).fold(fault, |fault, span| fault.also(*span, "and goes on here"))
}

/// What the next copy on the way begins with.
enum Inherited<'t> {
    Nothing,
    Broken,
    Entries(Arc<Merged<'t>>),
}

impl<'t> From<Option<Arc<Merged<'t>>>> for Inherited<'t> {
    fn from(merged: Option<Arc<Merged<'t>>>) -> Self {
        merged.map_or(Self::Broken, Self::Entries)
    }
}

enum Base {
    None,
    Broken,
    Copy(DeclId),
}

fn own_entries<'t>(block: &'t Block, file: FileId) -> Merged<'t> {
    let inner = |entry: &'t Entry| entry.block().map(|block| own_entries(block, file));
    block.entries.iter().map(|entry| MergedEntry { entry, file, block: inner(entry), partial: false }).collect()
}

/// Where the first argument stands; of a number with a word behind it, only the number.
pub fn key_span(entry: &Entry) -> Option<Span> {
    let first = entry.args().first()?;
    let measure = first.expr().and_then(Expr::measure);
    Some(measure.map_or(first.span(), |measure| measure.number.span))
}

/// Whether the entry says that there is none of it: `spring none`, `output 2 none`.
pub fn ends_with_none(entry: &MergedEntry<'_>, files: &Files) -> bool {
    match entry.entry.args() {
        [Arg::Word(word)] | [_, Arg::Word(word)] => files.slice(*word) == "none" && entry.block.is_none(),
        _ => false,
    }
}
