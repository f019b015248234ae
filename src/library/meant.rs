//! Which library is meant, and which of its files: the same for the command line and for an editor.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::library::io::{Io, Unreadable, Walked};
use crate::library::settings::{SETTINGS, Settings, read_settings};
use crate::text::FileId;

/// What a command does with files for which none are named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// It looks at all sources.
    Sources,
    /// It makes what the targets declare.
    Targets,
}

/// What was meant.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Meant {
    /// The library's root.
    pub root: PathBuf,
    /// The files, without repetition.
    pub files: Vec<PathBuf>,
    /// Whether that is the whole library, so that what is not found is nowhere in it.
    pub whole: bool,
    /// Folders that hold no recipe files.
    pub empty: Vec<PathBuf>,
    /// Folders that could not be looked into.
    pub unreadable: Vec<Unreadable>,
}

/// Why nothing was meant that could be looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotMeant {
    /// No path was given, and there is no library around.
    NoLibrary,
    /// The files belong to different libraries; the folders of two of them.
    TwoLibraries(PathBuf, PathBuf),
}

/// The files that are meant by `given` (plain, absolute paths) in the folder `here`. Without any, those that the
/// library around `here` names. `typed` tells that a text is typed as well, in the folder `here`.
pub fn meant(io: &dyn Io, here: &Path, given: &[PathBuf], typed: bool, purpose: Purpose) -> Result<Meant, NotMeant> {
    let mut meant = Meant::default();
    if given.is_empty() && !typed {
        let root = library_of(io, here).ok_or(NotMeant::NoLibrary)?;
        meant.add_library(io, &root, purpose);
        meant.root = root;
        meant.whole = purpose == Purpose::Sources;
        return Ok(meant);
    }
    for path in given {
        if !io.is_folder(path) {
            meant.files.push(path.clone());
        } else if io.is_file(&path.join(SETTINGS)) {
            meant.add_library(io, path, Purpose::Sources);
        } else {
            meant.add_folder(io, path);
        }
    }
    let mut seen = BTreeSet::new();
    meant.files.retain(|file| seen.insert(file.clone()));
    meant.root = root(io, here, given, &meant.files, typed)?;
    meant.whole = given.contains(&meant.root);
    Ok(meant)
}

impl Meant {
    fn add_folder(&mut self, io: &dyn Io, folder: &Path) {
        let Walked { files, unreadable } = io.walk(folder);
        if files.is_empty() && unreadable.is_empty() {
            self.empty.push(folder.to_owned());
        }
        self.files.extend(files);
        self.unreadable.extend(unreadable);
    }

    /// What a library says that it consists of, or all of it.
    fn add_library(&mut self, io: &dyn Io, root: &Path, purpose: Purpose) {
        let Settings { sources, targets, .. } = settings_of(io, root);
        let paths = if purpose == Purpose::Targets && !targets.is_empty() { targets } else { sources };
        let paths = if paths.is_empty() { vec![root.to_owned()] } else { paths };
        for path in paths {
            if io.is_folder(&path) {
                self.add_folder(io, &path);
            } else {
                self.files.push(path);
            }
        }
        // A folder that the settings name may still be, or have become, an empty one.
        self.empty.retain(|folder| folder == root);
    }
}

fn settings_of(io: &dyn Io, root: &Path) -> Settings {
    let text = io.read(&root.join(SETTINGS)).ok().and_then(|bytes| String::from_utf8(bytes).ok());
    // What is wrong with them is told when the library is loaded.
    text.map(|text| read_settings(io, root, FileId(0), &text).0).unwrap_or_default()
}

/// The nearest folder around, or this one, with a `withy.toml`.
fn library_of(io: &dyn Io, folder: &Path) -> Option<PathBuf> {
    folder.ancestors().find(|folder| io.is_file(&folder.join(SETTINGS))).map(Path::to_owned)
}

/// The library's root: the nearest folder with a `withy.toml`; without one, what holds the folders above all files
/// given and the folders given.
fn root(io: &dyn Io, here: &Path, given: &[PathBuf], files: &[PathBuf], typed: bool) -> Result<PathBuf, NotMeant> {
    let folders: BTreeSet<&Path> = files.iter().filter_map(|file| file.parent()).chain(typed.then_some(here)).collect();
    let libraries: BTreeSet<Option<PathBuf>> = folders.iter().map(|folder| library_of(io, folder)).collect();
    let mut named = libraries.iter().flatten();
    match (named.next(), named.next()) {
        (Some(one), Some(other)) => return Err(NotMeant::TwoLibraries(one.clone(), other.clone())),
        (Some(one), None) if libraries.len() == 1 => return Ok(one.clone()),
        (Some(one), None) => return Err(NotMeant::TwoLibraries(one.clone(), here.to_owned())),
        (None, _) => {}
    }
    // A folder that was given is a library by itself, unless a file in it needs what stands above.
    let given = given.iter().filter(|path| io.is_folder(path)).map(PathBuf::as_path);
    let above = folders.iter().map(|folder| folder.parent().unwrap_or(folder));
    let all: Vec<&Path> = given.chain(above).collect();
    let Some(mut common) = all.first().map(|path| path.to_path_buf()) else { return Ok(here.to_owned()) };
    for path in &all {
        while !path.starts_with(&common) {
            if !common.pop() {
                break;
            }
        }
    }
    Ok(common)
}

#[cfg(test)]
mod tests {
    use std::path::{Path, PathBuf};

    use super::{Meant, NotMeant, Purpose, meant};
    use crate::library::io::Memory;

    fn of(files: &[(&str, &str)], here: &str, given: &[&str], purpose: Purpose) -> Result<(String, String), NotMeant> {
        let io = Memory::new(files.iter().map(|(path, text)| (PathBuf::from(path), text.as_bytes())));
        let given: Vec<PathBuf> = given.iter().filter(|path| **path != "-").map(PathBuf::from).collect();
        let typed = given.is_empty() && here.ends_with("typing");
        let Meant { root, files, .. } = meant(&io, Path::new(here), &given, typed, purpose)?;
        let names: Vec<String> = files.iter().map(|file| file.display().to_string()).collect();
        Ok((root.display().to_string(), names.join(" ")))
    }

    const SHOP: [(&str, &str); 5] = [
        ("/shop/withy.toml", "sources = [\"parts\", \"recipes\"]\ntargets = [\"recipes/a.withy\"]\n"),
        ("/shop/parts/b.withy", ""),
        ("/shop/recipes/a.withy", ""),
        ("/shop/old/c.withy", ""),
        ("/other/recipes/d.withy", ""),
    ];

    fn found(root: &str, files: &str) -> (String, String) {
        (root.to_owned(), files.to_owned())
    }

    #[test]
    fn a_library_names_its_files() {
        let all = "/shop/parts/b.withy /shop/recipes/a.withy";
        assert_eq!(of(&SHOP, "/shop/old", &[], Purpose::Sources), Ok(found("/shop", all)));
        assert_eq!(of(&SHOP, "/shop", &[], Purpose::Targets), Ok(found("/shop", "/shop/recipes/a.withy")));
        assert_eq!(of(&SHOP, "/shop", &["/shop"], Purpose::Targets), Ok(found("/shop", all)));
        assert_eq!(of(&SHOP, "/", &["/shop/old"], Purpose::Sources), Ok(found("/shop", "/shop/old/c.withy")));
        assert_eq!(of(&SHOP, "/shop/typing", &[], Purpose::Sources), Ok(found("/shop", "")));
    }

    #[test]
    fn without_settings_the_folder_and_the_one_above_are_the_library() {
        let file = "/other/recipes/d.withy";
        assert_eq!(of(&SHOP, "/", &[file], Purpose::Sources), Ok(found("/other", file)));
        assert_eq!(of(&SHOP, "/", &["/other"], Purpose::Sources), Ok(found("/other", file)));
        assert_eq!(of(&SHOP, "/other/typing", &[], Purpose::Sources), Ok(found("/other", "")));
        assert_eq!(of(&SHOP, "/other", &[], Purpose::Sources), Err(NotMeant::NoLibrary));
    }

    #[test]
    fn files_of_two_libraries_are_told_apart() {
        let given = ["/shop/parts/b.withy", "/other/recipes/d.withy"];
        assert!(matches!(of(&SHOP, "/", &given, Purpose::Sources), Err(NotMeant::TwoLibraries(..))));
    }
}
