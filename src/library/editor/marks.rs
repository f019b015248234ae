//! What each name in a text means: the ground for going to definitions, references, renaming and colouring.

use crate::library::editor::follow::follow;
use crate::library::editor::view::View;
use crate::names::{Decl, DeclId, DeclKind};
use crate::syntax::{Arg, Argument, Block, Entry, Expr, ExprKind, Path};
use crate::text::{FileId, Span};
use crate::types::schema::{BlockSchema, Part, declaration};

/// What a name means. Two names mean the same thing if these are equal.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// A declaration.
    Decl(DeclId),
    /// A parameter of a part.
    Parameter(DeclId, String),
    /// A bend, or a repeated stretch, of a part.
    Bend(DeclId, String),
    /// An arm of a bench.
    Arm(DeclId, String),
    /// The prefix of a `use` in a file.
    Prefix(FileId, String),
    /// A rule.
    Rule(String),
    /// A word that the schema knows: of a fixed set, or one that must stand there.
    Word,
    /// A function of the language.
    Function(String),
}

impl Meaning {
    /// Whether it is something that an author has named, as opposed to a word of the language.
    pub fn is_name(&self) -> bool {
        !matches!(self, Self::Word | Self::Function(_))
    }
}

/// A name, and what it means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Where it stands.
    pub span: Span,
    /// What it means.
    pub meaning: Meaning,
    /// Whether it is given its meaning here.
    pub declares: bool,
}

impl View<'_> {
    /// The names in a file, in the order of the text.
    pub fn marks(&self, file: FileId) -> Vec<Mark> {
        let mut marker = Marker { view: self, file, marks: Vec::new() };
        for target in self.loaded.uses.get(&file).into_iter().flatten() {
            if let Some(alias) = target.line.alias {
                marker.add(alias, Meaning::Prefix(file, self.slice(alias).to_owned()), true);
            }
        }
        for decl in self.decls(file) {
            marker.declaration(decl);
        }
        let mut marks = marker.marks;
        marks.sort_by_key(|mark| (mark.span.start, mark.span.end));
        marks.dedup();
        marks
    }

    /// The name at a place.
    pub fn mark_at(&self, file: FileId, at: u32) -> Option<Mark> {
        let marks = self.marks(file);
        marks.into_iter().rev().find(|mark| mark.span.start <= at && at <= mark.span.end)
    }

    /// Everywhere where something is named, by files and places.
    pub fn uses_of(&self, meaning: &Meaning) -> Vec<Mark> {
        let files = self.loaded.files.iter().map(|file| file.0);
        let marks = files.flat_map(|file| self.marks(file));
        marks.filter(|mark| mark.meaning == *meaning).collect()
    }

    /// Where something is given its name.
    pub fn definition(&self, meaning: &Meaning) -> Option<Span> {
        match meaning {
            Meaning::Decl(id) => Some(self.names.decl(*id).name_span),
            Meaning::Prefix(file, _) => self.declared_in(*file, meaning),
            Meaning::Parameter(owner, _) | Meaning::Bend(owner, _) | Meaning::Arm(owner, _) => {
                self.declared_in(self.names.decl(*owner).file, meaning)
            }
            Meaning::Rule(_) | Meaning::Word | Meaning::Function(_) => None,
        }
    }

    fn declared_in(&self, file: FileId, meaning: &Meaning) -> Option<Span> {
        let mut marks = self.marks(file).into_iter();
        marks.find(|mark| mark.declares && mark.meaning == *meaning).map(|mark| mark.span)
    }

    /// The names that entries with one of the heads give within a declaration, by the piece that the schema calls a new
    /// name: bends of a part, arms of a bench.
    pub(super) fn local_names(&self, decl: &Decl<'_>) -> Vec<Span> {
        let mut names = Vec::new();
        if let (Some(block), Some(schema)) = (decl.entry.block(), declaration(decl.kind)) {
            self.collect_names(block, schema, &mut names);
        }
        names
    }

    fn collect_names(&self, block: &Block, schema: &'static BlockSchema, names: &mut Vec<Span>) {
        for entry in &block.entries {
            let Some(known) = entry.head().and_then(|head| schema.entry(self.slice(head))) else { continue };
            let followed = follow(known.pattern, entry.args(), &self.loaded.files);
            names.extend(
                followed.pieces.iter().filter(|piece| matches!(piece.1, Part::NewName(_))).map(|piece| piece.0),
            );
            if let (Some(block), Some(inner)) = (entry.block(), known.block) {
                self.collect_names(block, inner, names);
            }
        }
    }

    /// The declaration among `owner` and what it copies that gives this local name.
    fn owner_of_local(&self, owner: DeclId, name: &str) -> Option<DeclId> {
        let gives = |id: &DeclId| {
            let names = self.local_names(self.names.decl(*id));
            names.into_iter().any(|span| self.slice(span) == name)
        };
        self.originals(owner).into_iter().find(gives)
    }
}

/// The parameters of a part: name and kind as they are written.
pub(super) fn parameters(part: &Decl<'_>) -> Vec<(Span, Option<Span>)> {
    let call = part.entry.args().first().and_then(Arg::expr).and_then(Expr::call);
    let arguments = call.map_or(&[][..], |call| call.1);
    arguments.iter().filter_map(|argument| Some((argument.name?, argument.kind))).collect()
}

struct Marker<'v, 'a> {
    view: &'v View<'a>,
    file: FileId,
    marks: Vec<Mark>,
}

/// What the names in a declaration may mean besides declarations.
#[derive(Clone, Copy)]
struct Owner<'v, 'a> {
    decl: &'v Decl<'a>,
    part: Option<DeclId>,
    bench: Option<DeclId>,
}

impl<'a> Marker<'_, 'a> {
    fn add(&mut self, span: Span, meaning: Meaning, declares: bool) {
        self.marks.push(Mark { span, meaning, declares });
    }

    fn declaration(&mut self, decl: &Decl<'a>) {
        self.add(decl.name_span, Meaning::Decl(decl.id), true);
        let (part, bench) = match decl.kind {
            DeclKind::Part => (Some(decl.id), None),
            DeclKind::Recipe => (self.view.part_of(decl), self.view.bench_of(decl)),
            DeclKind::Bench => (None, Some(decl.id)),
            DeclKind::Controller => (None, self.view.benches_with(decl.id).first().copied()),
            _ => (None, None),
        };
        let owner = Owner { decl, part, bench };
        self.header(decl, owner);
        if let (Some(block), Some(schema)) = (decl.entry.block(), declaration(decl.kind)) {
            self.block(block, schema, owner);
        }
    }

    fn header(&mut self, decl: &Decl<'a>, owner: Owner<'_, 'a>) {
        for (index, arg) in decl.entry.args().iter().enumerate() {
            let Arg::Expr(expr) = arg else { continue };
            match expr.kind() {
                ExprKind::Call(_, arguments) if index == 0 => self.parameters(decl.id, arguments, owner, true),
                ExprKind::Call(name, arguments) if decl.kind == DeclKind::Recipe => {
                    self.name(name);
                    if let Some(part) = owner.part {
                        self.parameters(part, arguments, owner, false);
                    }
                }
                ExprKind::Path(path) if index == 0 && path.single().is_some() => {}
                _ => self.expr(expr, owner),
            }
        }
    }

    fn parameters(&mut self, part: DeclId, arguments: &[Argument], owner: Owner<'_, 'a>, declares: bool) {
        for argument in arguments {
            if let Some(name) = argument.name {
                let word = self.view.slice(name).to_owned();
                self.add(name, Meaning::Parameter(part, word), declares);
            }
            if let Some(value) = &argument.value {
                self.expr(value, owner);
            }
        }
    }

    fn block(&mut self, block: &Block, schema: &'static BlockSchema, owner: Owner<'_, 'a>) {
        for entry in &block.entries {
            let Some(known) = entry.head().and_then(|head| schema.entry(self.view.slice(head))) else { continue };
            self.entry(entry, known.pattern, owner);
            if let (Some(block), Some(inner)) = (entry.block(), known.block) {
                self.block(block, inner, owner);
            }
        }
    }

    fn entry(&mut self, entry: &Entry, pattern: &'static [Part], owner: Owner<'_, 'a>) {
        let followed = follow(pattern, entry.args(), &self.view.loaded.files);
        for (span, part) in &followed.pieces {
            let arg = entry.args().iter().find(|arg| arg.span() == *span);
            let path = arg.and_then(Arg::path);
            match (part, path, arg) {
                (Part::Word(_) | Part::Maybe(..) | Part::OneWord(..), ..) => self.add(*span, Meaning::Word, false),
                (Part::NewName(_), Some(path), _) => self.new_name(path, owner),
                (Part::Local("arm", _), Some(path), _) => self.local(path, owner.bench, Meaning::Arm),
                (Part::Local(..) | Part::Order(_), Some(path), _) => self.local(path, owner.part, Meaning::Bend),
                (Part::Reference(..), Some(path), _) => self.path(path, owner),
                (Part::Rule(_), ..) => {
                    let name = self.view.slice(*span).to_owned();
                    self.add(*span, Meaning::Rule(name), false);
                }
                (Part::Stages(_) | Part::Allowance(..), Some(path), _)
                    if path.single().is_some_and(|word| ["off", "full"].contains(&self.view.slice(word))) =>
                {
                    self.add(*span, Meaning::Word, false);
                }
                (_, _, Some(Arg::Expr(expr))) => self.expr(expr, owner),
                (_, _, Some(Arg::List(list))) => list.items.iter().for_each(|item| self.expr(item, owner)),
                _ => {}
            }
        }
    }

    fn new_name(&mut self, path: Path<'_>, owner: Owner<'_, 'a>) {
        let Some(word) = path.single() else { return };
        let name = self.view.slice(word).to_owned();
        match owner.decl.kind {
            DeclKind::Part => self.add(word, Meaning::Bend(owner.decl.id, name), true),
            DeclKind::Bench => self.add(word, Meaning::Arm(owner.decl.id, name), true),
            _ => {}
        }
    }

    /// `lip`, `rib[2].crest`: each word is a name of its own.
    fn local(&mut self, path: Path<'_>, owner: Option<DeclId>, meaning: fn(DeclId, String) -> Meaning) {
        let Some(owner) = owner else { return };
        for word in path.words() {
            let name = self.view.slice(word);
            if let Some(giver) = self.view.owner_of_local(owner, name) {
                self.add(word, meaning(giver, name.to_owned()), false);
            }
        }
    }

    /// A declaration's name on its own.
    fn name(&mut self, word: Span) {
        if let crate::names::Found::Decl(id) = self.view.names.find(self.file, &[self.view.slice(word)]) {
            self.add(word, Meaning::Decl(id), false);
        }
    }

    /// A dotted name of a declaration, or a parameter.
    fn path(&mut self, path: Path<'_>, owner: Owner<'_, 'a>) {
        if let (Some(word), DeclKind::Part) = (path.single(), owner.decl.kind) {
            let name = self.view.slice(word);
            let parameters = parameters(owner.decl);
            if parameters.iter().any(|(parameter, _)| self.view.slice(*parameter) == name) {
                self.add(word, Meaning::Parameter(owner.decl.id, name.to_owned()), false);
                return;
            }
        }
        let Some(id) = self.view.find(self.file, path) else { return };
        match path.words().collect::<Vec<_>>().as_slice() {
            [word] => self.add(*word, Meaning::Decl(id), false),
            [prefix, word] => {
                let name = self.view.slice(*prefix).to_owned();
                self.add(*prefix, Meaning::Prefix(self.file, name), false);
                self.add(*word, Meaning::Decl(id), false);
            }
            _ => {}
        }
    }

    fn expr(&mut self, expr: &Expr, owner: Owner<'_, 'a>) {
        match expr.kind() {
            ExprKind::Path(path) => self.path(path, owner),
            ExprKind::Figure(word, _, path) => self.figure(word, path, owner),
            ExprKind::Measure(_) | ExprKind::Deviations(..) => {}
            ExprKind::Paren(inner) | ExprKind::Negate(inner) | ExprKind::Deviating(inner, ..) => {
                self.expr(inner, owner);
            }
            ExprKind::Binary(left, _, _, right) => {
                self.expr(left, owner);
                self.expr(right, owner);
            }
            ExprKind::Call(name, arguments) => {
                self.add(name, Meaning::Function(self.view.slice(name).to_owned()), false);
                for value in arguments.iter().filter_map(|argument| argument.value.as_ref()) {
                    self.expr(value, owner);
                }
            }
            ExprKind::Choice(test, yes, no) => [test, yes, no].into_iter().for_each(|expr| self.expr(expr, owner)),
        }
    }

    /// `bend lip.heat`, `arm left.idle`: the first word behind the subject is a local name.
    fn figure(&mut self, subject: Span, path: Option<Path<'_>>, owner: Owner<'_, 'a>) {
        let Some(first) = path.and_then(|path| path.words().next()) else { return };
        let (giver, meaning): (_, fn(DeclId, String) -> Meaning) = match self.view.slice(subject) {
            "bend" => (owner.part, Meaning::Bend),
            "arm" => (owner.bench, Meaning::Arm),
            _ => return,
        };
        let name = self.view.slice(first);
        if let Some(giver) = giver.and_then(|giver| self.view.owner_of_local(giver, name)) {
            self.add(first, meaning(giver, name.to_owned()), false);
        }
    }
}
