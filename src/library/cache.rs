//! The folder in which solved bends and orders are kept between runs. It may be deleted at any time.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::plan::{MODEL, Store};

/// The variable that names another folder; `off` keeps nothing.
const VARIABLE: &str = "WITHY_CACHE";

/// How many folders a version of the models has: one for each pair of hexadecimal digits that a name can begin with,
/// since folders with tens of thousands of files are slow on some systems. No folder holds more files than
/// [`MOST_IN_FOLDER`]: of about 2 kB each, 130 MB in all.
const MOST_IN_FOLDER: usize = 256;

/// A folder of solved bends and orders, shared by any number of runs at once: each file is written elsewhere and put in place
/// whole, and whatever is found is checked by who asked for it. That nothing can be kept is no fault.
///
/// What other versions of the models have kept goes as soon as this one keeps its first bend. Where a folder is full, the
/// file goes whose name follows that of the new one: names are digests, so that it is any of them, and no clock is asked.
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

    fn path(&self, name: &str) -> Option<PathBuf> {
        Some(self.folder.as_ref()?.join(MODEL).join(name.get(..2)?).join(name))
    }

    /// Takes away what other versions have kept: folders that are named as this program names them.
    fn drop_others(&self) {
        let Some(folder) = &self.folder else { return };
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            let ours = [2, MODEL.len()].contains(&name.len()) && name.bytes().all(|byte| byte.is_ascii_hexdigit());
            if ours && name != MODEL {
                // Another run may be at it, too.
                drop(std::fs::remove_dir_all(entry.path()));
            }
        }
    }
}

/// Makes room for one more file in a folder that is full.
fn make_room(folder: &Path, name: &str) {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut names: Vec<_> = entries.map(|entry| entry.file_name()).filter(|other| *other != *name).collect();
    names.sort_unstable();
    let next = names.partition_point(|other| other.as_os_str() < std::ffi::OsStr::new(name));
    let surplus = (names.len() + 1).saturating_sub(MOST_IN_FOLDER);
    for other in names.iter().cycle().skip(next).take(surplus.min(names.len())) {
        drop(std::fs::remove_file(folder.join(other)));
    }
}

impl Store for CacheFolder {
    fn find(&self, name: &str) -> Option<Vec<u8>> {
        std::fs::read(self.path(name)?).ok()
    }

    fn keep(&self, name: &str, bytes: &[u8]) {
        let Some(path) = self.path(name) else { return };
        let Some(folder) = path.parent() else { return };
        if self.folder.as_ref().is_some_and(|all| !all.join(MODEL).exists()) {
            self.drop_others();
        }
        let write = || {
            std::fs::create_dir_all(folder)?;
            make_room(folder, name);
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
    use super::{CacheFolder, MOST_IN_FOLDER};
    use crate::plan::{MODEL, Store};

    #[test]
    fn a_full_folder_stays_as_full_and_other_versions_go() {
        let home = tempfile::tempdir().map(tempfile::TempDir::keep).unwrap_or_default();
        let other = "0".repeat(MODEL.len());
        for kept in [format!("{other}/ab/ab34"), "cd/cd56".to_owned(), "notes/mine".to_owned()] {
            let path = home.join(kept);
            assert!(std::fs::create_dir_all(path.parent().unwrap_or(&home)).is_ok());
            assert!(std::fs::write(path, b"kept").is_ok());
        }
        let cache = CacheFolder::at(&home);
        let name = |number: usize| format!("ab{number:04}");
        for number in 0..MOST_IN_FOLDER + 40 {
            cache.keep(&name(number), b"solved");
            assert!(cache.find(&name(number)).is_some(), "what was kept last is there");
        }
        let kept = (0..MOST_IN_FOLDER + 40).filter(|number| cache.find(&name(*number)).is_some()).count();
        assert_eq!(kept, MOST_IN_FOLDER);
        assert!(!home.join(other).exists() && !home.join("cd").exists());
        assert!(home.join("notes/mine").exists(), "what is not ours stays");
        drop(std::fs::remove_dir_all(home));
    }

    #[test]
    fn what_is_kept_is_found_and_nothing_else_is_a_fault() {
        let folder = tempfile::tempdir().map(|folder| folder.path().join("deep/er")).unwrap_or_default();
        let cache = CacheFolder::at(&folder);
        assert_eq!(cache.find("ab12"), None);
        cache.keep("ab12", b"one");
        cache.keep("ab12", b"two");
        assert_eq!(cache.find("ab12").as_deref(), Some(&b"two"[..]));
        let left = std::fs::read_dir(folder.join(MODEL).join("ab")).map_or(0, Iterator::count);
        assert_eq!(left, 1, "nothing half-written is left");
        // A file stands where the folder should be.
        let blocked = CacheFolder::at(&folder.join(MODEL).join("ab/ab12"));
        blocked.keep("cd34", b"three");
        assert_eq!(blocked.find("cd34"), None);
        let none = CacheFolder::none();
        none.keep("ab12", b"four");
        assert_eq!(none.find("ab12"), None);
    }
}
