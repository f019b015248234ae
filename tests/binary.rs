//! The program itself, as a shell sees it: exit codes, help, reports, odd files, and what it leaves on disk.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::common::root;

/// What came of a run.
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

pub fn withy(arguments: &[&str], folder: &Path) -> Run {
    typed(arguments, folder, b"")
}

pub fn typed(arguments: &[&str], folder: &Path, input: &[u8]) -> Run {
    let mut child = Command::new(env!("CARGO_BIN_EXE_withy"))
        .args(arguments)
        .current_dir(folder)
        // Colour is asked for in every other way that is common; it must still not be there.
        .env_remove("NO_COLOR")
        .env("WITHY_CACHE", concat!(env!("CARGO_TARGET_TMPDIR"), "/cache"))
        .envs([("CLICOLOR_FORCE", "1"), ("FORCE_COLOR", "1"), ("TERM", "xterm-256color")])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that does not read its input may be gone by now.
    let _ = child.stdin.take().unwrap().write_all(input);
    let output = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

pub const SHEET: &str =
    "## Measured µm by µm.\nsheet thin {\n  material cast_acrylic\n  thickness 2 mm\n  colour clear\n}\n";

pub fn folder_with(files: &[(&str, &[u8])]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    folder
}

/// A new library, as `start` sets it up.
pub fn started() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(withy(&["start"], folder.path()).code, 0);
    folder
}

#[test]
fn each_ending_has_its_exit_code() {
    let folder = folder_with(&[
        ("good.withy", SHEET.as_bytes()),
        ("bad.withy", b"sheet thin {\n  thicknes 2 mm\n}\n"),
        ("empty/notes.txt", b"no recipe"),
    ]);
    let code = |arguments: &[&str]| withy(arguments, folder.path()).code;
    assert_eq!(code(&["lint", "good.withy"]), 0);
    assert_eq!(code(&["--help"]), 0);
    assert_eq!(code(&["--version"]), 0);
    assert_eq!(code(&["lint", "bad.withy"]), 1);
    assert_eq!(code(&["compile", "bad.withy"]), 1);
    assert_eq!(code(&[]), 2);
    assert_eq!(code(&["lint"]), 2);
    assert_eq!(code(&["bend"]), 2);
    assert_eq!(code(&["lint", "--fail-on", "everything", "good.withy"]), 2);
    assert_eq!(code(&["lint", "--today", "tomorrow", "good.withy"]), 2);
    assert_eq!(code(&["lint", "empty"]), 2);
    assert_eq!(code(&["lint", "nowhere.withy"]), 3);
    // The worst ending counts: what could be read has findings, but something could not be read.
    assert_eq!(code(&["lint", "bad.withy", "nowhere.withy"]), 3);
}

#[test]
fn messages_of_wrong_use_name_what_was_wrong() {
    let folder = folder_with(&[("good.withy", SHEET.as_bytes()), ("empty/notes.txt", b"no recipe")]);
    let err = |arguments: &[&str]| withy(arguments, folder.path()).err;
    assert!(err(&["lint", "empty"]).contains("holds no recipe files"));
    assert!(err(&["lint", "nowhere.withy"]).contains("nowhere.withy"));
    assert!(err(&["lint", "--fail-on", "everything", "good.withy"]).contains("danger, warning, caution, notice, hint"));
    assert!(err(&["lint", "--today", "tomorrow", "good.withy"]).contains("2027-06-30"));
}

#[test]
fn a_class_of_findings_can_be_made_to_fail() {
    let folder = folder_with(&[("doc.withy", format!("{SHEET}\n## Above nothing.\n").as_bytes())]);
    assert_eq!(withy(&["lint", "doc.withy"], folder.path()).code, 0);
    assert_eq!(withy(&["lint", "--fail-on", "hint", "doc.withy"], folder.path()).code, 1);
}

#[test]
fn help_is_what_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let main = withy(&["--help"], folder.path());
    assert_eq!((main.code, main.err.as_str()), (0, ""));
    let commands = main.out.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let commands: Vec<&str> = commands.filter_map(|line| line.split_whitespace().next()).collect();
    let mut all = format!("$ withy --help\n{}", main.out);
    for command in commands.iter().filter(|command| **command != "help") {
        let help = withy(&[command, "--help"], folder.path());
        assert_eq!((help.code, help.err.as_str()), (0, ""), "{command}");
        let _ = write!(all, "\n$ withy {command} --help\n{}", help.out);
    }
    assert!(commands.len() >= 8, "{commands:?}");
    insta::assert_snapshot!("help", all);
}

#[test]
fn a_text_can_be_typed() {
    let library = started();
    let recipe = std::fs::read_to_string(library.path().join("recipes/tray.withy")).unwrap();
    // What is typed uses files from the folder it is typed in.
    let run = typed(&["lint", "--report", "short", "-"], &library.path().join("recipes"), recipe.as_bytes());
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    let recipe = recipe.replace("../", "");
    let run = typed(&["lint", "--report", "short", "-"], library.path(), recipe.as_bytes());
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    let run = typed(&["lint", "-"], library.path(), b"sheet thin {\n  thicknes 2 \xc2\xb5m\n}\n");
    assert_eq!(run.code, 1);
    assert!(run.out.contains("standard input:2:3"), "{}", run.out);
    let run = typed(&["lint", "-"], library.path(), b"sheet \xff");
    assert_eq!(run.code, 3);
    assert!(run.err.contains("standard input"), "{}", run.err);
}

#[test]
fn nothing_is_coloured_but_a_terminal() {
    let folder = folder_with(&[("bad.withy", b"sheet thin {\n  thicknes 2 mm\n}\n")]);
    for report in ["text", "short", "json", "sarif", "junit"] {
        let run = withy(&["lint", "--report", report, "bad.withy"], folder.path());
        assert!(!run.out.contains('\x1b') && !run.err.contains('\x1b'), "{report}: {:?}", run.out);
    }
    for arguments in [&["lint", "--colour"][..], &["--help"], &["lint", "--help"], &["lint"]] {
        let run = withy(arguments, folder.path());
        assert!(!run.out.contains('\x1b') && !run.err.contains('\x1b'), "{arguments:?}: {:?}", run.err);
    }
}

/// `script` gives the program a terminal of its own.
#[cfg(target_os = "linux")]
#[test]
fn a_terminal_is_coloured_unless_it_is_asked_not_to_be() {
    let folder = folder_with(&[("bad.withy", b"sheet thin {\n  thicknes 2 mm\n}\n")]);
    let in_terminal = |no_colour: Option<&str>| {
        let command = format!("{} lint bad.withy", env!("CARGO_BIN_EXE_withy"));
        let mut script = Command::new("script");
        script.args(["-qec", &command, "/dev/null"]).current_dir(folder.path()).env("TERM", "xterm-256color");
        script.env_remove("NO_COLOR").stdin(Stdio::null());
        script.envs(no_colour.map(|value| ("NO_COLOR", value)));
        String::from_utf8(script.output().unwrap().stdout).unwrap()
    };
    let coloured = in_terminal(None);
    assert!(coloured.contains('\x1b'), "{coloured:?}");
    let plain = in_terminal(Some("1"));
    assert!(plain.contains("unknown-entry") && !plain.contains('\x1b'), "{plain:?}");
    // Colour only repeats what the words say.
    let without_escapes = coloured.split('\x1b').map(|piece| piece.split_once('m').map_or(piece, |piece| piece.1));
    let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let first = coloured.split('\x1b').next().unwrap();
    let rest: String = without_escapes.skip(1).collect();
    assert_eq!(words(&format!("{first}{rest}")), words(&plain));
}

#[test]
fn reports_for_programs_can_be_read_by_programs() {
    let folder = folder_with(&[("bad.withy", b"sheet thin {\n  thicknes 2 \xc2\xb5m\n}\n")]);
    let report = |kind: &str| withy(&["lint", "--report", kind, "bad.withy"], folder.path());
    let json: Value = serde_json::from_str(&report("json").out).unwrap();
    let schema: Value = serde_json::from_str(include_str!("../grammar/findings.schema.json")).unwrap();
    assert!(jsonschema::draft202012::new(&schema).unwrap().is_valid(&json));
    assert_eq!(json["counts"]["error"], json["findings"].as_array().unwrap().len());
    let sarif: Value = serde_json::from_str(&report("sarif").out).unwrap();
    assert_eq!(sarif["version"], "2.1.0");
    assert!(!sarif["runs"][0]["results"].as_array().unwrap().is_empty());
    let junit = report("junit").out;
    assert!(junit.starts_with("<?xml") && junit.contains("bad.withy"), "{junit}");
    let short = report("short").out;
    assert!(short.lines().all(|line| line.starts_with("bad.withy:")), "{short}");
    for kind in ["json", "sarif", "junit", "short", "text"] {
        assert_eq!(report(kind).code, 1, "{kind}");
        assert_eq!(report(kind).err, "", "{kind}");
    }
}

#[test]
fn odd_files_give_messages() {
    let folder = folder_with(&[
        ("latin.withy", b"# 3 mm \xb1 5 %\n"),
        ("empty.withy", b""),
        ("folder.withy/inner.txt", b""),
        ("uses.withy", b"use \"folder.withy\"\n"),
        ("uses_latin.withy", b"use \"latin.withy\"\n"),
    ]);
    let run = withy(&["lint", "latin.withy"], folder.path());
    assert_eq!(run.code, 3);
    assert!(run.err.contains("UTF-8") && run.err.contains("byte 7"), "{}", run.err);
    assert_eq!(withy(&["lint", "empty.withy"], folder.path()).code, 0);
    let run = withy(&["compile", "empty.withy"], folder.path());
    assert!(run.code == 2 && run.err.contains("no recipe or batch"), "{}", run.err);
    let run = withy(&["lint", "uses.withy"], folder.path());
    assert!(run.code == 1 && run.out.contains("unreadable-use"), "{}", run.out);
    let run = withy(&["lint", "uses_latin.withy"], folder.path());
    assert!(run.code == 1 && run.out.contains("UTF-8"), "{}", run.out);
}

/// Line ends, byte order marks and tabs change nothing but themselves.
#[test]
fn texts_of_other_systems_mean_the_same() {
    let plain = SHEET.replace("thickness", "thicknes");
    let changed: [(&str, String); 4] = [
        ("CR LF", plain.replace('\n', "\r\n")),
        ("a byte order mark", format!("\u{feff}{plain}")),
        ("tabs", plain.replace("  ", "\t")),
        ("all of them", format!("\u{feff}{}", plain.replace('\n', "\r\n").replace("  ", "\t"))),
    ];
    let found = |text: &str| {
        let folder = folder_with(&[("a.withy", text.as_bytes())]);
        let run = withy(&["lint", "--report", "short", "a.withy"], folder.path());
        // A tab is one column, two blanks are two.
        run.out.replace(":4:2:", ":4:3:")
    };
    assert!(found(&plain).contains("a.withy:4:3: error unknown-entry"), "{}", found(&plain));
    for (what, text) in changed {
        assert_eq!(found(&text), found(&plain), "{what}");
    }
    let library = started();
    let compiled = |change: &dyn Fn(&str) -> String| {
        for name in ["stock/acrylic.withy", "bench/first.withy", "parts/tray.withy", "recipes/tray.withy"] {
            let path = library.path().join(name);
            let text = std::fs::read_to_string(&path).unwrap();
            std::fs::write(&path, change(&text)).unwrap();
        }
        let run = withy(&["compile", "recipes/tray.withy"], library.path());
        assert_eq!(run.code, 0, "{}", run.out);
        std::fs::read(library.path().join("out/tray/tray_run/steps.csv")).unwrap()
    };
    let before = compiled(&str::to_owned);
    assert_eq!(compiled(&|text| format!("\u{feff}{}", text.replace('\n', "\r\n"))), before);
}

#[test]
fn ten_megabytes_are_read() {
    let mut text = String::with_capacity(10_500_000);
    let mut number = 0;
    while text.len() < 10_000_000 {
        number += 1;
        let _ = write!(
            text,
            "# {number}: a long comment, so that the file is long and its declarations are not too many. °µΩ {}\nlet x{number} = {number} mm\n",
            "-".repeat(400)
        );
    }
    text.push_str("let last = 3 mm + 2 deg\n");
    let folder = folder_with(&[("long.withy", text.as_bytes())]);
    let run = withy(&["lint", "--report", "short", "long.withy"], folder.path());
    assert_eq!(run.code, 1, "{}", run.err);
    assert_eq!(run.out.lines().count(), 1, "{}", run.out);
    assert!(run.out.starts_with(&format!("long.withy:{}:", 2 * number + 1)), "{}", run.out);
}

#[test]
fn a_new_library_compiles_and_checks_clean() {
    let folder = tempfile::tempdir().unwrap();
    let run = withy(&["start", "workshop"], folder.path());
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let library = folder.path().join("workshop");
    assert!(run.out.contains("withy compile recipes/tray.withy"), "{}", run.out);
    let run = withy(&["compile", "recipes/tray.withy"], &library);
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    for name in ["steps.csv", "steps.json"] {
        assert!(library.join("out/tray/tray_run").join(name).is_file(), "{name}");
    }
    let run = withy(&["lint", "--fail-on", "caution", "."], &library);
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    let run = withy(&["format", "--check", "."], &library);
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{}", run.out);
    // The check for CI finds the program on the path.
    let program = Path::new(env!("CARGO_BIN_EXE_withy")).parent().unwrap().to_str().unwrap();
    let path = format!("{program}:{}", std::env::var("PATH").unwrap());
    let status = Command::new(library.join("check")).current_dir(folder.path()).env("PATH", path).output().unwrap();
    assert!(status.status.success(), "{status:?}");
}

#[test]
fn start_touches_nothing_that_is_there() {
    let folder = folder_with(&[("parts/tray.withy", b"# mine\n")]);
    let run = withy(&["start", "."], folder.path());
    assert_eq!(run.code, 2);
    assert!(run.err.contains("parts/tray.withy"), "{}", run.err);
    assert_eq!(std::fs::read(folder.path().join("parts/tray.withy")).unwrap(), b"# mine\n");
    assert_eq!(files_below(folder.path()), ["parts/tray.withy"]);
}

#[test]
fn nothing_is_written_for_a_recipe_with_an_error() {
    let library = started();
    let recipe = std::fs::read_to_string(library.path().join("recipes/tray.withy")).unwrap();
    std::fs::write(library.path().join("recipes/bad.withy"), recipe.replace("computed", "2 m")).unwrap();
    let run = withy(&["compile", "recipes/bad.withy"], library.path());
    assert_eq!(run.code, 1);
    assert!(!library.path().join("out").exists(), "{}", run.out);
    // What is good is still written.
    let run = withy(&["compile", "recipes"], library.path());
    assert_eq!(run.code, 1);
    assert!(library.path().join("out/tray/tray_run/steps.csv").is_file(), "{}", run.out);
    assert!(!library.path().join("out/bad").exists(), "{}", run.out);
}

#[test]
fn what_cannot_be_written_leaves_nothing_half_written() {
    let library = started();
    // A folder stands where a file should go.
    let folder = library.path().join("out/tray/tray_run");
    std::fs::create_dir_all(folder.join("steps.csv/in_the_way")).unwrap();
    let run = withy(&["compile", "recipes/tray.withy"], library.path());
    assert_eq!(run.code, 3, "{}", run.out);
    assert!(run.err.contains("steps.csv"), "{}", run.err);
    let left: Vec<String> = files_below(&folder);
    assert!(left.iter().all(|name| !name.contains("tmp")), "{left:?}");
    // The folder to write to is a file.
    let run = withy(&["compile", "--out", "recipes/tray.withy", "recipes/tray.withy"], library.path());
    assert_eq!(run.code, 3, "{}", run.out);
}

/// Whoever reads a file while it is written anew sees all of the old content or all of the new.
#[cfg(unix)]
#[test]
fn outputs_are_replaced_at_once() {
    use std::io::Read;
    use std::os::unix::fs::MetadataExt;
    let library = started();
    let compile = || assert_eq!(withy(&["compile", "recipes/tray.withy"], library.path()).code, 0);
    compile();
    let path = library.path().join("out/tray/tray_run/steps.csv");
    let old = std::fs::read_to_string(&path).unwrap();
    let number = std::fs::metadata(&path).unwrap().ino();
    let mut open = std::fs::File::open(&path).unwrap();
    let part = library.path().join("parts/tray.withy");
    let text = std::fs::read_to_string(&part).unwrap();
    std::fs::write(&part, text.replace("120 mm", "130 mm")).unwrap();
    compile();
    assert_ne!(std::fs::metadata(&path).unwrap().ino(), number, "the old file was written over");
    let mut still = String::new();
    open.read_to_string(&mut still).unwrap();
    assert_eq!(still, old);
    assert_ne!(std::fs::read_to_string(&path).unwrap(), old);
    assert!(files_below(&library.path().join("out")).iter().all(|name| !name.contains("tmp")));
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let script = format!("'{}' lint examples/wrong | head -n 1", env!("CARGO_BIN_EXE_withy"));
    let output = Command::new("sh").args(["-c", &script]).current_dir(root()).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

/// The files below a folder, by their paths from it.
pub fn files_below(folder: &Path) -> Vec<String> {
    let files = ignore::WalkBuilder::new(folder).standard_filters(false).build().map(Result::unwrap);
    let mut names: Vec<String> = files
        .filter(|entry| entry.file_type().is_some_and(|kind| kind.is_file()))
        .map(|entry| entry.path().strip_prefix(folder).unwrap().display().to_string())
        .collect();
    names.sort();
    names
}
