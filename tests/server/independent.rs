//! A client that knows nothing of ours drives every request: `pytest-lsp`, with `pygls` and `lsprotocol` behind it, whose
//! types are made from the protocol's own description.

use std::process::Command;

use crate::client::library;
use crate::python::python;

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
