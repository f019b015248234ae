//! From what stands on the command line to a loaded library.

use std::io::Read;
use std::path::{Path, PathBuf};

use crate::cli::exit::Exit;
use crate::library::{Disk, Io, Loaded, Places, load, plain};

/// The name under which standard input is reported.
const TYPED: &str = "standard input";

/// Reads everything that was named on the command line; what could not be read is told.
pub fn open(paths: &[PathBuf]) -> Result<(Loaded, Exit), Exit> {
    let Ok(here) = std::env::current_dir() else {
        eprintln!("withy: the current folder cannot be read");
        return Err(Exit::Unreadable);
    };
    let mut typed = None;
    let mut files = Vec::new();
    let mut exit = Exit::Clean;
    for path in paths {
        if path.as_os_str() == "-" {
            let mut text = String::new();
            if let Err(error) = std::io::stdin().read_to_string(&mut text) {
                eprintln!("withy: standard input cannot be read: {error}");
                return Err(Exit::Unreadable);
            }
            typed = Some((TYPED, text));
            continue;
        }
        let path = plain(&here.join(path));
        if Disk.is_folder(&path) {
            let found = Disk.recipe_files(&path);
            if found.is_empty() {
                eprintln!("withy: `{}` holds no recipe files (their names end in `.withy`)", path.display());
                exit = Exit::WrongUse;
            }
            files.extend(found);
        } else {
            files.push(path);
        }
    }
    files.dedup();
    let root = root(&here, paths, &files);
    // Names in reports are such that a person at this prompt, or a program, finds the files.
    let (loaded, unreadable) = load(&Disk, &Places { root, shown_from: here }, &files, typed);
    for file in unreadable {
        eprintln!("withy: `{}` cannot be read: {}", file.path, file.why);
        exit = Exit::Unreadable;
    }
    Ok((loaded, exit))
}

/// The library's root: the nearest folder with a `withy.toml`; without one, what holds the folders above all files
/// given and the folders given.
fn root(here: &Path, given: &[PathBuf], files: &[PathBuf]) -> PathBuf {
    let first = files.first().map_or(here, |file| file.as_path());
    if let Some(folder) = first.ancestors().skip(1).find(|folder| folder.join("withy.toml").is_file()) {
        return folder.to_owned();
    }
    let folders = given.iter().map(|path| plain(&here.join(path))).filter(|path| path.is_dir());
    let above = files.iter().filter_map(|file| {
        let folder = file.parent()?;
        Some(folder.parent().unwrap_or(folder).to_owned())
    });
    // A folder that was given is a library by itself, unless a file in it needs what stands above.
    let all: Vec<PathBuf> = folders.chain(above).collect();
    let Some(mut common) = all.first().cloned() else { return here.to_owned() };
    for path in &all {
        while !path.starts_with(&common) {
            if !common.pop() {
                break;
            }
        }
    }
    common
}
