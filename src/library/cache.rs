//! The folder in which solved bends are kept between runs. It may be deleted at any time.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::plan::Store;

/// The variable that names another folder; `off` keeps nothing.
const VARIABLE: &str = "WITHY_CACHE";

/// A folder of solved bends, shared by any number of runs at once: each file is written elsewhere and put in place
/// whole, and whatever is found is checked by who asked for it. That nothing can be kept is no fault.
#[derive(Clone, Debug)]
pub struct CacheFolder {
    folder: Option<PathBuf>,
}

impl CacheFolder {
    /// The user's own, or what the variable `WITHY_CACHE` says.
    pub fn of_user() -> Self {
        let folder = match std::env::var_os(VARIABLE) {
            Some(said) if said.is_empty() || said == "off" => None,
            Some(said) => Some(PathBuf::from(said)),
            None => dirs::cache_dir().map(|folder| folder.join("withy")),
        };
        Self { folder: folder.map(|folder| folder.join("bends")) }
    }

    /// Where the pages of rules lie as files, for who shows them: beside the bends, by version, since pages change.
    pub fn pages(&self) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.parent()?.join("rules").join(env!("CARGO_PKG_VERSION")))
    }

    /// None at all.
    pub fn none() -> Self {
        Self { folder: None }
    }

    /// This one.
    pub fn at(folder: &Path) -> Self {
        Self { folder: Some(folder.to_owned()) }
    }

    /// Folders with tens of thousands of files are slow on some systems.
    fn path(&self, name: &str) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(name.get(..2)?).join(name))
    }
}

impl Store for CacheFolder {
    fn find(&self, name: &str) -> Option<Vec<u8>> {
        std::fs::read(self.path(name)?).ok()
    }

    fn keep(&self, name: &str, bytes: &[u8]) {
        let Some(path) = self.path(name) else { return };
        let Some(folder) = path.parent() else { return };
        let write = || {
            std::fs::create_dir_all(folder)?;
            let mut file = tempfile::NamedTempFile::new_in(folder)?;
            file.write_all(bytes)?;
            file.persist(&path).map_err(std::io::Error::from)
        };
        // The next run computes it again.
        drop(write());
    }
}

#[cfg(test)]
mod tests {
    use super::CacheFolder;
    use crate::plan::Store;

    #[test]
    fn what_is_kept_is_found_and_nothing_else_is_a_fault() {
        let folder = tempfile::tempdir().map(|folder| folder.path().join("deep/er")).unwrap_or_default();
        let cache = CacheFolder::at(&folder);
        assert_eq!(cache.find("ab12"), None);
        cache.keep("ab12", b"one");
        cache.keep("ab12", b"two");
        assert_eq!(cache.find("ab12").as_deref(), Some(&b"two"[..]));
        let left = std::fs::read_dir(folder.join("ab")).map_or(0, Iterator::count);
        assert_eq!(left, 1, "nothing half-written is left");
        // A file stands where the folder should be.
        let blocked = CacheFolder::at(&folder.join("ab/ab12"));
        blocked.keep("cd34", b"three");
        assert_eq!(blocked.find("cd34"), None);
        let none = CacheFolder::none();
        none.keep("ab12", b"four");
        assert_eq!(none.find("ab12"), None);
    }
}
