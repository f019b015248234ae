//! What the tests of the whole compiler share.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use withy::library::{Checked, Depth, Io, Loaded, Memory, Places, ReadProblem, check, load};
use withy::report::{Class, Diagnostic};
use withy::types::Date;

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Whether the long run was asked for (`tests/deep`): full counts instead of reduced ones.
pub fn deep() -> bool {
    std::env::var_os("WITHY_DEEP").is_some()
}

/// The folder that the examples seem to lie in, for tests that keep them in memory.
pub const LIBRARY: &str = "/library";

/// The files of `examples/`, without the folder of wrong ones, by their path below it.
pub fn examples() -> BTreeMap<String, String> {
    let folder = root().join("examples");
    let mut files = BTreeMap::new();
    for entry in ignore::WalkBuilder::new(&folder).build() {
        let path = entry.unwrap().into_path();
        let name = path.strip_prefix(&folder).unwrap().to_str().unwrap().to_owned();
        if path.extension().is_some_and(|end| end == "withy") && !name.starts_with("wrong/") {
            let text = std::fs::read_to_string(&path).unwrap();
            files.insert(name, text);
        }
    }
    assert!(files.len() >= 14, "the examples are gone: {:?}", files.keys());
    files
}

/// A library in memory: a few files laid over many that stay.
pub struct Overlay<'a> {
    below: &'a Memory,
    path: PathBuf,
    text: &'a str,
}

impl<'a> Overlay<'a> {
    /// `below`, with the text of one file replaced.
    pub fn new(below: &'a Memory, name: &str, text: &'a str) -> Self {
        Self { below, path: Path::new(LIBRARY).join(name), text }
    }
}

impl Io for Overlay<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        if path == self.path { Ok(self.text.as_bytes().to_vec()) } else { self.below.read(path) }
    }

    fn has_exactly(&self, path: &Path) -> bool {
        path == self.path || self.below.has_exactly(path)
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.below.recipe_files(folder)
    }

    fn is_folder(&self, path: &Path) -> bool {
        self.below.is_folder(path)
    }
}

/// Files in memory, below [`LIBRARY`].
pub fn memory(files: &BTreeMap<String, String>) -> Memory {
    Memory::new(files.iter().map(|(name, text)| (Path::new(LIBRARY).join(name), text.as_bytes().to_vec())))
}

/// Loads files by their names below [`LIBRARY`] and checks them, as `lint` does on a day when no acceptance is stale.
pub fn checked(io: &dyn Io, names: &[&str]) -> (Loaded, Checked) {
    let places = Places { root: PathBuf::from(LIBRARY), shown_from: PathBuf::from(LIBRARY) };
    let paths: Vec<PathBuf> = names.iter().map(|name| Path::new(LIBRARY).join(name)).collect();
    let (loaded, unreadable) = load(io, &places, &paths, None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    let checked = check(&loaded, Depth::Full, Date::parse("2026-11-25"));
    (loaded, checked)
}

/// Where a finding is, as it is written in `# expect` lines: file, line, column.
pub fn place(loaded: &Loaded, finding: &Diagnostic) -> (String, usize, usize) {
    let span = finding.primary();
    let file = loaded.files.get(span.file);
    let at = usize::try_from(span.start).unwrap();
    let before = &file.text()[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").trim_start_matches('\u{feff}').chars().count() + 1;
    (file.path().to_owned(), line, column)
}

/// Whether a finding makes `withy lint` fail, unless told otherwise: errors, dangers and warnings that nobody accepts.
pub fn fails(finding: &Diagnostic) -> bool {
    finding.accepted.is_none() && finding.class().is_none_or(|class| class <= Class::Warning)
}

/// A finding on one line, for the messages of tests.
pub fn shown(loaded: &Loaded, finding: &Diagnostic) -> String {
    let (file, line, column) = place(loaded, finding);
    format!("{file}:{line}:{column}: {} {}: {}", finding.word(), finding.name(), finding.headline)
}
