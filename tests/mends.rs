//! `withy lint --apply` and `--diff`: what is mended, what is left alone, and what is never touched.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::binary::{folder_with, started, withy};

/// A harmless mistake, one whose mend changes a time, and one that has to be chosen.
const MISTAKES: &str = "## µ\r\nsheet thin {\r\n  material cast_acrylic\r\n  thicknes 2 mm\r\n  colour clear\r\n}\r\n";

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

/// A new library whose recipe gives its set time in metres: the mend changes a time.
fn with_control_edit() -> TempDir {
    let library = started();
    let path = library.path().join("recipes/tray.withy");
    let text = fs::read_to_string(&path).unwrap().replace("set computed", "set 3 m");
    fs::write(path, text).unwrap();
    library
}

#[test]
fn harmless_edits_are_made_at_once() {
    let folder = folder_with(&[("a.withy", MISTAKES.as_bytes())]);
    let run = withy(&["lint", "--apply", "a.withy"], folder.path());
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    assert!(run.err.contains("mended: a.withy (1 edit)"), "{}", run.err);
    assert_eq!(read(folder.path(), "a.withy"), MISTAKES.replace("thicknes ", "thickness "));
    // A second time there is nothing to do.
    let run = withy(&["lint", "--apply", "a.withy"], folder.path());
    assert_eq!((run.code, run.err.as_str()), (0, ""));
}

#[test]
fn edits_of_controls_are_made_by_name_only() {
    let library = with_control_edit();
    let before = read(library.path(), "recipes/tray.withy");
    let run = withy(&["lint", "--apply"], library.path());
    assert_eq!(run.code, 1, "{}", run.out);
    assert!(run.err.contains("--apply=RULE"), "{}", run.err);
    assert_eq!(read(library.path(), "recipes/tray.withy"), before);
    let run = withy(&["lint", "--apply=uncalibrated-heater"], library.path());
    assert_eq!(run.code, 1, "{}", run.out);
    assert_eq!(read(library.path(), "recipes/tray.withy"), before);
    let run = withy(&["lint", "--apply=wrong-kind"], library.path());
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    assert_eq!(read(library.path(), "recipes/tray.withy"), before.replace("set 3 m", "set 3 min"));
}

#[test]
fn a_dry_run_shows_and_writes_nothing() {
    let folder = folder_with(&[("a.withy", MISTAKES.as_bytes())]);
    for arguments in [&["lint", "--diff", "a.withy"][..], &["lint", "--apply", "--diff", "a.withy"]] {
        let run = withy(arguments, folder.path());
        assert_eq!(run.code, 1, "{}", run.err);
        assert_eq!(run.out.lines().filter(|line| line.starts_with(['-', '+'])).count(), 4, "{}", run.out);
        assert!(run.out.contains("-  thicknes 2 mm\r\n+  thickness 2 mm\r\n"), "{:?}", run.out);
        assert_eq!(read(folder.path(), "a.withy"), MISTAKES);
    }
}

/// The diff is one that another program can apply.
#[test]
fn git_applies_the_diff() {
    let folder = folder_with(&[("sub/a.withy", MISTAKES.replace("\r\n", "\n").as_bytes())]);
    let run = withy(&["lint", "--diff", "."], folder.path());
    fs::write(folder.path().join("change.diff"), &run.out).unwrap();
    let git = std::process::Command::new("git").args(["apply", "change.diff"]).current_dir(folder.path()).output();
    let git = git.unwrap();
    assert!(git.status.success(), "{}{}", run.out, String::from_utf8_lossy(&git.stderr));
    assert_eq!(withy(&["lint", "sub/a.withy"], folder.path()).code, 0);
}

#[test]
fn many_edits_in_many_files_are_made_together() {
    let sheet = |number: usize| MISTAKES.replace("thin", &format!("thin_{number}"));
    let twenty: String = (0..20).map(sheet).collect();
    let folder = folder_with(&[("a.withy", twenty.as_bytes()), ("b.withy", sheet(99).as_bytes())]);
    let run = withy(&["lint", "--apply", "."], folder.path());
    assert_eq!(run.code, 0, "{}{}", run.out, run.err);
    assert!(run.err.contains("mended: a.withy (20 edits)\nmended: b.withy (1 edit)\n"), "{}", run.err);
    assert_eq!(read(folder.path(), "a.withy"), twenty.replace("thicknes ", "thickness "));
}

#[test]
fn only_files_that_were_asked_for_are_touched() {
    let folder = folder_with(&[
        ("stock.withy", MISTAKES.as_bytes()),
        ("uses.withy", b"use \"stock.withy\"\nlot ours { sheet thin, measured [1.9 mm, 2 mm] }\n"),
    ]);
    let run = withy(&["lint", "--apply", "uses.withy"], folder.path());
    assert_eq!(run.code, 1, "{}", run.out);
    assert_eq!(read(folder.path(), "stock.withy"), MISTAKES);
}

#[test]
fn a_name_that_means_nothing_is_wrong_use() {
    let folder = folder_with(&[("a.withy", MISTAKES.as_bytes())]);
    let run = withy(&["lint", "--apply=missing-heat-tyme", "a.withy"], folder.path());
    assert_eq!(run.code, 2);
    assert!(run.err.contains("missing-heat-tyme"), "{}", run.err);
    assert_eq!(withy(&["lint", "--apply", "-"], folder.path()).code, 2);
}

/// Where an edit makes nothing better it is not made: here the right word stands there already.
#[test]
fn an_edit_that_helps_nothing_is_not_made() {
    let text = MISTAKES.replace("colour", "thickness 3 mm\r\n  colour");
    let folder = folder_with(&[("a.withy", text.as_bytes())]);
    let run = withy(&["lint", "--apply", "a.withy"], folder.path());
    assert_eq!(run.code, 1, "{}", run.out);
    assert_eq!(read(folder.path(), "a.withy"), text, "{}", run.err);
}

#[cfg(unix)]
#[test]
fn what_cannot_be_written_is_left_as_it_is() {
    use std::os::unix::fs::PermissionsExt;
    let folder = folder_with(&[("sub/a.withy", MISTAKES.as_bytes())]);
    let sub = folder.path().join("sub");
    fs::set_permissions(&sub, fs::Permissions::from_mode(0o555)).unwrap();
    let run = crate::odd::as_nobody(&["lint", "--apply", "."], folder.path());
    fs::set_permissions(&sub, fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(run.code, 3, "{}{}", run.out, run.err);
    assert_eq!(read(folder.path(), "sub/a.withy"), MISTAKES);
    assert_eq!(fs::read_dir(&sub).unwrap().count(), 1);
}
