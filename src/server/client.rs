//! What the client can do and what its user wants.

use lsp_types::InitializeParams;
use serde::Deserialize;
use serde_json::Value;

use crate::server::convert::Encoding;

/// What the client can do and what its user wants.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "a client can do each of these or not")]
pub struct Client {
    /// What columns count.
    pub encoding: Encoding,
    /// Whether it asks for findings itself, and hears that it should ask again: then they are not sent unasked.
    pub pulls: bool,
    /// Whether it asks again for inlay hints when it is told to.
    pub refreshes_hints: bool,
    /// Whether it tells of files that change on disk, if it is asked to.
    pub watches: bool,
    /// Whether it takes edits file by file, with the state each is made for.
    pub takes_document_changes: bool,
    /// Whether it can be asked for its user's settings.
    pub configures: bool,
    /// What its user wants.
    pub wishes: Wishes,
}

/// What a user can switch off: the keys of the setting `withy` in an editor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub struct Wishes {
    /// Inlay hints.
    pub hints: Hints,
}

/// Kinds of inlay hints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(default)]
pub struct Hints {
    /// Computed times behind `computed`.
    pub times: bool,
    /// The blank's length behind the name of a recipe.
    pub blank: bool,
    /// The hot current behind the arm of a bend.
    pub current: bool,
}

impl Default for Hints {
    fn default() -> Self {
        Self { times: true, blank: true, current: true }
    }
}

#[expect(clippy::derivable_impls, reason = "one place tells what is on: `Hints`")]
impl Default for Wishes {
    fn default() -> Self {
        Self { hints: Hints::default() }
    }
}

impl Client {
    /// As a client presents itself.
    pub fn new(params: &InitializeParams, raw: &Value) -> Self {
        let capabilities = &params.capabilities;
        let encodings = capabilities.general.as_ref().and_then(|general| general.position_encodings.as_ref());
        let utf8 = encodings.is_some_and(|all| all.contains(&Encoding::Utf8.kind()));
        // Read by hand: the library's name for the capability is not that of the protocol.
        let is = |path: &str| raw.pointer(path).is_some_and(|value| value == &Value::Bool(true));
        let asks = raw.pointer("/capabilities/textDocument/diagnostic").is_some_and(Value::is_object);
        let refreshed = ["diagnostics", "diagnostic"]
            .iter()
            .any(|name| is(&format!("/capabilities/workspace/{name}/refreshSupport")));
        Self {
            encoding: if utf8 { Encoding::Utf8 } else { Encoding::Utf16 },
            pulls: asks && refreshed,
            refreshes_hints: is("/capabilities/workspace/inlayHint/refreshSupport"),
            watches: is("/capabilities/workspace/didChangeWatchedFiles/dynamicRegistration"),
            takes_document_changes: is("/capabilities/workspace/workspaceEdit/documentChanges"),
            configures: is("/capabilities/workspace/configuration"),
            wishes: params.initialization_options.as_ref().map(Wishes::read).unwrap_or_default(),
        }
    }
}

impl Wishes {
    /// From what a client sends: the settings themselves, or with `withy` around them. What cannot be read counts as
    /// not said.
    pub fn read(value: &Value) -> Self {
        let own = value.get("withy").unwrap_or(value);
        serde_json::from_value(own.clone()).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::{Hints, Wishes};

    #[test]
    fn wishes_are_read_and_what_is_wrong_counts_as_not_said() {
        let without_times = Wishes { hints: Hints { times: false, blank: true, current: true } };
        assert_eq!(Wishes::read(&json!({ "hints": { "times": false } })), without_times);
        assert_eq!(Wishes::read(&json!({ "withy": { "hints": { "times": false }, "other": 3 } })), without_times);
        for nothing in [json!(null), json!([]), json!({ "hints": 3 }), json!({ "withy": "yes" })] {
            assert_eq!(Wishes::read(&nothing), Wishes::default());
        }
    }
}
