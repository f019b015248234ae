use std::path::Path;

use crate::library::load::Loaded;
use crate::names::{Decl, DeclId, DeclKind, Found, Names, resolve};
use crate::syntax::{Arg, Entry, Expr, ExprKind, Tree};
use crate::text::{FileId, Span};

/// A loaded library with its names resolved: what every question is asked of.
#[derive(Debug)]
pub struct View<'a> {
    /// What was loaded.
    pub loaded: &'a Loaded,
    /// Who is who.
    pub names: Names<'a>,
}

/// How many copies of copies are followed.
const LONGEST_CHAIN: usize = 64;

impl<'a> View<'a> {
    /// Of what was loaded.
    pub fn new(loaded: &'a Loaded) -> Self {
        let (names, _) = resolve(&loaded.sources(), &loaded.files);
        Self { loaded, names }
    }

    /// The file that lies at a path.
    pub fn file(&self, path: &Path) -> Option<FileId> {
        self.loaded.paths.iter().find(|known| known.1 == path).map(|known| *known.0)
    }

    /// The text of a file.
    pub fn text(&self, file: FileId) -> &'a str {
        self.loaded.files.get(file).text()
    }

    pub(super) fn slice(&self, span: Span) -> &'a str {
        self.loaded.files.slice(span)
    }

    pub(super) fn tree(&self, file: FileId) -> Option<&'a Tree> {
        self.loaded.parsed.get(file.0 as usize).map(|parsed| &parsed.tree)
    }

    /// The path of a `use` at a place, and the file that it means.
    pub fn used_at(&self, file: FileId, at: u32) -> Option<(Span, FileId)> {
        let target = self.loaded.uses.get(&file)?.iter().find(|target| touches(target.line.span, at))?;
        Some((target.line.span, target.file?))
    }

    /// The declarations of a file, in the order of the text.
    pub(super) fn decls(&self, file: FileId) -> impl Iterator<Item = &Decl<'a>> {
        self.names.decls().iter().filter(move |decl| decl.file == file)
    }

    /// The declaration that a dotted name means in a file.
    pub(super) fn find(&self, file: FileId, path: crate::syntax::Path<'_>) -> Option<DeclId> {
        let words: Vec<&str> = path.words().map(|word| self.slice(word)).collect();
        match self.names.find(file, &words) {
            Found::Decl(id) => Some(id),
            Found::Broken | Found::Missing => None,
        }
    }

    /// What stands right behind a word in the first line of a declaration: the part behind `for`, the bench behind
    /// `on`, the original behind `from`.
    fn behind(&self, entry: &'a Entry, word: &str) -> Option<&'a Expr> {
        let at = entry.args().iter().position(|arg| matches!(arg, Arg::Word(span) if self.slice(*span) == word))?;
        entry.args().get(at + 1)?.expr()
    }

    fn named(&self, file: FileId, expr: &'a Expr, kind: DeclKind) -> Option<DeclId> {
        let id = match expr.kind() {
            ExprKind::Path(path) => self.find(file, path)?,
            ExprKind::Call(name, _) => match self.names.find(file, &[self.slice(name)]) {
                Found::Decl(id) => id,
                Found::Broken | Found::Missing => return None,
            },
            _ => return None,
        };
        (self.names.decl(id).kind == kind).then_some(id)
    }

    /// The part that a recipe makes.
    pub(super) fn part_of(&self, recipe: &Decl<'a>) -> Option<DeclId> {
        self.named(recipe.file, self.behind(recipe.entry, "for")?, DeclKind::Part)
    }

    /// The bench on which a recipe is made.
    pub(super) fn bench_of(&self, recipe: &Decl<'a>) -> Option<DeclId> {
        self.named(recipe.file, self.behind(recipe.entry, "on")?, DeclKind::Bench)
    }

    /// A declaration and those it is a copy of, itself first.
    pub(super) fn originals(&self, id: DeclId) -> Vec<DeclId> {
        let mut chain = vec![id];
        while chain.len() < LONGEST_CHAIN {
            let Some(last) = chain.last().map(|id| self.names.decl(*id)) else { break };
            let Some(next) = self.behind(last.entry, "from").and_then(|from| self.named(last.file, from, last.kind))
            else {
                break;
            };
            if chain.contains(&next) {
                break;
            }
            chain.push(next);
        }
        chain
    }

    /// The benches that have this controller.
    pub(super) fn benches_with(&self, controller: DeclId) -> Vec<DeclId> {
        let has = |bench: &&Decl<'a>| {
            bench.entry.inner().iter().any(|entry| {
                let is_controller = entry.head().is_some_and(|head| self.slice(head) == "controller");
                let path = entry.args().first().and_then(Arg::path);
                is_controller && path.and_then(|path| self.find(bench.file, path)) == Some(controller)
            })
        };
        let benches = self.names.decls().iter().filter(|decl| decl.kind == DeclKind::Bench);
        benches.filter(has).map(|bench| bench.id).collect()
    }
}

/// Whether a place lies in a span or at one of its ends.
pub(super) fn touches(span: Span, at: u32) -> bool {
    span.start <= at && at <= span.end
}
