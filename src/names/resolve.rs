use std::collections::BTreeMap;

use crate::names::{DeclKind, UseTarget, nearest};
use crate::report::Diagnostic;
use crate::syntax::{Entry, ExprKind, Tree};
use crate::text::{FileId, Files, Span};

/// The number of a declaration within one compilation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct DeclId(pub u32);

/// A file as this stage takes it.
#[derive(Clone, Copy, Debug)]
pub struct Source<'t> {
    /// Its id.
    pub file: FileId,
    /// Its tree.
    pub tree: &'t Tree,
    /// What its `use` lines mean.
    pub uses: &'t [UseTarget],
    /// Whether it is part of the catalogue that ships with the compiler, visible from everywhere.
    pub catalogue: bool,
}

/// A declaration.
#[derive(Debug)]
pub struct Decl<'t> {
    /// Its number.
    pub id: DeclId,
    /// The file it stands in.
    pub file: FileId,
    /// What it declares.
    pub kind: DeclKind,
    /// Its name.
    pub name: String,
    /// Where the name stands.
    pub name_span: Span,
    /// Its syntax.
    pub entry: &'t Entry,
    /// Its number among the entries of its file.
    pub place: usize,
    /// Whether it is part of the catalogue.
    pub catalogue: bool,
}

/// What a name was found to mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// A declaration.
    Decl(DeclId),
    /// Something that is broken; that was reported, and nothing more is to be said.
    Broken,
    /// Nothing.
    Missing,
}

/// All declarations, and which names each file sees.
#[derive(Debug)]
pub struct Names<'t> {
    decls: Vec<Decl<'t>>,
    scopes: BTreeMap<FileId, Scope<'t>>,
    catalogue: BTreeMap<&'t str, DeclId>,
}

#[derive(Debug, Default)]
struct Scope<'t> {
    own: BTreeMap<&'t str, Option<DeclId>>,
    used: BTreeMap<&'t str, Option<DeclId>>,
    prefixes: BTreeMap<&'t str, Option<FileId>>,
    /// Whether a `use` failed: then a missing name may well be there, and is not reported.
    partial: bool,
}

/// Which names a file sees, and what each stands for: where these are the same, every name means the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shape {
    own: Vec<(String, Option<DeclKind>)>,
    used: Vec<(String, Option<(FileId, DeclKind)>)>,
    prefixes: Vec<(String, Option<FileId>)>,
    partial: bool,
}

impl Shape {
    /// The files whose names are seen with a prefix.
    pub fn files_by_prefix(&self) -> impl Iterator<Item = FileId> {
        self.prefixes.iter().filter_map(|prefix| prefix.1)
    }
}

impl<'t> Names<'t> {
    /// The declaration behind an id of this compilation.
    pub fn decl(&self, id: DeclId) -> &Decl<'t> {
        &self.decls[id.0 as usize]
    }

    /// All declarations, in the order of files and text.
    pub fn decls(&self) -> &[Decl<'t>] {
        &self.decls
    }

    /// What a dotted name means in a file.
    pub fn find(&self, file: FileId, path: &[&str]) -> Found {
        let Some(scope) = self.scopes.get(&file) else { return Found::Missing };
        let known = match path {
            [name] => {
                let (own, used) = (scope.own.get(*name).copied(), scope.used.get(*name).copied());
                // A word of a broken line may declare the name, but hides none that is sound.
                own.flatten().or(used.flatten()).map(Some).or(own).or(used)
            }
            [prefix, name] => match scope.prefixes.get(*prefix) {
                Some(Some(file)) => self.scopes.get(file).and_then(|scope| scope.own.get(*name)).copied(),
                Some(None) => return Found::Broken,
                None => return Found::Missing,
            },
            _ => return Found::Missing,
        };
        match (known, path) {
            (Some(Some(id)), _) => Found::Decl(id),
            (known, [name]) => match self.catalogue.get(*name) {
                Some(id) => Found::Decl(*id),
                None if scope.partial || known.is_some() => Found::Broken,
                None => Found::Missing,
            },
            (Some(None), _) => Found::Broken,
            (None, _) => Found::Missing,
        }
    }

    /// Which names a file sees.
    pub fn shape(&self, file: FileId) -> Option<Shape> {
        let scope = self.scopes.get(&file)?;
        let decl = |id: &Option<DeclId>| id.map(|id| self.decl(id));
        Some(Shape {
            own: scope.own.iter().map(|(name, id)| ((*name).to_owned(), decl(id).map(|decl| decl.kind))).collect(),
            used: scope
                .used
                .iter()
                .map(|(name, id)| ((*name).to_owned(), decl(id).map(|decl| (decl.file, decl.kind))))
                .collect(),
            prefixes: scope.prefixes.iter().map(|(name, file)| ((*name).to_owned(), *file)).collect(),
            partial: scope.partial,
        })
    }

    /// The nearest name that a file sees, of a kind that fits.
    pub fn suggest(&self, file: FileId, name: &str, fits: impl Fn(DeclKind) -> bool) -> Option<&Decl<'t>> {
        let fitting = self.fitting(file, fits);
        let found = nearest(name, fitting.iter().map(String::as_str))?;
        self.visible(file).get(found).map(|id| self.decl(*id))
    }

    /// The names that a file sees, of a kind that fits, in order.
    pub fn fitting(&self, file: FileId, fits: impl Fn(DeclKind) -> bool) -> Vec<String> {
        self.visible(file).into_iter().filter(|(_, id)| fits(self.decl(*id).kind)).map(|(name, _)| name).collect()
    }

    /// Every name a file sees without a prefix.
    pub fn visible(&self, file: FileId) -> BTreeMap<String, DeclId> {
        let mut all: BTreeMap<String, DeclId> =
            self.catalogue.iter().map(|(name, id)| ((*name).to_owned(), *id)).collect();
        if let Some(scope) = self.scopes.get(&file) {
            let names = scope.used.iter().chain(&scope.own);
            all.extend(names.filter_map(|(name, id)| Some(((*name).to_owned(), (*id)?))));
        }
        all
    }
}

/// Finds all declarations and what each file sees of them.
pub fn resolve<'t>(sources: &[Source<'t>], files: &'t Files) -> (Names<'t>, Vec<Diagnostic>) {
    let mut names = Names { decls: Vec::new(), scopes: BTreeMap::new(), catalogue: BTreeMap::new() };
    let mut faults = Vec::new();
    for source in sources {
        let scope = declare(source, files, &mut names.decls, &mut faults);
        if source.catalogue {
            names.catalogue.extend(scope.own.iter().filter_map(|(name, id)| Some((*name, (*id)?))));
        }
        names.scopes.insert(source.file, scope);
    }
    for source in sources {
        bring_in(source, files, &mut names, &mut faults);
    }
    (names, faults)
}

fn declare<'t>(
    source: &Source<'t>,
    files: &'t Files,
    decls: &mut Vec<Decl<'t>>,
    faults: &mut Vec<Diagnostic>,
) -> Scope<'t> {
    let mut scope = Scope::default();
    for (place, entry) in source.tree.entries.iter().enumerate() {
        let Some(head) = entry.head() else {
            // A block whose first line is missing declares a name that nobody can tell.
            scope.partial |= entry.block().is_some();
            continue;
        };
        let word = files.slice(head);
        if word == "use" {
            scope.partial |= entry.broken();
            continue;
        }
        if word == "language" {
            faults.extend(wrong_edition(entry, files));
            continue;
        }
        let Some(kind) = DeclKind::from_word(word) else {
            undeclared(entry, (head, word), files, &mut scope, faults);
            continue;
        };
        // Of a broken first line nobody can tell for sure which name it declares.
        scope.partial |= entry.broken();
        let Some(name_span) = declared_name(entry) else {
            if let Some((span, name)) = hyphenated(entry, files) {
                faults.push(
                    Diagnostic::error("bad-name", span, format!("`{}` cannot be a name", files.slice(span)))
                        .here("the words of a name are joined with `_`")
                        .edit(format!("write `{name}`"), span, name),
                );
            } else if !entry.broken() {
                let example = if kind == DeclKind::Let { " = …" } else { " { … }" };
                let fault = Diagnostic::error("missing-name", head, format!("this {word} has no name"))
                    .here("after this, a name is missing")
                    .help(format!("Write `{word} some_name{example}`."));
                faults.push(if files.slice(entry.line()).contains('"') {
                    fault.note("A name stands without quotes, its words joined with `_`.")
                } else {
                    fault
                });
            }
            scope.partial = true;
            continue;
        };
        let name = files.slice(name_span);
        if !is_good_name(name) {
            faults.push(bad_name(name, name_span));
        }
        if let Some(first) = scope.own.get(name).copied() {
            let first = first.map(|id| decls[id.0 as usize].name_span);
            faults.push(declared_twice(name, name_span, first));
            continue;
        }
        let id = DeclId(u32::try_from(decls.len()).unwrap_or(u32::MAX));
        decls.push(Decl {
            id,
            file: source.file,
            kind,
            name: name.to_owned(),
            name_span,
            entry,
            place,
            catalogue: source.catalogue,
        });
        scope.own.insert(name, Some(id));
    }
    scope
}

/// The one edition of the language so far.
const EDITION: &str = "1";

/// `language N`, for another N than this compiler reads.
fn wrong_edition(entry: &Entry, files: &Files) -> Option<Diagnostic> {
    let fits = matches!(entry.args(), [arg] if files.slice(arg.span()) == EDITION) && entry.block().is_none();
    (!fits && !entry.broken()).then(|| {
        Diagnostic::error("unknown-edition", entry.line(), "this compiler reads edition 1 of the language")
            .here("it is written `language 1`")
            .help("A file for a later edition needs a later compiler.")
    })
}

/// What a file declares at its top level: kind and name.
pub fn declared<'a>(tree: &'a Tree, text: &'a str) -> impl Iterator<Item = (DeclKind, &'a str)> {
    tree.entries.iter().filter_map(|entry| {
        let kind = DeclKind::from_word(text.get(entry.head()?.range())?)?;
        Some((kind, text.get(declared_name(entry)?.range())?))
    })
}

/// The name is the first argument, or what a part's parameters are glued to.
fn declared_name(entry: &Entry) -> Option<Span> {
    match entry.args().first()?.expr()?.kind() {
        ExprKind::Path(path) => path.single(),
        ExprKind::Call(name, _) => Some(name),
        _ => None,
    }
}

/// An entry at the top level that declares nothing. Its words are remembered, so that what names them is not
/// reported as well.
fn undeclared<'t>(
    entry: &Entry,
    (head, word): (Span, &'t str),
    files: &'t Files,
    scope: &mut Scope<'t>,
    faults: &mut Vec<Diagnostic>,
) {
    scope.own.entry(word).or_insert(None);
    for arg in entry.args() {
        if let Some(name) = arg.path().and_then(|path| path.single()) {
            scope.own.entry(files.slice(name)).or_insert(None);
        }
    }
    if entry.broken() {
        return;
    }
    let words = DeclKind::ALL.map(DeclKind::word);
    let fault = Diagnostic::error("no-declaration", head, format!("`{word}` begins no declaration"))
        .here("outside any block, only declarations can stand");
    faults.push(match nearest(word, words.into_iter().chain(["use", "language"])) {
        Some(near) => fault.edit(format!("write `{near}`"), head, near),
        None => fault.help(format!("A declaration begins with one of: use, {}.", words.join(", "))),
    });
}

/// `clear-3`, which reads as a difference, and the name that it can be.
fn hyphenated(entry: &Entry, files: &Files) -> Option<(Span, String)> {
    let value = entry.args().first()?.expr()?;
    let ExprKind::Binary(..) = value.kind() else { return None };
    let name = files.slice(value.span()).replace('-', "_");
    is_good_name(&name).then_some((value.span(), name))
}

fn bad_name(name: &str, span: Span) -> Diagnostic {
    let fault = Diagnostic::error("bad-name", span, format!("`{name}` cannot be a name"))
        .here("names are lower-case letters, digits and `_`");
    let mended: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '_' }).collect();
    if is_good_name(&mended) { fault.edit(format!("write `{mended}`"), span, mended) } else { fault }
}

/// Whether a word can be a name: lower-case `snake_case`.
pub fn is_good_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}

fn declared_twice(name: &str, span: Span, first: Option<Span>) -> Diagnostic {
    let fault = Diagnostic::error("declared-twice", span, format!("`{name}` is declared twice"))
        .here("declared again here")
        .help("Give one of the two another name.");
    match first {
        Some(first) => fault.also(first, "first declared here"),
        None => fault,
    }
}

fn bring_in<'t>(source: &Source<'_>, files: &'t Files, names: &mut Names<'t>, faults: &mut Vec<Diagnostic>) {
    let mut used: BTreeMap<&str, Option<DeclId>> = BTreeMap::new();
    let mut prefixes = BTreeMap::new();
    let mut partial = false;
    for target in source.uses {
        if let Some(alias) = target.line.alias {
            prefixes.insert(files.slice(alias), target.file);
            continue;
        }
        let Some(scope) = target.file.and_then(|file| names.scopes.get(&file)) else {
            partial = true;
            continue;
        };
        partial |= scope.partial;
        for (name, id) in &scope.own {
            match used.get(name).copied() {
                Some(Some(other)) if *id != Some(other) => {
                    let first = names.decl(other).name_span;
                    faults.push(brought_twice(name, target, first, files));
                }
                _ => {
                    used.insert(name, *id);
                }
            }
        }
    }
    if let Some(scope) = names.scopes.get_mut(&source.file) {
        scope.used = used;
        scope.prefixes = prefixes;
        scope.partial |= partial;
    }
}

fn brought_twice(name: &str, target: &UseTarget, first: Span, files: &Files) -> Diagnostic {
    let stem = target.line.path.rsplit('/').next().unwrap_or("other").trim_end_matches(".withy");
    Diagnostic::error("used-twice", target.line.span, format!("`{name}` is brought in from two files"))
        .here("brought in again by this")
        .also(first, format!("first from {}", files.get(first.file).path()))
        .edit(format!("give this file a prefix: `{stem}.{name}`"), target.line.span.after(), format!(" as {stem}"))
}
