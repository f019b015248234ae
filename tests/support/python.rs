use std::process::Command;

/// The Python that `WITHY_PYTHON` names, else `python3`, with these modules. Where one is asked for and lacks them that
/// is a failure; elsewhere the test says that the comparison was not made.
pub fn python(modules: &str) -> Option<String> {
    let named = std::env::var("WITHY_PYTHON").ok().filter(|path| !path.is_empty());
    let python = named.clone().unwrap_or_else(|| "python3".to_owned());
    let there = Command::new(&python).args(["-c", &format!("import {modules}")]).output();
    if there.is_ok_and(|output| output.status.success()) {
        return Some(python);
    }
    let asked_for = named.is_some() || std::env::var_os("CI").is_some();
    assert!(!asked_for, "{python} lacks {modules}: set WITHY_PYTHON to one that has it");
    eprintln!("NOT COMPARED: {python} lacks {modules}; set WITHY_PYTHON to one that has it");
    None
}
