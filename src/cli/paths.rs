//! From what stands on the command line to a loaded library.

use std::io::Read;
use std::path::PathBuf;

use crate::cli::exit::Exit;
use crate::library::{Disk, Loaded, Meant, NotMeant, Places, Purpose, SETTINGS, load, meant, plain};

/// The name under which standard input is reported.
const TYPED: &str = "standard input";

/// What was opened.
pub struct Opened {
    /// The files, and what they use.
    pub loaded: Loaded,
    /// How the command ends so far.
    pub exit: Exit,
    /// Where the library lies.
    pub places: Places,
    /// The files that were asked for.
    pub files: Vec<PathBuf>,
    /// Whether that is the whole library.
    pub whole: bool,
    /// Whether a text was typed.
    pub typed: bool,
}

/// The files that are meant by what stands on the command line; what cannot be looked into is told.
pub fn find(paths: &[PathBuf], purpose: Purpose) -> Result<(Meant, Places, Exit), Exit> {
    let Ok(here) = std::env::current_dir() else {
        eprintln!("withy: the current folder cannot be read");
        return Err(Exit::Unreadable);
    };
    let typed = paths.iter().any(|path| path.as_os_str() == "-");
    let given: Vec<PathBuf> =
        paths.iter().filter(|path| path.as_os_str() != "-").map(|path| plain(&here.join(path))).collect();
    let meant = meant(&Disk, &here, &given, typed, purpose).map_err(|problem| {
        match problem {
            NotMeant::NoLibrary => eprintln!(
                "withy: name files or folders (`.` is this folder), or make a `{SETTINGS}` in the root folder of your library"
            ),
            NotMeant::TwoLibraries(one, other) => eprintln!(
                "withy: the files belong to different libraries, `{}` and `{}`: name those of one at a time",
                one.display(),
                other.display()
            ),
        }
        Exit::WrongUse
    })?;
    let mut exit = Exit::Clean;
    for folder in &meant.empty {
        eprintln!("withy: `{}` holds no recipe files (their names end in `.withy`)", folder.display());
        exit = Exit::WrongUse;
    }
    for folder in &meant.unreadable {
        eprintln!("withy: `{}` cannot be read: {}", folder.path, folder.why);
        exit = Exit::Unreadable;
    }
    // Names in reports are such that a person at this prompt, or a program, finds the files.
    let places = Places { root: meant.root.clone(), shown_from: here };
    Ok((meant, places, exit))
}

/// Reads everything that is meant by what stands on the command line; what could not be read is told.
pub fn open(paths: &[PathBuf], purpose: Purpose) -> Result<Opened, Exit> {
    let (meant, places, mut exit) = find(paths, purpose)?;
    let mut typed = None;
    if paths.iter().any(|path| path.as_os_str() == "-") {
        let mut text = String::new();
        if let Err(error) = std::io::stdin().read_to_string(&mut text) {
            eprintln!("withy: standard input cannot be read: {error}");
            return Err(Exit::Unreadable);
        }
        typed = Some((TYPED, text));
    }
    let is_typed = typed.is_some();
    let (loaded, unreadable) = load(&Disk, &places, &meant.files, typed);
    for file in unreadable {
        eprintln!("withy: `{}` cannot be read: {}", file.path, file.why);
        exit = Exit::Unreadable;
    }
    Ok(Opened { loaded, exit, places, files: meant.files, whole: meant.whole, typed: is_typed })
}
