//! Neovim, without a screen: what a person does there, from `neovim.lua`.

use std::process::Output;

use crate::home::{Home, shown};
use crate::{at, program};

/// Does the steps, one after the other.
fn run(home: &Home, steps: &[&str]) -> Output {
    let mut neovim = home.command(&program("WITHY_NVIM", "nvim"));
    neovim.args(["--headless", "-n", "+luafile $SCRIPT"]).env("SCRIPT", at("tests/editors/neovim.lua"));
    neovim.env("STEPS", steps.join(" ")).output().expect("Neovim is missing: `tests/run` installs it")
}

/// All steps came out.
fn holds(home: &Home, steps: &[&str]) {
    let output = run(home, steps);
    let said = String::from_utf8_lossy(&output.stdout);
    let done = steps.iter().all(|step| said.contains(&format!("ok {step}\n")));
    assert!(output.status.success() && done, "{}", shown(&output));
}

#[test]
fn neovim_shows_findings_mends_and_saves() {
    let home = Home::with(&["neovim"]);
    let right = home.text("recipes/tent_card.withy");
    holds(&home, &["diagnostics", "code_action_applied_and_saved", "hover"]);
    assert_eq!(home.text("recipes/tent_card.withy"), right);
}

#[test]
fn neovim_completes_and_finds_declarations() {
    holds(&Home::with(&["neovim"]), &["completion", "definition"]);
}

#[test]
fn neovim_renames_in_all_files() {
    let home = Home::with(&["neovim"]);
    holds(&home, &["rename"]);
    assert!(home.text("bench/west.withy").contains("arm near {"));
    assert_eq!(home.text("recipes/tent_card.withy").matches("on near").count(), 2);
    // A recipe on the same bench that is not open has the new name too, or no name of its own.
    assert!(!home.text("recipes/tall_cover.withy").contains("on front"));
}

#[test]
fn neovim_shows_computed_times_between_the_words() {
    holds(&Home::with(&["neovim"]), &["symbols_and_hints"]);
}

#[test]
fn neovim_formats() {
    holds(&Home::with(&["neovim"]), &["format"]);
}

#[test]
fn neovim_colours_by_tree_sitter() {
    holds(&Home::with(&["neovim", "neovim-tree-sitter"]), &["tree_sitter"]);
}

#[test]
fn an_older_neovim_gets_on_with_the_server() {
    let home = Home::with(&["neovim"]);
    let mut neovim = home.command(&program("WITHY_OLD_NVIM", "nvim"));
    neovim.args(["--headless", "-n", "+luafile $SCRIPT"]).env("SCRIPT", at("tests/editors/neovim_old.lua"));
    let output = neovim.output().expect("Neovim is missing: `tests/run` installs it");
    assert!(output.status.success() && output.stdout.starts_with(b"ok old\n"), "{}", shown(&output));
}

#[test]
fn a_step_that_does_not_come_out_is_seen() {
    let home = Home::with(&["neovim"]);
    std::fs::write(home.library.join("parts/riser.withy"), "part riser { width 1 mm, }\n").unwrap();
    assert!(!run(&home, &["format"]).status.success());
    // Without the steps of the page there is no kind of file, and no server.
    assert!(!run(&Home::with(&[]), &["diagnostics"]).status.success());
}
