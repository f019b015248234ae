//! The extension for VS Code, as far as it goes without the editor: its client against the server, and its package. The
//! editor itself is tried by `tests/editors/browser`.

use std::process::Command;

use crate::home::{Home, shown, steps};
use crate::{at, program};

/// Does checks of `client.js`; all of them must come out.
fn client(checks: &[&str]) {
    let home = Home::with(&[]);
    let mut node = home.command(&program("WITHY_NODE", "node"));
    node.arg(at("tests/editors/client.js")).arg(env!("CARGO_BIN_EXE_withy")).arg(&home.library);
    node.env("NODE_PATH", at("editors/vscode/node_modules")).env("CHECKS", checks.join(" "));
    let output = node.output().expect("Node is missing: `tests/run` installs it");
    let said = String::from_utf8_lossy(&output.stdout);
    let done = checks.iter().all(|check| said.contains(&format!("ok {check}\n")));
    assert!(output.status.success() && done, "{}", shown(&output));
}

#[test]
fn the_commands_of_the_extension_run_the_program() {
    client(&[
        "the_step_table_is_the_programs_own",
        "findings_stand_where_no_table_can_be",
        "each_bend_has_its_curve",
        "compiling_writes_to_the_folder_that_is_set",
        "a_program_that_is_not_there_is_told_in_words",
    ]);
}

#[test]
fn the_client_of_the_extension_gets_on_with_the_server() {
    client(&[
        "findings_follow_the_text",
        "hover_formatting_and_symbols_answer",
        "only_hints_that_are_switched_on_are_shown",
    ]);
}

#[test]
fn the_package_holds_what_it_must_and_nothing_else() {
    // `tests/run` has done the first step, which fetches from the registry.
    let commands = steps("vscode");
    let package = commands.lines().find(|line| line.ends_with("run package")).unwrap();
    let mut shell = Command::new("sh");
    let output = shell.args(["-e", "-c", package]).current_dir(at("editors/vscode")).output().unwrap();
    assert!(output.status.success(), "run `npm ci` in editors/vscode: {}", shown(&output));
    let list = Command::new(program("WITHY_PYTHON", "python3"))
        .args(["-c", "import sys, zipfile; print(*sorted(zipfile.ZipFile(sys.argv[1]).namelist()), sep='\\n')"])
        .arg(at("editors/vscode/dist/withy.vsix"))
        .output()
        .unwrap();
    let names = String::from_utf8(list.stdout).unwrap();
    let expected = [
        "[Content_Types].xml",
        "extension.vsixmanifest",
        "extension/dist/LICENSE-APACHE",
        "extension/dist/LICENSE-MIT",
        "extension/dist/extension.js",
        "extension/dist/withy.tmLanguage.json",
        "extension/icons/withy.png",
        "extension/icons/withy.svg",
        "extension/language-configuration.json",
        "extension/package.json",
        "extension/readme.md",
    ];
    assert_eq!(names.lines().collect::<Vec<_>>(), expected);
}
