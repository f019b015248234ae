//! The library that fuzzed texts stand in: the benches, sheets and parts of the examples, so that what a text uses
//! has a meaning, and one file that is the text itself.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use withy::library::{Checked, Depth, Io, Loaded, Memory, Places, ReadProblem, check, load};
use withy::types::Date;

const ROOT: &str = "/library";
const FUZZED: &str = "/library/recipes/fuzzed.withy";

static EXAMPLES: LazyLock<Memory> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let files = ["bench", "parts", "recipes", "stock"].into_iter().flat_map(|part| {
        let entries = std::fs::read_dir(folder.join(part)).expect("the examples are there");
        entries.map(move |entry| {
            let path = entry.expect("the examples can be listed").path();
            let name = path.file_name().expect("a file has a name");
            (Path::new(ROOT).join(part).join(name), std::fs::read(&path).expect("the examples can be read"))
        })
    });
    Memory::new(files)
});

/// The examples with the fuzzed text as one file more.
struct Fuzzed<'a>(&'a [u8]);

impl Io for Fuzzed<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        if path == Path::new(FUZZED) { Ok(self.0.to_vec()) } else { EXAMPLES.read(path) }
    }

    fn has_exactly(&self, path: &Path) -> bool {
        path == Path::new(FUZZED) || EXAMPLES.has_exactly(path)
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        EXAMPLES.recipe_files(folder)
    }

    fn is_folder(&self, path: &Path) -> bool {
        EXAMPLES.is_folder(path)
    }
}

/// The text, loaded and checked to a depth; none if it is no text.
pub fn checked(text: &[u8], depth: Depth) -> Option<(Loaded, Checked)> {
    let places = Places { root: PathBuf::from(ROOT), shown_from: PathBuf::from(ROOT) };
    let (loaded, unreadable) = load(&Fuzzed(text), &places, &[PathBuf::from(FUZZED)], None);
    if !unreadable.is_empty() {
        return None;
    }
    let checked = check(&loaded, depth, Date::parse("2026-11-25"));
    Some((loaded, checked))
}
