//! Vim with ALE, without a screen: what a person does there, from `vim.vim`.

use std::process::Output;

use crate::home::{Home, shown};
use crate::{at, program};

fn run(home: &Home, steps: &[&str]) -> (Output, String) {
    let result = home.library.join("result");
    std::fs::write(&result, "").unwrap();
    let mut vim = home.command(&program("WITHY_VIM", "vim"));
    vim.args(["-N", "-n", "-es", "-u", "~/.vimrc", "-c", "set hidden", "-c", "packadd! ale"]);
    vim.args(["-c", "runtime! plugin/**/*.vim pack/dist-bundle/opt/ale/plugin/ale.vim"]);
    vim.arg("-S").arg(at("tests/editors/vim.vim")).env("STEPS", steps.join(" ")).env("RESULT", &result);
    let output = vim.output().expect("Vim is missing: `tests/run` installs it");
    (output, home.text("result"))
}

fn holds(steps: &[&str]) {
    let (output, said) = run(&Home::with(&["vim"]), steps);
    let done = steps.iter().all(|step| said.contains(&format!("ok {step}\n")));
    assert!(output.status.success() && done, "{said}{}", shown(&output));
}

#[test]
fn vim_colours_and_indents() {
    holds(&["colours", "indent"]);
}

#[test]
fn vim_shows_findings_hovers_and_formats() {
    holds(&["diagnostics", "hover", "format"]);
}

#[test]
fn what_does_not_come_out_in_vim_is_seen() {
    let home = Home::with(&["vim"]);
    std::fs::write(home.library.join("recipes/tent_card.withy"), "recipe a for b on c {\n      on d\n}\n").unwrap();
    let (output, said) = run(&home, &["indent"]);
    assert!(!output.status.success() && said.contains("failed indent"), "{said}");
}
