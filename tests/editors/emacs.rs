//! Emacs with Eglot, as a batch: what a person does there, from `emacs.el`.

use std::process::Output;

use crate::home::{Home, shown};
use crate::{at, program};

fn run(home: &Home, steps: &[&str]) -> Output {
    let mut emacs = home.command(&program("WITHY_EMACS", "emacs"));
    // A batch reads no settings of its own accord.
    emacs.args(["--batch", "--load", "~/.emacs.d/init.el", "--load"]).arg(at("tests/editors/emacs.el"));
    emacs.env("STEPS", steps.join(" ")).output().expect("Emacs is missing: `tests/run` installs it")
}

#[test]
fn emacs_shows_findings_hovers_and_formats() {
    let home = Home::with(&["emacs"]);
    let right = home.text("parts/riser.withy");
    let steps = ["diagnostics", "hover", "format"];
    let output = run(&home, &steps);
    let said = String::from_utf8_lossy(&output.stdout);
    let done = steps.iter().all(|step| said.contains(&format!("ok {step}\n")));
    assert!(output.status.success() && done, "{}", shown(&output));
    assert_eq!(home.text("parts/riser.withy"), right);
}

#[test]
fn emacs_colours_and_indents() {
    let output = run(&Home::with(&["emacs"]), &["colours"]);
    assert!(output.status.success(), "{}", shown(&output));
}

#[test]
fn what_does_not_come_out_in_emacs_is_seen() {
    let home = Home::with(&["emacs"]);
    std::fs::write(home.library.join("bench/west.withy"), "heater front {\n      length 3 mm # x\n}\n").unwrap();
    assert!(!run(&home, &["colours"]).status.success());
}
