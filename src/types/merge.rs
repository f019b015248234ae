use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use crate::names::{DeclId, DeclKind, Found, Names};
use crate::report::Diagnostic;
use crate::syntax::{Arg, Block, Entry, Expr, ExprKind};
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
    done: BTreeMap<DeclId, Option<Rc<Merged<'t>>>>,
    path: Vec<DeclId>,
    /// What was found wrong with copies.
    pub faults: Vec<Diagnostic>,
}

impl<'n, 't> Merger<'n, 't> {
    /// Nothing merged yet.
    pub fn new(names: &'n Names<'t>, files: &'n Files) -> Self {
        Self { names, files, done: BTreeMap::new(), path: Vec::new(), faults: Vec::new() }
    }

    /// The entries of a declaration; none where it copies something broken.
    pub fn merged(&mut self, id: DeclId) -> Option<Rc<Merged<'t>>> {
        if let Some(done) = self.done.get(&id) {
            return done.clone();
        }
        let own = self.own(id);
        let merged = match self.base(id) {
            Base::None => Some(own),
            Base::Broken => None,
            Base::Copy(base) => self.copy(id, base, own),
        }
        .map(Rc::new);
        self.done.insert(id, merged.clone());
        merged
    }

    /// The entries of the declaration itself, without what it copies.
    pub fn own(&self, id: DeclId) -> Merged<'t> {
        let decl = self.names.decl(id);
        decl.entry.block.as_ref().map_or_else(Vec::new, |block| own_entries(block, decl.file))
    }

    /// The entries of what a declaration copies, if it is a copy of something sound.
    pub fn inherited(&mut self, id: DeclId) -> Option<Rc<Merged<'t>>> {
        match self.base(id) {
            Base::Copy(base) => self.merged(base),
            Base::None | Base::Broken => None,
        }
    }

    fn copy(&mut self, id: DeclId, base: DeclId, own: Merged<'t>) -> Option<Merged<'t>> {
        if self.path.contains(&base) || base == id {
            self.circle(id, base);
            return None;
        }
        if self.path.len() > 64 {
            return None;
        }
        self.path.push(id);
        let inherited = self.merged(base);
        self.path.pop();
        let mut inherited = Rc::unwrap_or_clone(inherited?);
        let kind = self.names.decl(id).kind;
        if kind == DeclKind::Heater {
            // Another heater: what trials on the first have shown does not hold for it.
            inherited.retain(|entry| self.word(entry) != "calibrated");
        }
        let schema = declaration(kind)?;
        Some(self.overlay(inherited, own, schema))
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
            let partial = base[place].partial || base[place].entry.broken;
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
        entry.entry.head.map_or("", |head| self.files.slice(head))
    }

    /// The first argument as it is written; of `0 heats left_line`, the `0`.
    fn key(&self, entry: &MergedEntry<'t>) -> &'n str {
        key_span(entry.entry).map_or("", |span| self.files.slice(span))
    }

    fn base(&mut self, id: DeclId) -> Base {
        let decl = self.names.decl(id);
        if !decl.kind.can_be_copied() {
            return Base::None;
        }
        // A header that is malformed was reported, and may have meant a copy.
        let path = match decl.entry.args.get(1..).unwrap_or(&[]) {
            [] => return Base::None,
            [Arg::Word(word), Arg::Expr(Expr { kind: ExprKind::Path(path), .. })]
                if self.files.slice(*word) == "from" && !decl.entry.broken =>
            {
                path
            }
            _ => return Base::Broken,
        };
        let words: Vec<&str> = path.parts.iter().map(|part| self.files.slice(part.0)).collect();
        match self.names.find(decl.file, &words) {
            Found::Decl(base) if self.names.decl(base).kind == decl.kind => Base::Copy(base),
            // The header's own check reports a wrong kind and a missing name.
            _ => Base::Broken,
        }
    }

    fn circle(&mut self, id: DeclId, base: DeclId) {
        let from = self.path.iter().position(|step| *step == base).unwrap_or(self.path.len());
        let round: Vec<DeclId> = self.path[from..].iter().copied().chain([id]).collect();
        let names: Vec<&str> = round.iter().map(|id| self.names.decl(*id).name.as_str()).collect();
        let shown = format!("{} → {}", names.join(" → "), names.first().unwrap_or(&""));
        let spans: Vec<Span> = round.iter().map(|id| self.names.decl(*id).name_span).collect();
        let fault = Diagnostic::error("circular-copy", spans[0], format!("copies go round in a circle: {shown}"))
            .here("the circle begins here")
            .help("One of them must say what it is instead of copying.");
        self.faults.push(spans.iter().skip(1).fold(fault, |fault, span| fault.also(*span, "and goes on here")));
    }
}

enum Base {
    None,
    Broken,
    Copy(DeclId),
}

fn own_entries<'t>(block: &'t Block, file: FileId) -> Merged<'t> {
    let inner = |entry: &'t Entry| entry.block.as_ref().map(|block| own_entries(block, file));
    block.entries.iter().map(|entry| MergedEntry { entry, file, block: inner(entry), partial: false }).collect()
}

/// Where the first argument stands; of a number with a word behind it, only the number.
pub fn key_span(entry: &Entry) -> Option<Span> {
    match entry.args.first()? {
        Arg::Expr(Expr { kind: ExprKind::Measure(measure), .. }) => Some(measure.number.span),
        arg => Some(arg.span()),
    }
}

/// Whether the entry says that there is none of it: `spring none`, `output 2 none`.
pub fn ends_with_none(entry: &MergedEntry<'_>, files: &Files) -> bool {
    match entry.entry.args.as_slice() {
        [Arg::Word(word)] | [_, Arg::Word(word)] => files.slice(*word) == "none" && entry.block.is_none(),
        _ => false,
    }
}
