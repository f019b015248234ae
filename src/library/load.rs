//! Reads files and everything they use.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use crate::library::io::{Io, ReadProblem, Unreadable};
use crate::library::settings::{SETTINGS, Settings, read_settings};
use crate::names::{Source, UseLine, UseTarget, nearest, use_lines};
use crate::report::Diagnostic;
use crate::syntax::{Parsed, parse};
use crate::text::{FileId, Files, SourceFile, Span};
use crate::types::catalogue;

/// All that was read, by file.
#[derive(Clone, Debug, Default)]
pub struct Loaded {
    /// The texts.
    pub files: Files,
    /// Trees, by file.
    pub parsed: Vec<Arc<Parsed>>,
    /// What each file uses.
    pub uses: BTreeMap<FileId, Vec<UseTarget>>,
    /// What went wrong on the way.
    pub faults: Vec<Diagnostic>,
    /// Files that were asked for, as opposed to used.
    pub asked: Vec<FileId>,
    /// How many of the first files are the catalogue.
    pub catalogue: usize,
    /// The folder that no `use` may leave.
    pub root: PathBuf,
    /// Where each file lies; a text that was typed lies nowhere.
    pub paths: BTreeMap<FileId, PathBuf>,
    /// The folder in which the command is run: there a text is typed.
    pub here: PathBuf,
    /// What the library's `withy.toml` says.
    pub settings: Settings,
}

impl Loaded {
    /// The files under their names from the library's root, which do not hang on where the command is run.
    pub fn files_from_root(&self) -> Files {
        self.files.renamed(|id| {
            let path = self.paths.get(&id)?;
            Some(with_slashes(path.strip_prefix(&self.root).unwrap_or(path)))
        })
    }

    /// The files as the stage of names takes them.
    pub(super) fn sources(&self) -> Vec<Source<'_>> {
        let mut sources = Vec::with_capacity(self.parsed.len());
        for (index, parsed) in self.parsed.iter().enumerate() {
            let file = FileId(u32::try_from(index).unwrap_or(u32::MAX));
            let uses = self.uses.get(&file).map_or(&[][..], Vec::as_slice);
            sources.push(Source { file, tree: &parsed.tree, uses, catalogue: index < self.catalogue });
        }
        sources
    }

    /// The folder that the paths in a file start from.
    pub fn folder(&self, file: FileId) -> &Path {
        self.paths.get(&file).and_then(|path| path.parent()).unwrap_or(&self.here)
    }
}

/// Where a library lies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    /// The folder that no `use` may leave.
    pub root: PathBuf,
    /// The folder to which file names in reports are relative.
    pub shown_from: PathBuf,
}

/// What is known of a path.
enum Seen {
    /// It was read.
    File(FileId),
    /// On disk another letter case is written.
    OtherCase(PathBuf),
    /// It cannot be read, for this reason.
    Not(String),
}

struct Loader<'a> {
    io: &'a dyn Io,
    root: &'a Path,
    shown_from: &'a Path,
    loaded: Loaded,
    /// By the path's text, since paths themselves compare piece by piece.
    seen: BTreeMap<OsString, Seen>,
    /// The `use` lines of the files that were just read.
    fresh: Vec<(FileId, Lines)>,
}

/// The path that a `use` means, or what is wrong with it whatever there is on disk.
type Placed = Result<PathBuf, Box<Diagnostic>>;

/// The `use` lines of a file, and what is wrong with them.
type Lines = (Vec<UseLine>, Vec<Diagnostic>);

/// Reads `paths` and what they use; `typed` is a text without a file, with the name it is reported under.
///
/// Files are read and parsed on all cores: first those that are asked for, then what they use, and so on. They are
/// numbered in the order in which they are named, so that the number of cores makes no difference.
pub fn load(
    io: &dyn Io,
    places: &Places,
    paths: &[PathBuf],
    typed: Option<(&str, String)>,
) -> (Loaded, Vec<Unreadable>) {
    let Places { root, shown_from } = places;
    let loaded = Loaded { root: root.clone(), here: shown_from.clone(), ..Loaded::default() };
    let mut loader = Loader { io, root, shown_from, loaded, seen: BTreeMap::new(), fresh: Vec::new() };
    let shipped = catalogue::FILES.map(|(name, text)| SourceFile::new(name, text));
    loader.take_in(shipped.into());
    loader.loaded.catalogue = catalogue::FILES.len();
    loader.fresh.clear();
    if let Some((name, text)) = typed {
        let ids = loader.take_in(vec![SourceFile::new(name, text)]);
        loader.loaded.asked.extend(ids);
    }
    let asked: Vec<PathBuf> = paths.iter().map(|path| plain(path)).collect();
    let named: Vec<&Path> = asked.iter().map(PathBuf::as_path).collect();
    loader.read(&named, |path| read_text(io, path).map_err(Seen::Not));
    let mut unreadable = Vec::new();
    for (path, plain) in paths.iter().zip(&asked) {
        match loader.seen.get(plain.as_os_str()) {
            Some(Seen::File(id)) => loader.loaded.asked.push(*id),
            Some(Seen::Not(why)) => {
                unreadable.push(Unreadable { path: path.display().to_string(), why: why.clone() });
            }
            Some(Seen::OtherCase(_)) | None => {}
        }
    }
    while !loader.fresh.is_empty() {
        loader.follow();
    }
    unreadable.extend(loader.settings());
    (loader.loaded, unreadable)
}

fn read_text(io: &dyn Io, path: &Path) -> Result<String, String> {
    let bytes = io.read(path).map_err(|problem| problem.to_string())?;
    String::from_utf8(bytes)
        .map_err(|error| format!("it is not a text in UTF-8: byte {} cannot be read", error.utf8_error().valid_up_to()))
}

impl Loader<'_> {
    /// Takes texts in, parses them and finds their `use` lines.
    fn take_in(&mut self, files: Vec<SourceFile>) -> Vec<FileId> {
        let ids: Vec<FileId> = files.into_iter().map(|file| self.loaded.files.add(file)).collect();
        let texts = &self.loaded.files;
        let read = |id: &FileId| {
            let text = texts.get(*id).text();
            let mut parsed = parse(*id, text);
            parsed.forget_tokens();
            let lines = use_lines(&parsed.tree, text);
            (parsed, lines)
        };
        let parsed: Vec<(Parsed, Lines)> = ids.par_iter().map(read).collect();
        for (id, (parsed, lines)) in ids.iter().zip(parsed) {
            self.loaded.parsed.push(Arc::new(parsed));
            self.fresh.push((*id, lines));
        }
        ids
    }

    /// Reads the files among `paths` that were not seen before.
    fn read(&mut self, paths: &[&Path], read: impl Fn(&Path) -> Result<String, Seen> + Sync) {
        let mut new: Vec<&Path> = Vec::new();
        let mut named = BTreeSet::new();
        for path in paths {
            if !self.seen.contains_key(path.as_os_str()) && named.insert(path.as_os_str()) {
                new.push(path);
            }
        }
        let texts: Vec<Result<String, Seen>> = new.par_iter().map(|path| read(path)).collect();
        let mut sources = Vec::new();
        let mut readable = Vec::new();
        for (path, text) in new.into_iter().zip(texts) {
            match text {
                Ok(text) => {
                    sources.push(SourceFile::new(shown_name(path, self.shown_from), text));
                    readable.push(path);
                }
                Err(seen) => {
                    self.seen.insert(path.as_os_str().to_owned(), seen);
                }
            }
        }
        for (path, id) in readable.into_iter().zip(self.take_in(sources)) {
            self.seen.insert(path.as_os_str().to_owned(), Seen::File(id));
            self.loaded.paths.insert(id, path.to_owned());
        }
    }

    /// Reads the library's settings. They are a file among the others, so that what is wrong with them is shown like
    /// anything else; but for the language they are an empty one.
    fn settings(&mut self) -> Option<Unreadable> {
        let path = self.root.join(SETTINGS);
        let bytes = match self.io.read(&path) {
            Ok(bytes) => bytes,
            Err(ReadProblem::Missing) => return None,
            Err(problem) => return Some(Unreadable { path: path.display().to_string(), why: problem.to_string() }),
        };
        let Ok(text) = String::from_utf8(bytes) else {
            let why = "it is not a text in UTF-8".to_owned();
            return Some(Unreadable { path: path.display().to_string(), why });
        };
        let id = self.loaded.files.add(SourceFile::new(shown_name(&path, self.shown_from), text));
        self.loaded.parsed.push(Arc::new(parse(id, "")));
        let (settings, faults) = read_settings(self.io, self.root, id, self.loaded.files.get(id).text());
        self.loaded.settings = settings;
        self.loaded.faults.extend(faults);
        self.loaded.paths.insert(id, path);
        None
    }

    /// Reads what the files use that were read last.
    fn follow(&mut self) {
        let fresh = std::mem::take(&mut self.fresh);
        let placed = |(file, lines): &(FileId, Lines)| -> Vec<Placed> {
            let folder = self.loaded.folder(*file);
            let place = |line: &UseLine| {
                let path = plain(&folder.join(&line.path));
                misplaced(self.root, &path, line).map_or(Ok(path), |fault| Err(Box::new(fault)))
            };
            lines.0.iter().map(place).collect()
        };
        let paths: Vec<Vec<Placed>> = fresh.par_iter().map(placed).collect();
        let wanted: Vec<&Path> = paths.iter().flatten().flatten().map(PathBuf::as_path).collect();
        let (io, root) = (self.io, self.root);
        self.read(&wanted, |path| {
            let other = if is_exact(io, root, path) { None } else { other_case(io, root, path) };
            other.map_or_else(|| read_text(io, path).map_err(Seen::Not), |right| Err(Seen::OtherCase(right)))
        });
        for ((file, (lines, faults)), paths) in fresh.into_iter().zip(paths) {
            self.loaded.faults.extend(faults);
            let targets = lines.into_iter().zip(paths).map(|(line, path)| self.target(file, path, line)).collect();
            self.loaded.uses.insert(file, targets);
        }
    }

    fn target(&mut self, file: FileId, path: Placed, line: UseLine) -> UseTarget {
        let found = path.and_then(|path| self.used(self.loaded.folder(file), &path, &line));
        let file = found.map_err(|fault| self.loaded.faults.push(*fault)).ok();
        UseTarget { line, file }
    }

    /// What was found under a path that is used.
    fn used(&self, folder: &Path, path: &Path, line: &UseLine) -> Result<FileId, Box<Diagnostic>> {
        let why = match self.seen.get(path.as_os_str()) {
            Some(Seen::File(id)) => return Ok(*id),
            Some(Seen::OtherCase(right)) => {
                let written = relative(folder, right);
                let headline = format!("`{}` is written in another letter case on disk", line.path);
                let fault = fault("use-letter-case", line.span, headline)
                    .here("capital and small letters count in paths")
                    .edit(format!("write `{written}`"), line.span, format!("\"{written}\""));
                return Err(Box::new(fault));
            }
            Some(Seen::Not(why)) => why.as_str(),
            None => "there is no such file",
        };
        let error = fault("unreadable-use", line.span, format!("`{}` cannot be read: {why}", line.path));
        Err(Box::new(match self.near_file(path) {
            Some(near) => {
                let written = line.path.rsplit_once('/').map_or(near.clone(), |(folder, _)| format!("{folder}/{near}"));
                error.edit(format!("write `{written}`"), line.span, format!("\"{written}\""))
            }
            None => error.help("The path is relative to the file that uses it, and ends in `.withy`."),
        }))
    }

    fn near_file(&self, path: &Path) -> Option<String> {
        let folder = path.parent()?;
        let wanted = path.file_name()?.to_str()?;
        let files = self.io.some_recipe_files(folder);
        let here = files.iter().filter(|file| file.parent() == Some(folder));
        let names: Vec<&str> = here.filter_map(|file| file.file_name()?.to_str()).collect();
        nearest(wanted, names).map(str::to_owned)
    }
}

/// What is wrong with a path whatever there is on disk.
fn misplaced(root: &Path, path: &Path, line: &UseLine) -> Option<Diagnostic> {
    if line.path.contains('\\') {
        let fault = fault("use-with-backslash", line.span, "paths are written with `/`".to_owned());
        return Some(fault.edit("write `/`", line.span, format!("\"{}\"", line.path.replace('\\', "/"))));
    }
    if path.starts_with(root) {
        return None;
    }
    let root = root.file_name().map_or_else(|| "/".into(), |name| name.to_string_lossy());
    let fault = fault("use-outside", line.span, format!("`{}` lies outside the library", line.path));
    Some(
        fault.here(format!("the library is the folder `{root}`")).help(
            "A library is the folder of its `withy.toml`; without one, the folder of the file and the one above it.",
        ),
    )
}

/// Whether a file is there under exactly this path. Some file systems are blind to letter case; on another machine the
/// file would not be found.
fn is_exact(io: &dyn Io, root: &Path, path: &Path) -> bool {
    path.ancestors().take_while(|part| *part != root).all(|part| io.has_exactly(part))
}

/// The file of the library whose path differs only in letter case.
fn other_case(io: &dyn Io, root: &Path, path: &Path) -> Option<PathBuf> {
    let folded = |path: &Path| path.to_string_lossy().to_lowercase();
    let wanted = folded(path);
    io.some_recipe_files(root).into_iter().find(|file| file != path && folded(file) == wanted)
}

fn fault(name: &'static str, span: Span, headline: String) -> Diagnostic {
    Diagnostic::error(name, span, headline)
}

/// How a `use` in a file of `folder` names `path`; both are plain and lie below one root.
pub fn relative(folder: &Path, path: &Path) -> String {
    let (from, to): (Vec<_>, Vec<_>) = (folder.components().collect(), path.components().collect());
    let shared = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    let up = std::iter::repeat_n("..".to_owned(), from.len() - shared);
    let down = to[shared..].iter().map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

/// The name of a file for a reader in the folder `from`; whole where the two have nothing in common.
fn shown_name(path: &Path, from: &Path) -> String {
    let common = path.components().zip(from.components()).take_while(|(own, other)| own == other).count();
    let is_folder = |component: &Component<'_>| matches!(component, Component::Normal(_));
    if !path.components().take(common).any(|component| is_folder(&component)) {
        return with_slashes(path);
    }
    let up = from.components().skip(common).map(|_| Component::ParentDir);
    with_slashes(&up.chain(path.components().skip(common)).collect::<PathBuf>())
}

fn with_slashes(path: &Path) -> String {
    path.display().to_string().replace('\\', "/")
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
