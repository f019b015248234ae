use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::types::Date;

/// What the library needs of the world outside; tests give it files in memory. Files are read on all cores.
pub trait Io: Sync {
    /// The bytes of a file; why not, in a sentence, otherwise.
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem>;
    /// Whether a folder has an entry of exactly this name; some file systems are blind to letter case.
    fn has_exactly(&self, path: &Path) -> bool;
    /// The recipe files below a folder, in order, without hidden folders and what git ignores.
    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf>;
    /// Whether the path is a folder.
    fn is_folder(&self, path: &Path) -> bool;
    /// Whether the path is a file.
    fn is_file(&self, path: &Path) -> bool {
        self.read(path).is_ok()
    }
    /// The recipe files below a folder, and what below it could not be looked into.
    fn walk(&self, folder: &Path) -> Walked {
        Walked { files: self.recipe_files(folder), unreadable: Vec::new() }
    }
    /// Recipe files to look through for the sake of a message. Where that could take long, not all of them: without
    /// a `withy.toml`, the folder can be half a disk.
    fn some_recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.recipe_files(folder)
    }
}

/// What lies below a folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Walked {
    /// Recipe files, in order.
    pub files: Vec<PathBuf>,
    /// Folders that could not be looked into, with the reason.
    pub unreadable: Vec<Unreadable>,
}

/// A file or folder that was asked for and could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// Its path, as it was asked for.
    pub path: String,
    /// Why, in words.
    pub why: String,
}

/// Why a file could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadProblem {
    /// There is none.
    Missing,
    /// It is larger than any recipe.
    TooLarge,
    /// The system refuses; its own words.
    Refused(String),
}

impl std::fmt::Display for ReadProblem {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing => out.write_str("there is no such file"),
            Self::TooLarge => out.write_str("it is larger than 64 MB"),
            Self::Refused(why) => out.write_str(why),
        }
    }
}

/// Larger files hold no recipes.
pub const LARGEST_FILE: u64 = 64 * 1024 * 1024;

/// Folders and files that are looked at for the sake of a message, at most.
const MOST_LOOKED_AT: usize = 10_000;
const DEEPEST_LOOK: usize = 6;

/// The files of this machine.
#[derive(Clone, Copy, Debug, Default)]
pub struct Disk;

impl Io for Disk {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        let refused = |error: std::io::Error| match error.kind() {
            std::io::ErrorKind::NotFound => ReadProblem::Missing,
            _ => ReadProblem::Refused(error.to_string()),
        };
        let facts = std::fs::metadata(path).map_err(refused)?;
        if !facts.is_file() {
            return Err(ReadProblem::Refused("it is not a file".to_owned()));
        }
        if facts.len() > LARGEST_FILE {
            return Err(ReadProblem::TooLarge);
        }
        std::fs::read(path).map_err(refused)
    }

    fn has_exactly(&self, path: &Path) -> bool {
        let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else { return true };
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        std::fs::read_dir(folder)
            .is_ok_and(|mut entries| entries.any(|entry| entry.is_ok_and(|entry| entry.file_name() == name)))
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.walk(folder).files
    }

    fn is_folder(&self, path: &Path) -> bool {
        path.is_dir()
    }

    fn is_file(&self, path: &Path) -> bool {
        path.is_file()
    }

    fn walk(&self, folder: &Path) -> Walked {
        recipes(ignore::WalkBuilder::new(folder).require_git(false).build())
    }

    fn some_recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        let mut walk = ignore::WalkBuilder::new(folder);
        // In a fixed order, so that the same files are seen each time.
        walk.require_git(false).max_depth(Some(DEEPEST_LOOK)).sort_by_file_name(Ord::cmp);
        recipes(walk.build().take(MOST_LOOKED_AT)).files
    }
}

fn recipes(entries: impl Iterator<Item = Result<ignore::DirEntry, ignore::Error>>) -> Walked {
    let mut walked = Walked::default();
    for entry in entries {
        match entry {
            Ok(entry) if is_recipe(&entry) => walked.files.push(entry.into_path()),
            Ok(_) => {}
            Err(error) => walked.unreadable.extend(unreadable(&error)),
        }
    }
    walked.files.sort();
    walked.unreadable.sort_by(|a, b| a.path.cmp(&b.path));
    walked
}

/// A link counts as what it leads to, unless that is a folder: folders are not followed, so that none is walked twice
/// or for ever. A link that leads nowhere counts, so that reading it tells so.
fn is_recipe(entry: &ignore::DirEntry) -> bool {
    let named = entry.path().extension().is_some_and(|extension| extension == "withy");
    let is_link = || entry.file_type().is_some_and(|kind| kind.is_symlink()) && !entry.path().is_dir();
    named && (entry.file_type().is_some_and(|kind| kind.is_file()) || is_link())
}

/// A folder that could not be looked into. Trouble with a file of ignored names is none of a library's.
fn unreadable(error: &ignore::Error) -> Option<Unreadable> {
    let (path, cause) = located(error)?;
    Some(Unreadable { path: path.display().to_string(), why: cause.to_string() })
}

fn located(error: &ignore::Error) -> Option<(&Path, &std::io::Error)> {
    match error {
        ignore::Error::WithPath { path, err } => Some((path, cause(err)?)),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => located(err),
        _ => None,
    }
}

fn cause(error: &ignore::Error) -> Option<&std::io::Error> {
    match error {
        ignore::Error::Io(error) => Some(error),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithPath { err, .. } => cause(err),
        _ => None,
    }
}

/// The day by the system's clock, in UTC: what acceptances are held against where nobody says another day.
pub fn system_date() -> Option<Date> {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).ok()?;
    Date::from_days_since_1970(since.as_secs() / 86_400)
}

/// Files in memory, for tests and for texts that have no file.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    files: BTreeMap<PathBuf, Vec<u8>>,
}

impl Memory {
    /// These files.
    pub fn new<P: Into<PathBuf>, B: Into<Vec<u8>>>(files: impl IntoIterator<Item = (P, B)>) -> Self {
        Self { files: files.into_iter().map(|(path, bytes)| (path.into(), bytes.into())).collect() }
    }
}

impl Io for Memory {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        self.files.get(path).cloned().ok_or(ReadProblem::Missing)
    }

    fn has_exactly(&self, path: &Path) -> bool {
        self.files.contains_key(path) || self.is_folder(path)
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.files.keys().filter(|path| path.starts_with(folder)).cloned().collect()
    }

    fn is_folder(&self, path: &Path) -> bool {
        !self.files.contains_key(path) && self.files.keys().any(|file| file.starts_with(path))
    }
}
