//! A client that knows nothing of ours drives every request: `pytest-lsp`, with `pygls` and `lsprotocol` behind it, whose
//! types are made from the protocol's own description.

use std::process::Command;

use crate::client::library;

/// A Python with these modules. Where one is asked for and lacks them that is a failure; elsewhere the test says that
/// the comparison was not made.
fn python(modules: &str) -> Option<String> {
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

#[test]
fn an_independent_client_drives_every_request() {
    let Some(python) = python("pytest_lsp") else { return };
    let (_folder, root) = library();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/server/independent_client.py");
    let output = Command::new(&python)
        .args(["-m", "pytest", "-q", "-p", "no:cacheprovider", "-o", "asyncio_mode=auto", script])
        .env("WITHY_BINARY", env!("CARGO_BIN_EXE_withy"))
        .env("WITHY_LIBRARY", &root)
        .env("WITHY_CACHE", concat!(env!("CARGO_TARGET_TMPDIR"), "/cache"))
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}
