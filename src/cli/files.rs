//! Files and folders that are replaced at once: whoever reads them sees the old content or the new, never a mixture.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

/// Replaces a file at once. A file that is there keeps its permissions, and a link stays one.
pub fn replace(path: &Path, text: &str) -> Result<(), String> {
    write_file(path, text.as_bytes()).map_err(|error| told(path, &error))
}

fn told(path: &Path, error: &io::Error) -> String {
    format!("`{}` cannot be written: {error}", path.display())
}

fn write_file(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // Through links, so that the file behind one is replaced and not the link.
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or_else(|| Path::new("."));
    fs::create_dir_all(folder)?;
    let old = fs::metadata(&path).ok().map(|facts| facts.permissions());
    let mut file = ordinary().tempfile_in(folder)?;
    file.write_all(bytes)?;
    if let Some(old) = old {
        file.as_file().set_permissions(old)?;
    }
    file.persist(&path)?;
    Ok(())
}

/// Files as any other program makes them, subject to the user's mask, instead of private ones.
fn ordinary() -> tempfile::Builder<'static, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".withy-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder
}

/// Replaces what a folder holds of `files`, all of it or nothing. Files of names that `is_ours` knows and that are no
/// longer written go; whatever else somebody has put there stays.
pub fn replace_folder(
    folder: &Path,
    files: &[(String, Vec<u8>)],
    is_ours: impl Fn(&str) -> bool,
) -> Result<(), String> {
    let told = |error: io::Error| told(folder, &error);
    // A link to a folder is followed, so that it stays one.
    let folder = &fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    for (name, _) in files {
        let path = folder.join(name);
        if path.is_dir() {
            return Err(format!("`{}` cannot be written: a folder stands there", path.display()));
        }
    }
    let above = folder.parent().unwrap_or_else(|| Path::new("."));
    fs::create_dir_all(above).map_err(told)?;
    if folder.exists() && !folder.is_dir() {
        return Err(format!("`{}` cannot be written: it is no folder", folder.display()));
    }
    let new = sibling(above).map_err(told)?;
    for (name, bytes) in files {
        write_file(&new.path().join(name), bytes).map_err(told)?;
    }
    if !folder.exists() {
        // From here on it is no temporary folder any more.
        let made = new.keep();
        return fs::rename(&made, folder).map_err(|error| {
            drop(fs::remove_dir_all(&made));
            told(error)
        });
    }
    exchange(new.path(), folder).map_err(told)?;
    let written: BTreeSet<&str> = files.iter().map(|file| file.0.as_str()).collect();
    bring_over(new.path(), folder, |name| written.contains(name) || is_ours(name)).map_err(told)
}

/// An empty folder beside another one, with the permissions of any other.
fn sibling(above: &Path) -> io::Result<TempDir> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".withy-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o777));
    }
    builder.tempdir_in(above)
}

/// Lets two folders change places.
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        if renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE).is_ok() {
            return Ok(());
        }
    }
    // Where the system cannot do it in one step, for an instant there is none of them.
    let aside: PathBuf = new.with_extension("old");
    fs::rename(old, &aside)?;
    match fs::rename(new, old) {
        Ok(()) => fs::rename(&aside, new),
        Err(error) => {
            fs::rename(&aside, old)?;
            Err(error)
        }
    }
}

/// Moves what is not ours from the old folder into the new one.
fn bring_over(old: &Path, new: &Path, is_ours: impl Fn(&str) -> bool) -> io::Result<()> {
    for entry in fs::read_dir(old)? {
        let entry = entry?;
        let name = entry.file_name();
        if !name.to_str().is_some_and(&is_ours) {
            fs::rename(entry.path(), new.join(name))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::Path;

    use super::{exchange, replace, replace_folder};

    fn files(names: &[(&str, &str)]) -> Vec<(String, Vec<u8>)> {
        names.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect()
    }

    fn listed(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .map(|entries| entries.flatten().map(|entry| entry.file_name().display().to_string()).collect())
            .unwrap_or_default();
        names.sort();
        names
    }

    #[test]
    fn a_set_is_replaced_and_what_is_not_ours_stays() -> std::io::Result<()> {
        let place = tempfile::tempdir()?;
        let folder = place.path().join("out/tray");
        let is_ours = |name: &str| name.starts_with("curve-");
        assert_eq!(replace_folder(&folder, &files(&[("steps.csv", "1"), ("curve-lip.svg", "1")]), is_ours), Ok(()));
        fs::write(folder.join("notes.txt"), "mine")?;
        fs::create_dir(folder.join("photos"))?;
        assert_eq!(replace_folder(&folder, &files(&[("steps.csv", "2"), ("curve-front.svg", "2")]), is_ours), Ok(()));
        assert_eq!(listed(&folder), ["curve-front.svg", "notes.txt", "photos", "steps.csv"]);
        assert_eq!(fs::read_to_string(folder.join("steps.csv"))?, "2");
        assert_eq!(listed(&place.path().join("out")), ["tray"], "nothing temporary is left");
        Ok(())
    }

    #[test]
    fn where_one_file_cannot_be_written_none_is() -> std::io::Result<()> {
        let place = tempfile::tempdir()?;
        let folder = place.path().join("tray");
        fs::create_dir_all(folder.join("b.csv"))?;
        fs::write(folder.join("a.csv"), "old")?;
        let told = replace_folder(&folder, &files(&[("a.csv", "new"), ("b.csv", "new")]), |_| true);
        assert!(told.is_err_and(|why| why.contains("b.csv")));
        let told = replace_folder(&folder, &files(&[("a.csv", "new"), ("no/such/../../../x\0", "new")]), |_| true);
        assert!(told.is_err());
        assert_eq!(fs::read_to_string(folder.join("a.csv"))?, "old");
        assert_eq!(listed(place.path()), ["tray"]);
        Ok(())
    }

    #[cfg(unix)]
    #[test]
    fn a_file_keeps_its_permissions_and_a_link_stays_one() -> std::io::Result<()> {
        use std::os::unix::fs::PermissionsExt;
        let place = tempfile::tempdir()?;
        let (file, link) = (place.path().join("a"), place.path().join("b"));
        fs::write(&file, "old")?;
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640))?;
        std::os::unix::fs::symlink(&file, &link)?;
        assert_eq!(replace(&link, "new"), Ok(()));
        assert_eq!(fs::read_to_string(&file)?, "new");
        assert!(fs::symlink_metadata(&link)?.is_symlink());
        assert_eq!(fs::metadata(&file)?.permissions().mode() & 0o777, 0o640);
        Ok(())
    }

    #[test]
    fn folders_change_places() -> std::io::Result<()> {
        let place = tempfile::tempdir()?;
        let (one, two) = (place.path().join("one"), place.path().join("two"));
        for folder in [&one, &two] {
            fs::create_dir(folder)?;
        }
        fs::write(one.join("a"), "")?;
        exchange(&one, &two)?;
        assert_eq!((listed(&one), listed(&two)), (vec![], vec!["a".to_owned()]));
        Ok(())
    }
}
