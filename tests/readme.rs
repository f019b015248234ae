//! The README is executed: its tour, block by block, in a new folder, and its two commands for a fresh clone.
//!
//! ` ```withy PATH ` and ` ```toml PATH ` are written to that file, ` ```sh ` is run (with the exit code that follows the word, 0 unless
//! given), ` ```text ` is what the commands before it print, where `…` stands for anything.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::root;

/// A fenced block: what follows the fence, and its lines.
struct Block {
    info: String,
    text: String,
    line: usize,
}

fn blocks(text: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut inside = false;
    for (number, line) in text.lines().enumerate() {
        match (line.strip_prefix("```"), inside) {
            (Some(info), false) => {
                blocks.push(Block { info: info.to_owned(), text: String::new(), line: number + 1 });
                inside = true;
            }
            (Some(_), true) => inside = false,
            (None, true) => {
                let block = blocks.last_mut().unwrap();
                block.text.push_str(line);
                block.text.push('\n');
            }
            (None, false) => {}
        }
    }
    assert!(!inside, "the last block is never closed");
    blocks
}

fn readme() -> String {
    std::fs::read_to_string(root().join("README.md")).unwrap()
}

/// Whether a text is the pattern with each `…` replaced by some text; the pieces between are found in order.
fn fits(pattern: &str, text: &str) -> bool {
    let mut pieces = pattern.split('…');
    let Some(mut rest) = pieces.next().and_then(|first| text.strip_prefix(first)) else { return false };
    let pieces: Vec<&str> = pieces.collect();
    let Some((last, middle)) = pieces.split_last() else { return rest.is_empty() };
    for piece in middle {
        match rest.find(piece) {
            Some(at) => rest = &rest[at + piece.len()..],
            None => return false,
        }
    }
    rest.ends_with(last)
}

/// Runs the blocks of a tour in a folder; what differs from what it says, by line.
fn walk(text: &str, folder: &Path) -> Vec<String> {
    let mut faults = Vec::new();
    let mut here: PathBuf = folder.to_owned();
    let mut printed = String::new();
    for block in blocks(text) {
        let mut words = block.info.split_whitespace();
        match (words.next().unwrap_or(""), words.next()) {
            ("withy" | "toml", Some(path)) => std::fs::write(here.join(path), &block.text).unwrap(),
            ("sh", code) => {
                let wanted: i32 = code.map_or(0, |code| code.parse().unwrap());
                // The last line tells in which folder the commands have ended.
                let script = format!("set -e\n{}", block.text);
                let program = Path::new(env!("CARGO_BIN_EXE_withy")).parent().unwrap();
                let path = std::env::join_paths(
                    std::iter::once(program.to_owned())
                        .chain(std::env::split_paths(&std::env::var_os("PATH").unwrap())),
                )
                .unwrap();
                let output =
                    Command::new("sh").args(["-c", &script]).current_dir(&here).env("PATH", path).output().unwrap();
                printed = String::from_utf8(output.stdout).unwrap();
                if output.status.code() != Some(wanted) {
                    let told = String::from_utf8_lossy(&output.stderr).into_owned();
                    faults.push(format!("line {}: ends with {}\n{printed}{told}", block.line, output.status));
                }
                for line in block.text.lines() {
                    if let Some(into) = line.strip_prefix("cd ") {
                        here.push(into);
                    }
                }
            }
            ("text", None) => {
                if !fits(block.text.trim_end(), printed.trim_end()) {
                    faults.push(format!("line {}: what is printed is\n{printed}", block.line));
                }
            }
            ("console", None) => {}
            (other, _) => faults.push(format!("line {}: a block of {other:?} is not executed", block.line)),
        }
    }
    faults
}

#[test]
fn the_tour_goes_as_it_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let text = readme();
    let kinds: Vec<String> = blocks(&text).into_iter().map(|block| block.info).collect();
    assert!(kinds.iter().filter(|info| info.starts_with("sh")).count() >= 5, "{kinds:?}");
    let faults = walk(&text, folder.path());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_wrong_tour_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let faults = |text: &str| walk(text, folder.path()).len();
    assert_eq!(faults("```sh\necho one two\n```\n```text\none …\n```\n"), 0);
    assert_eq!(faults("```sh\necho one two\n```\n```text\none\n```\n"), 1);
    assert_eq!(faults("```sh\necho one two\n```\n```text\n… one\n```\n"), 1);
    assert_eq!(faults("```sh\nexit 1\n```\n"), 1);
    assert_eq!(faults("```sh 1\nexit 1\n```\n"), 0);
    assert_eq!(faults("```sh 1\ntrue\n```\n"), 1);
    assert_eq!(faults("```python\nprint()\n```\n"), 1);
    assert_eq!(faults("```withy a.withy\nshete x { }\n```\n```sh\nwithy lint a.withy\n```\n"), 1);
}

/// The two commands for a fresh clone: the first is run with this build, the second is the file that runs this test.
#[test]
fn the_commands_for_a_fresh_clone_are_those_that_work() {
    let text = readme();
    let commands: Vec<String> =
        blocks(&text).into_iter().filter(|block| block.info == "console").map(|block| block.text).collect();
    assert_eq!(commands.len(), 3, "install, main job, tests");
    assert_eq!(commands[2].trim(), "tests/run");
    assert!(root().join("tests/run").is_file());
    let arguments = commands[1].trim().strip_prefix("cargo run --release -- ").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_withy"))
        .args(arguments.split(' '))
        .arg("--out")
        .arg(folder.path())
        .current_dir(root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
    assert!(folder.path().join("dust_cover/dust_cover_run/steps.csv").is_file());
}

#[test]
fn the_files_it_links_to_are_there() {
    let text = readme();
    let mut seen = 0;
    for link in text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
        if !link.starts_with('#') {
            assert!(root().join(link).exists(), "{link}");
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}
