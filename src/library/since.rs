//! Which files a change concerns: those that changed, and those that use them by whatever detour.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::library::load::{Loaded, plain};
use crate::library::settings::SETTINGS;

/// The files of a library that differ from a revision, as git sees it: changed, new, deleted. A sentence says why it
/// cannot be told.
pub fn changed_since(root: &Path, revision: &str) -> Result<BTreeSet<PathBuf>, String> {
    // An abbreviation, a branch or a tag becomes the name of a commit first, so that it is never taken for an option.
    let commit =
        git(root, &["rev-parse", "--verify", "--quiet", "--end-of-options", &format!("{revision}^{{commit}}")])
            .map_err(|why| match why {
                NoGit::Refused(_) => format!("git knows no revision `{revision}` in `{}`", root.display()),
                NoGit::Missing(why) => why,
            })?;
    let commit = String::from_utf8_lossy(&commit).trim().to_owned();
    let listed = [
        &["diff", "--name-only", "--relative", "--no-renames", "--no-ext-diff", "-z", &commit, "--"][..],
        &["ls-files", "--others", "--exclude-standard", "-z"],
    ];
    let mut changed = BTreeSet::new();
    for arguments in listed {
        let names = git(root, arguments).map_err(|why| match why {
            NoGit::Refused(why) | NoGit::Missing(why) => why,
        })?;
        let names = names.split(|byte| *byte == 0).filter(|name| !name.is_empty());
        changed.extend(names.map(|name| plain(&root.join(path(name)))));
    }
    Ok(changed)
}

enum NoGit {
    Missing(String),
    Refused(String),
}

/// A path as git writes it: any bytes where a system allows that in names.
fn path(bytes: &[u8]) -> PathBuf {
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStrExt;
        PathBuf::from(std::ffi::OsStr::from_bytes(bytes))
    }
    #[cfg(not(unix))]
    PathBuf::from(String::from_utf8_lossy(bytes).into_owned())
}

fn git(root: &Path, arguments: &[&str]) -> Result<Vec<u8>, NoGit> {
    let mut command = Command::new("git");
    // A hook is told by its surroundings which repository it stands in; here the library's folder tells.
    for variable in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"] {
        command.env_remove(variable);
    }
    let run = command.arg("-C").arg(root).args(arguments).output();
    let Output { status, stdout, stderr } =
        run.map_err(|error| NoGit::Missing(format!("git cannot be run: {error}")))?;
    if !status.success() {
        let why = String::from_utf8_lossy(&stderr);
        return Err(NoGit::Refused(format!("git cannot tell what changed: {}", why.trim())));
    }
    Ok(stdout)
}

/// Of the files asked for, those that changed or use, by whatever detour, one that changed. A change of the settings
/// concerns all.
pub fn concerned(loaded: &Loaded, changed: &BTreeSet<PathBuf>) -> Vec<PathBuf> {
    let asked = loaded.asked.iter().filter_map(|id| loaded.paths.get(id));
    if changed.contains(&loaded.root.join(SETTINGS)) {
        return asked.cloned().collect();
    }
    let mut users: BTreeMap<PathBuf, Vec<&PathBuf>> = BTreeMap::new();
    for (id, targets) in &loaded.uses {
        let Some(path) = loaded.paths.get(id) else { continue };
        for target in targets {
            // By its path, so that a file that is gone still concerns those that use it.
            users.entry(plain(&loaded.folder(*id).join(&target.line.path))).or_default().push(path);
        }
    }
    let mut concerned = changed.clone();
    let mut open: Vec<PathBuf> = changed.iter().cloned().collect();
    while let Some(path) = open.pop() {
        for user in users.get(&path).into_iter().flatten() {
            if concerned.insert((*user).clone()) {
                open.push((*user).clone());
            }
        }
    }
    asked.filter(|path| concerned.contains(*path)).cloned().collect()
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;

    use super::concerned;
    use crate::library::io::Memory;
    use crate::library::load::{Places, load};

    #[test]
    fn users_of_what_changed_are_concerned_too() {
        let files = [
            ("/shop/stock.withy", ""),
            ("/shop/bench.withy", "use \"stock.withy\"\n"),
            ("/shop/one.withy", "use \"./bench.withy\" as b\n"),
            ("/shop/two.withy", "use \"gone.withy\"\n"),
            ("/shop/three.withy", "use \"three.withy\"\n"),
        ];
        let io = Memory::new(files);
        let root = PathBuf::from("/shop");
        let places = Places { root: root.clone(), shown_from: root.clone() };
        let paths: Vec<PathBuf> = files.iter().map(|file| PathBuf::from(file.0)).collect();
        let (loaded, _) = load(&io, &places, &paths, None);
        let of = |changed: &[&str]| {
            let changed = changed.iter().map(|name| root.join(name)).collect();
            let found = concerned(&loaded, &changed);
            let names: Vec<String> =
                found.iter().filter_map(|path| path.file_stem()).map(|name| name.display().to_string()).collect();
            names.join(" ")
        };
        assert_eq!(of(&["stock.withy"]), "stock bench one");
        assert_eq!(of(&["one.withy"]), "one");
        assert_eq!(of(&["gone.withy"]), "two", "a file that was deleted");
        assert_eq!(of(&["three.withy", "notes.txt"]), "three");
        assert_eq!(of(&["withy.toml"]), "stock bench one two three");
        assert_eq!(of(&[]), "");
    }
}
