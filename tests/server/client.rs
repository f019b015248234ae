//! A client in the same process, which counts columns on its own.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;
use std::time::Duration;

use lsp_server::{Connection, Message, Notification, Request, RequestId, Response};
use serde_json::{Value, json};
use tempfile::TempDir;
use withy::library::CacheFolder;
use withy::server::serve;

/// What columns count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Columns {
    Bytes,
    Utf16,
}

pub const BOTH: [Columns; 2] = [Columns::Bytes, Columns::Utf16];

pub struct Client {
    connection: Connection,
    server: Option<JoinHandle<bool>>,
    next: i32,
    pub columns: Columns,
    /// What the server sent unasked.
    pub notes: Vec<Notification>,
    /// What the server asked for.
    pub asked: Vec<Request>,
    texts: BTreeMap<PathBuf, (i32, String)>,
}

/// Longer than any answer takes on a busy machine.
const LONGEST: Duration = Duration::from_mins(5);

impl Client {
    /// A client that is sent findings unasked.
    pub fn start(columns: Columns) -> Self {
        Self::with(columns, json!({}), &Value::Null)
    }

    pub fn with(columns: Columns, mut capabilities: Value, options: &Value) -> Self {
        let (connection, other) = Connection::memory();
        let cache = CacheFolder::at(Path::new(concat!(env!("CARGO_TARGET_TMPDIR"), "/cache/bends")));
        let server = std::thread::spawn(move || serve(other, &cache));
        let mut client = Self {
            connection,
            server: Some(server),
            next: 0,
            columns,
            notes: Vec::new(),
            asked: Vec::new(),
            texts: BTreeMap::new(),
        };
        if columns == Columns::Bytes {
            capabilities["general"] = json!({ "positionEncodings": ["utf-16", "utf-8"] });
        }
        let params = json!({ "processId": null, "rootUri": null, "capabilities": capabilities, "initializationOptions": options });
        let result = client.ask("initialize", params);
        let expected = if columns == Columns::Bytes { "utf-8" } else { "utf-16" };
        assert_eq!(result["capabilities"]["positionEncoding"], expected);
        client.tell("initialized", json!({}));
        client
    }

    pub fn tell(&self, method: &str, params: Value) {
        let note = Notification { method: method.to_owned(), params };
        self.connection.sender.send(note.into()).unwrap();
    }

    /// Sends a request, and does not wait.
    pub fn send(&mut self, method: &str, params: Value) -> RequestId {
        self.next += 1;
        let id = RequestId::from(self.next);
        let request = Request { id: id.clone(), method: method.to_owned(), params };
        self.connection.sender.send(request.into()).unwrap();
        id
    }

    pub fn answer(&mut self, id: &RequestId) -> Response {
        loop {
            match self.connection.receiver.recv_timeout(LONGEST).unwrap() {
                Message::Response(response) if response.id == *id => return response,
                Message::Response(response) => panic!("an answer that nobody waits for: {response:?}"),
                Message::Notification(note) => self.notes.push(note),
                Message::Request(request) => {
                    let answer = Response { id: request.id.clone(), response_result: Ok(Value::Null) };
                    self.connection.sender.send(answer.into()).unwrap();
                    self.asked.push(request);
                }
            }
        }
    }

    pub fn try_ask(&mut self, method: &str, params: Value) -> Result<Value, (i32, String)> {
        let id = self.send(method, params);
        self.answer(&id).response_result.map_err(|error| (error.code, error.message))
    }

    pub fn ask(&mut self, method: &str, params: Value) -> Value {
        self.try_ask(method, params).unwrap_or_else(|error| panic!("{method}: {error:?}"))
    }

    /// Waits for a notification.
    pub fn next_note(&mut self) -> Notification {
        if !self.notes.is_empty() {
            return self.notes.remove(0);
        }
        loop {
            if let Message::Notification(note) = self.connection.receiver.recv_timeout(LONGEST).unwrap() {
                return note;
            }
        }
    }

    pub fn open(&mut self, path: &Path, text: &str) {
        self.texts.insert(path.to_owned(), (1, text.to_owned()));
        self.tell(
            "textDocument/didOpen",
            json!({ "textDocument": { "uri": uri(path), "languageId": "withy", "version": 1, "text": text } }),
        );
    }

    pub fn close(&mut self, path: &Path) {
        self.texts.remove(path);
        self.tell("textDocument/didClose", json!({ "textDocument": { "uri": uri(path) } }));
    }

    /// Replaces bytes of an open text.
    pub fn edit(&mut self, path: &Path, start: usize, end: usize, new: &str) {
        let range = json!({ "start": self.position(path, start), "end": self.position(path, end) });
        let (version, text) = self.texts.get_mut(path).unwrap();
        *version += 1;
        text.replace_range(start..end, new);
        let params = json!({
            "textDocument": { "uri": uri(path), "version": *version },
            "contentChanges": [{ "range": range, "text": new }],
        });
        self.tell("textDocument/didChange", params);
    }

    /// Replaces the whole of an open text.
    pub fn replace(&mut self, path: &Path, new: &str) {
        let (version, text) = self.texts.get_mut(path).unwrap();
        *version += 1;
        new.clone_into(text);
        let params = json!({
            "textDocument": { "uri": uri(path), "version": *version },
            "contentChanges": [{ "text": new }],
        });
        self.tell("textDocument/didChange", params);
    }

    pub fn text(&self, path: &Path) -> &str {
        &self.texts[path].1
    }

    /// Where a byte of an open text stands.
    pub fn position(&self, path: &Path, byte: usize) -> Value {
        position(self.text(path), byte, self.columns)
    }

    /// The byte at a position of a text.
    pub fn byte(&self, text: &str, position: &Value) -> usize {
        let line = usize::try_from(position["line"].as_u64().unwrap()).unwrap();
        let column = usize::try_from(position["character"].as_u64().unwrap()).unwrap();
        let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
        let mut units = 0;
        for (at, character) in text[start..].char_indices() {
            if units == column {
                return start + at;
            }
            units += if self.columns == Columns::Bytes { character.len_utf8() } else { character.len_utf16() };
        }
        assert_eq!(units, column, "no character begins at {position}");
        text.len()
    }

    /// The text that a range covers.
    pub fn slice<'t>(&self, text: &'t str, range: &Value) -> &'t str {
        &text[self.byte(text, &range["start"])..self.byte(text, &range["end"])]
    }

    /// The text after edits.
    pub fn edited(&self, text: &str, edits: &Value) -> String {
        let mut edits: Vec<(usize, usize, &str)> = edits
            .as_array()
            .unwrap()
            .iter()
            .map(|edit| {
                let range = &edit["range"];
                let new = edit["newText"].as_str().unwrap();
                (self.byte(text, &range["start"]), self.byte(text, &range["end"]), new)
            })
            .collect();
        edits.sort_unstable();
        let mut text = text.to_owned();
        for (start, end, new) in edits.into_iter().rev() {
            text.replace_range(start..end, new);
        }
        text
    }

    /// A place in a document, as requests take it.
    pub fn at(&self, path: &Path, byte: usize) -> Value {
        json!({ "textDocument": { "uri": uri(path) }, "position": self.position(path, byte) })
    }

    /// The findings of a document once everything is computed.
    pub fn findings(&mut self, path: &Path) -> Vec<Value> {
        let document = json!({ "uri": uri(path) });
        let nowhere = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
        // Hints wait for the figures; on a machine that is busy they are answered without after a while.
        for _ in 0..200 {
            self.ask("textDocument/inlayHint", json!({ "textDocument": document, "range": nowhere }));
            let report = self.ask("textDocument/diagnostic", json!({ "textDocument": document }));
            if report["resultId"] != Value::Null {
                return report["items"].as_array().unwrap().clone();
            }
        }
        panic!("the figures of {} never came", path.display())
    }

    /// Ends the server in order.
    pub fn end(mut self) {
        self.ask("shutdown", Value::Null);
        self.tell("exit", Value::Null);
        assert!(self.server.take().unwrap().join().unwrap());
    }
}

pub fn uri(path: &Path) -> String {
    url::Url::from_file_path(path).unwrap().to_string()
}

pub fn position(text: &str, byte: usize, columns: Columns) -> Value {
    let before = &text[..byte];
    let line = before.matches('\n').count();
    let last = before.rsplit('\n').next().unwrap();
    let column = if columns == Columns::Bytes { last.len() } else { last.encode_utf16().count() };
    json!({ "line": line, "character": column })
}

/// A copy of the example library that may be changed.
pub fn library() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().canonicalize().unwrap();
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    for entry in ignore::WalkBuilder::new(&examples).standard_filters(false).build() {
        let path = entry.unwrap().into_path();
        let to = root.join(path.strip_prefix(&examples).unwrap());
        if path.is_dir() {
            std::fs::create_dir_all(&to).unwrap();
        } else {
            std::fs::copy(&path, &to).unwrap();
        }
    }
    (folder, root)
}
