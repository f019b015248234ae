//! A library of somebody else's making: whatever lies in it, it is reported file by file, and nothing crashes.

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

use tempfile::TempDir;

use crate::binary::{Run, SHEET, files_below, folder_with, started, withy};

/// The user and group that own nothing.
const NOBODY: u32 = 65534;

/// Runs the program as somebody whom file permissions concern, which they do not for root.
pub fn as_nobody(arguments: &[&str], folder: &Path) -> Run {
    let is_root = fs::metadata("/proc/self").is_ok_and(|facts| std::os::unix::fs::MetadataExt::uid(&facts) == 0);
    // Its own folder may be closed to others, the program's too.
    let place = tempfile::tempdir().unwrap();
    let program = place.path().join("withy");
    fs::copy(env!("CARGO_BIN_EXE_withy"), &program).unwrap();
    for path in [place.path(), folder, &program] {
        let mode = fs::metadata(path).unwrap().permissions().mode();
        fs::set_permissions(path, fs::Permissions::from_mode(mode | 0o755)).unwrap();
    }
    let mut command = Command::new(program);
    command.args(arguments).current_dir(folder).stdin(Stdio::null()).env("WITHY_CACHE", "off");
    if is_root {
        command.uid(NOBODY).gid(NOBODY);
    }
    let output = command.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

fn odd_library() -> TempDir {
    let deep = format!("{}deep.withy", "folder/".repeat(40));
    let crlf = SHEET.replace('\n', "\r\n").replace("  ", "\t");
    let folder = folder_with(&[
        ("plain.withy", SHEET.as_bytes()),
        ("crlf and blanks in its name.withy", format!("\u{feff}{crlf}").as_bytes()),
        (&deep, SHEET.replace("thickness", "thicknes").as_bytes()),
        ("binary.withy", &[0, 159, 146, 150, 0, 1, 2, 255]),
        ("zeros.withy", &[0; 4096]),
        ("aquarium/\u{539a}\u{677f}.withy", SHEET.replace("thickness", "thicknes").as_bytes()),
        ("\u{430}\u{43a}\u{440}\u{438}\u{43b}.withy", SHEET.as_bytes()),
        ("-leading.withy", SHEET.as_bytes()),
        ("locked.withy", SHEET.as_bytes()),
        ("closed/inside.withy", SHEET.as_bytes()),
        ("odd.withy", b"sheet   thin{material cast_acrylic,thickness 2 mm,\n\n\n\ncolour clear}"),
        ("notes.txt", b"not a recipe"),
        ("folder.withy/inner.withy", SHEET.as_bytes()),
    ]);
    let at = |name: &str| folder.path().join(name);
    symlink(".", at("round")).unwrap();
    symlink("..", at("aquarium/up")).unwrap();
    symlink("b.withy", at("a.withy")).unwrap();
    symlink("a.withy", at("b.withy")).unwrap();
    symlink("nowhere", at("dangling.withy")).unwrap();
    symlink("plain.withy", at("linked.withy")).unwrap();
    fs::set_permissions(at("locked.withy"), fs::Permissions::from_mode(0o000)).unwrap();
    fs::set_permissions(at("closed"), fs::Permissions::from_mode(0o000)).unwrap();
    folder
}

#[test]
fn everything_odd_is_reported_file_by_file() {
    let folder = odd_library();
    let run = as_nobody(&["lint", "--report", "short", "."], folder.path());
    fs::set_permissions(folder.path().join("closed"), fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(run.code, 3, "{}{}", run.out, run.err);
    let mut found: Vec<&str> = run.out.lines().map(|line| line.split(": ").next().unwrap()).collect();
    found.retain(|place| !place.starts_with("zeros"));
    let deep = format!("{}deep.withy:4:3", "folder/".repeat(40));
    assert_eq!(found, ["aquarium/\u{539a}\u{677f}.withy:4:3", &deep]);
    for (name, why) in [
        ("a.withy", "symbolic links"),
        ("b.withy", "symbolic links"),
        ("binary.withy", "UTF-8"),
        ("closed", "ermission denied"),
        ("dangling.withy", "no such file"),
        ("locked.withy", "ermission denied"),
    ] {
        let told = run.err.lines().filter(|line| line.contains(&format!("/{name}`"))).collect::<Vec<_>>();
        assert!(told.len() == 1 && told[0].contains(why), "{name}: {told:?} in\n{}", run.err);
    }
    assert!(!run.err.contains("round") && !run.err.contains("panic"), "{}", run.err);
    let zeros = run.out.lines().filter(|line| line.starts_with("zeros")).count();
    assert!((1..=3).contains(&zeros), "a file of zeros has {zeros} findings");
}

#[test]
fn reports_for_programs_stay_whole_whatever_is_read() {
    let folder = odd_library();
    for kind in ["json", "sarif"] {
        let run = as_nobody(&["lint", "--report", kind, "."], folder.path());
        let report: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        assert!(report.is_object(), "{kind}");
    }
    let run = as_nobody(&["lint", "--report", "junit", "."], folder.path());
    fs::set_permissions(folder.path().join("closed"), fs::Permissions::from_mode(0o755)).unwrap();
    assert!(quick_junit::Report::deserialize_from_str(&run.out).is_ok(), "{}", run.out);
}

#[test]
fn every_command_survives_it() {
    let folder = odd_library();
    for arguments in [
        &["compile", "."][..],
        &["format", "--check", "."],
        &["figures", "binary.withy", "x"],
        &["compare", "plain.withy", "zeros.withy"],
        &["lint", "--apply", "--diff", "."],
        &["lint", "--", "-leading.withy"],
    ] {
        let run = as_nobody(arguments, folder.path());
        assert!((0..=3).contains(&run.code), "{arguments:?}: {}", run.err);
    }
    fs::set_permissions(folder.path().join("closed"), fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_name_that_is_no_text_is_read() {
    use std::os::unix::ffi::OsStrExt;
    let folder = folder_with(&[("plain.withy", SHEET.as_bytes())]);
    let name = std::ffi::OsStr::from_bytes(b"latin-\xb5.withy");
    if fs::write(folder.path().join(name), SHEET.replace("thickness", "thicknes")).is_err() {
        // A file system of UTF-8 names cannot hold such a file, so that nothing can go wrong with one.
        return;
    }
    let run = withy(&["lint", "--report", "short", "."], folder.path());
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(run.out.starts_with("latin-"), "{}", run.out);
}

#[test]
fn a_dash_is_no_folder() {
    let library = started();
    let run = withy(&["compile", "--out", "-", "recipes/tray.withy"], library.path());
    assert!(run.code == 2 && run.err.contains("`./-`"), "{}", run.err);
    let run = withy(&["start", "-"], library.path());
    assert!(run.code == 2 && run.err.contains("`./-`"), "{}", run.err);
    assert!(files_below(library.path()).iter().all(|name| !name.starts_with('-')));
}

#[test]
fn nothing_to_be_made_is_wrong_use() {
    let library = started();
    for arguments in [
        &["compile", "parts/tray.withy"][..],
        &["compile", "stock"],
        &["compare", "parts/tray.withy", "parts/tray.withy"],
        &["compare", "stock/acrylic.withy", "bench/first.withy"],
    ] {
        let run = withy(arguments, library.path());
        assert_eq!(run.code, 2, "{arguments:?}: {}", run.out);
        assert!(run.err.contains("there is nothing to"), "{arguments:?}: {}", run.err);
    }
    assert!(!library.path().join("out").exists());
}

/// All files of a recipe are of one version, whatever happens while they are written.
#[test]
fn outputs_are_replaced_as_a_set() {
    let library = started();
    let out = library.path().join("out/tray/tray_run");
    let compile = || withy(&["compile", "recipes/tray.withy"], library.path());
    assert_eq!(compile().code, 0);
    fs::write(out.join("notes.txt"), "mine").unwrap();
    fs::write(out.join("curve-gone.svg"), "of a bend that is no more").unwrap();
    let old = fs::read_to_string(out.join("steps.json")).unwrap();
    let part = library.path().join("parts/tray.withy");
    let text = fs::read_to_string(&part).unwrap();
    fs::write(&part, text.replace("120 mm", "130 mm")).unwrap();
    assert_eq!(compile().code, 0);
    assert_ne!(fs::read_to_string(out.join("steps.json")).unwrap(), old);
    let names = files_below(&out);
    assert!(names.contains(&"notes.txt".to_owned()) && !names.contains(&"curve-gone.svg".to_owned()), "{names:?}");
    // One file cannot be written: none is.
    fs::remove_file(out.join("steps.csv")).unwrap();
    fs::create_dir(out.join("steps.csv")).unwrap();
    let before = fs::read_to_string(out.join("steps.json")).unwrap();
    fs::write(&part, text).unwrap();
    assert_eq!(compile().code, 3);
    assert_eq!(fs::read_to_string(out.join("steps.json")).unwrap(), before);
    assert!(files_below(&library.path().join("out")).iter().all(|name| !name.contains(".withy-")));
}
