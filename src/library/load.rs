//! Reads files and everything they use.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

use crate::library::io::Io;
use crate::names::{UseLine, UseTarget, nearest, use_lines};
use crate::report::Diagnostic;
use crate::syntax::{Parsed, parse};
use crate::text::{FileId, Files, SourceFile, Span};
use crate::types::catalogue;

/// All that was read, by file.
#[derive(Debug, Default)]
pub struct Loaded {
    /// The texts.
    pub files: Files,
    /// Trees and tokens, by file.
    pub parsed: Vec<Parsed>,
    /// What each file uses.
    pub uses: BTreeMap<FileId, Vec<UseTarget>>,
    /// What went wrong on the way.
    pub faults: Vec<Diagnostic>,
    /// Files that were asked for, as opposed to used.
    pub asked: Vec<FileId>,
    /// How many of the first files are the catalogue.
    pub catalogue: usize,
}

/// A file that was asked for and could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// The file, as it was asked for.
    pub path: String,
    /// Why, in words.
    pub why: String,
}

/// Where a library lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    /// The folder that no `use` may leave.
    pub root: PathBuf,
    /// The folder to which file names in reports are relative.
    pub shown_from: PathBuf,
}

struct Loader<'a> {
    io: &'a dyn Io,
    root: &'a Path,
    shown_from: &'a Path,
    loaded: Loaded,
    known: BTreeMap<PathBuf, Option<FileId>>,
    queue: Vec<FileId>,
}

/// Reads `paths` and what they use; `typed` is a text without a file, with the name it is reported under.
pub fn load(
    io: &dyn Io,
    places: &Places,
    paths: &[PathBuf],
    typed: Option<(&str, String)>,
) -> (Loaded, Vec<Unreadable>) {
    let Places { root, shown_from } = places;
    let loaded = Loaded::default();
    let mut loader = Loader { io, root, shown_from, loaded, known: BTreeMap::new(), queue: Vec::new() };
    for (name, text) in catalogue::FILES {
        loader.take_in(name.to_owned(), text.to_owned());
    }
    loader.loaded.catalogue = catalogue::FILES.len();
    loader.queue.clear();
    let mut unreadable = Vec::new();
    if let Some((name, text)) = typed {
        let id = loader.take_in(name.to_owned(), text);
        loader.loaded.asked.push(id);
    }
    for path in paths {
        match loader.open(&plain(path)) {
            Ok(id) => loader.loaded.asked.push(id),
            Err(why) => unreadable.push(Unreadable { path: path.display().to_string(), why }),
        }
    }
    while let Some(file) = loader.queue.pop() {
        loader.follow(file);
    }
    (loader.loaded, unreadable)
}

impl Loader<'_> {
    fn take_in(&mut self, name: String, text: String) -> FileId {
        let id = self.loaded.files.add(SourceFile::new(name, text));
        let parsed = parse(id, self.loaded.files.get(id).text());
        self.loaded.parsed.push(parsed);
        self.queue.push(id);
        id
    }

    fn open(&mut self, path: &Path) -> Result<FileId, String> {
        if let Some(Some(known)) = self.known.get(path) {
            return Ok(*known);
        }
        let bytes = self.io.read(path).map_err(|problem| problem.to_string())?;
        let text = String::from_utf8(bytes).map_err(|error| {
            format!("it is not a text in UTF-8: byte {} cannot be read", error.utf8_error().valid_up_to())
        })?;
        let name = path
            .strip_prefix(self.shown_from)
            .or_else(|_| path.strip_prefix(self.root))
            .unwrap_or(path)
            .display()
            .to_string()
            .replace('\\', "/");
        let id = self.take_in(name, text);
        self.known.insert(path.to_owned(), Some(id));
        Ok(id)
    }

    /// Reads what a file uses.
    fn follow(&mut self, file: FileId) {
        let text = self.loaded.files.get(file).text();
        let (lines, faults) = use_lines(&self.loaded.parsed[file.0 as usize].tree, text);
        self.loaded.faults.extend(faults);
        let from = self.known.iter().find(|(_, id)| **id == Some(file)).map(|(path, _)| path.clone());
        let targets = lines.into_iter().map(|line| self.target(from.as_deref(), line)).collect();
        self.loaded.uses.insert(file, targets);
    }

    fn target(&mut self, from: Option<&Path>, line: UseLine) -> UseTarget {
        let folder = from.and_then(Path::parent).unwrap_or(self.root);
        let path = plain(&folder.join(&line.path));
        let found = if line.path.contains('\\') {
            Err(fault("use-with-backslash", line.span, "paths are written with `/`".to_owned()).edit(
                "write `/`",
                line.span,
                format!("\"{}\"", line.path.replace('\\', "/")),
            ))
        } else if !path.starts_with(self.root) {
            Err(fault("use-outside", line.span, format!("`{}` lies outside the library", line.path))
                .help("A library is the folder of its `withy.toml`; without one, the folder of the file and the one above it."))
        } else {
            self.read_used(&path, &line)
        };
        let file = found.map_err(|fault| self.loaded.faults.push(fault)).ok();
        UseTarget { line, file }
    }

    fn read_used(&mut self, path: &Path, line: &UseLine) -> Result<FileId, Diagnostic> {
        if let Some(wrong) = self.wrong_case(path) {
            return Err(fault(
                "use-letter-case",
                line.span,
                format!("`{}` is written in another letter case on disk", line.path),
            )
            .here(format!("the name on disk differs at `{wrong}`"))
            .note("On other machines the file would not be found."));
        }
        let missing = self.known.get(path) == Some(&None);
        let result = if missing { Err("there is no such file".to_owned()) } else { self.open(path) };
        result.map_err(|why| {
            self.known.insert(path.to_owned(), None);
            let error = fault("unreadable-use", line.span, format!("`{}` cannot be read: {why}", line.path));
            match self.near_file(path) {
                Some(near) => {
                    let written =
                        line.path.rsplit_once('/').map_or(near.clone(), |(folder, _)| format!("{folder}/{near}"));
                    error.edit(format!("write `{written}`"), line.span, format!("\"{written}\""))
                }
                None => error.help("The path is relative to the file that uses it, and ends in `.withy`."),
            }
        })
    }

    /// The first part of a path below the root whose letters differ on disk only in their case.
    fn wrong_case(&self, path: &Path) -> Option<String> {
        if self.io.read(path).is_err() {
            return None;
        }
        let mut current = path;
        while current != self.root && current.starts_with(self.root) {
            if !self.io.has_exactly(current) {
                return current.file_name().map(|name| name.to_string_lossy().into_owned());
            }
            current = current.parent()?;
        }
        None
    }

    fn near_file(&self, path: &Path) -> Option<String> {
        let folder = path.parent()?;
        let wanted = path.file_name()?.to_str()?;
        let files = self.io.recipe_files(folder);
        let here = files.iter().filter(|file| file.parent() == Some(folder));
        let names: Vec<&str> = here.filter_map(|file| file.file_name()?.to_str()).collect();
        nearest(wanted, names).map(str::to_owned)
    }
}

fn fault(name: &'static str, span: Span, headline: String) -> Diagnostic {
    Diagnostic::error(name, span, headline)
}

/// The path without `.` and `..`, by its text alone.
pub fn plain(path: &Path) -> PathBuf {
    let mut result = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if matches!(result.components().next_back(), Some(Component::Normal(_))) => {
                result.pop();
            }
            other => result.push(other),
        }
    }
    result
}
