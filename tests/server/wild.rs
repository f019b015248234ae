//! Clients that break the rules: whatever comes, the server lives on and answers the next request.

use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use serde_json::{Value, json};

use crate::client::{Client, Columns, library, uri};
use crate::random::Dice;

/// The program itself, over pipes.
struct Process {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Process {
    fn start() -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_withy"))
            .args(["language-server", "--stdio"])
            .env("WITHY_CACHE", concat!(env!("CARGO_TARGET_TMPDIR"), "/cache"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (input, output) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        Self { child, input, output }
    }

    fn raw(&mut self, bytes: &[u8]) {
        self.input.write_all(bytes).unwrap();
        self.input.flush().unwrap();
    }

    fn send(&mut self, message: &Value) {
        let body = message.to_string();
        self.raw(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
    }

    fn receive(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            assert_ne!(self.output.read_line(&mut line).unwrap(), 0, "the server is gone");
            if line == "\r\n" {
                break;
            }
            if let Some(value) = line.strip_prefix("Content-Length: ") {
                length = value.trim().parse().unwrap();
            }
        }
        let mut body = vec![0; length];
        self.output.read_exact(&mut body).unwrap();
        serde_json::from_slice(&body).unwrap()
    }

    fn answer(&mut self, id: &Value) -> Value {
        loop {
            let message = self.receive();
            if message.get("id") == Some(id) && message.get("method").is_none() {
                return message;
            }
        }
    }

    fn ask(&mut self, id: i32, method: &str, params: &Value) -> Value {
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        self.answer(&json!(id))
    }

    /// It answers; then it ends as it should.
    fn lives(mut self) {
        let answer = self.ask(900_001, "workspace/symbol", &json!({ "query": "" }));
        assert!(answer["result"].is_array(), "{answer}");
        assert_eq!(self.ask(900_002, "shutdown", &Value::Null)["result"], Value::Null);
        self.send(&json!({ "jsonrpc": "2.0", "method": "exit" }));
        assert_eq!(self.child.wait().unwrap().code(), Some(0));
    }
}

const HELLO: &str = r#"{ "processId": null, "rootUri": null, "capabilities": {} }"#;

#[test]
fn what_is_no_message_is_answered_and_skipped() {
    let mut process = Process::start();
    process.raw(b"Content-Length: 3\r\n\r\n{{{");
    assert_eq!(process.receive()["error"]["code"], -32_700);
    process.raw(b"nonsense\r\n\r\n");
    assert_eq!(process.receive()["error"]["code"], -32_700);
    process.raw(b"Content-Length: -5\r\n\r\n");
    assert_eq!(process.receive()["error"]["code"], -32_700);
    process.raw(b"Content-Length: 4\r\n\r\n\xff\xfe\x00\x01");
    assert_eq!(process.receive()["error"]["code"], -32_700);
    process.raw(b"Content-Length: 2\r\n\r\n[]");
    assert_eq!(process.receive()["error"]["code"], -32_700);
    let hello: Value = serde_json::from_str(HELLO).unwrap();
    assert!(process.ask(1, "initialize", &hello)["result"].is_object());
    process.lives();
}

#[test]
fn messages_out_of_order_are_refused_one_by_one() {
    let mut process = Process::start();
    assert_eq!(process.ask(1, "textDocument/hover", &json!({}))["error"]["code"], -32_002);
    process.send(&json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": { "x": 1 } }));
    assert!(process.ask(2, "initialize", &json!({ "capabilities": 3 }))["error"].is_object());
    let hello: Value = serde_json::from_str(HELLO).unwrap();
    assert!(process.ask(3, "initialize", &hello)["result"].is_object());
    assert_eq!(process.ask(4, "initialize", &hello)["error"]["code"], -32_600);
    assert_eq!(process.ask(5, "textDocument/dance", &Value::Null)["error"]["code"], -32_601);
    assert_eq!(process.ask(6, "textDocument/hover", &json!([1, 2]))["error"]["code"], -32_602);
    // A change of a text that was never opened, an answer to nothing, a close of nothing.
    let ghost = json!({ "uri": "file:///nowhere/ghost.withy", "version": 7 });
    for (method, params) in [
        ("textDocument/didChange", json!({ "textDocument": ghost, "contentChanges": [{ "text": "x" }] })),
        ("textDocument/didClose", json!({ "textDocument": ghost })),
        ("textDocument/didSave", json!({ "textDocument": ghost })),
        ("$/cancelRequest", json!({ "id": 77 })),
        ("$/cancelRequest", json!({ "id": {} })),
        ("$/unknown", json!({})),
        ("workspace/didChangeConfiguration", json!(7)),
    ] {
        process.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }
    process.send(&json!({ "jsonrpc": "2.0", "id": 55, "result": null }));
    let hover = json!({ "textDocument": ghost, "position": { "line": 0, "character": 0 } });
    assert_eq!(process.ask(7, "textDocument/hover", &hover)["error"]["code"], -32_602);
    process.lives();
}

#[test]
fn an_end_without_shutdown_is_told_by_the_exit_code() {
    let mut process = Process::start();
    let hello: Value = serde_json::from_str(HELLO).unwrap();
    process.ask(1, "initialize", &hello);
    process.send(&json!({ "jsonrpc": "2.0", "method": "exit" }));
    assert_eq!(process.child.wait().unwrap().code(), Some(1));
    let mut process = Process::start();
    process.ask(1, "initialize", &hello);
    drop(process.input);
    assert_eq!(process.child.wait().unwrap().code(), Some(1), "the client is gone");
}

#[test]
fn positions_beyond_a_text_are_its_end() {
    let (_folder, root) = library();
    let path = root.join("recipes/dust_cover.withy");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut client = Client::start(Columns::Utf16);
    client.open(&path, &text);
    let far = json!({ "line": 4_000_000_000_u32, "character": 4_000_000_000_u32 });
    let near = json!({ "line": 0, "character": 0 });
    let document = json!({ "uri": uri(&path) });
    for method in ["hover", "completion", "definition", "signatureHelp", "prepareRename", "documentHighlight"] {
        for position in [&far, &near] {
            client.ask(&format!("textDocument/{method}"), json!({ "textDocument": document, "position": position }));
        }
    }
    // A range that ends before it begins.
    let range = json!({ "start": far, "end": near });
    for method in ["inlayHint", "semanticTokens/range"] {
        client.ask(&format!("textDocument/{method}"), json!({ "textDocument": document, "range": range }));
    }
    client.tell(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": uri(&path), "version": 2 }, "contentChanges": [{ "range": range, "text": "\n# µ" }] }),
    );
    client.ask("textDocument/documentSymbol", json!({ "textDocument": document }));
    client.end();
}

#[test]
fn a_huge_text_is_taken() {
    let mut process = Process::start();
    let hello: Value = serde_json::from_str(HELLO).unwrap();
    process.ask(1, "initialize", &hello);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("huge.withy");
    // Ten megabytes: of braces, of one endless line, and of comments with wide letters.
    for text in ["{".repeat(1_000_000), "sheet x ".repeat(300_000), "# µ°Ω\n".repeat(1_000_000)] {
        let document = json!({ "uri": uri(&path), "languageId": "withy", "version": 1, "text": text });
        process.send(
            &json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } }),
        );
        let answer = process.ask(2, "textDocument/foldingRange", &json!({ "textDocument": { "uri": uri(&path) } }));
        assert!(answer["result"].is_array(), "{answer}");
    }
    process.lives();
}

#[test]
fn cancelled_requests_are_answered_once() {
    let (_folder, root) = library();
    let path = root.join("recipes/dust_cover.withy");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut client = Client::start(Columns::Utf16);
    client.open(&path, &text);
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    for round in 0..20 {
        let params = json!({ "textDocument": { "uri": uri(&path) }, "range": range });
        client.edit(&path, 0, 0, "\n");
        let id = client.send("textDocument/inlayHint", params);
        client.tell(
            "$/cancelRequest",
            serde_json::to_value(json!({ "id": serde_json::to_value(&id).unwrap() })).unwrap(),
        );
        match client.answer(&id).response_result {
            Ok(_) => {}
            Err(error) => assert!([-32_800, -32_801].contains(&error.code), "{round}: {error:?}"),
        }
    }
    // A request about a text that is changed before its figures are there is refused, so that the client asks again.
    client.findings(&path);
    client.end();
}

/// Random bytes of a protocol: parameters that are cut, swapped and of the wrong kind.
#[test]
fn random_parameters_never_end_it() {
    let (_folder, root) = library();
    let path = root.join("recipes/dust_cover.withy");
    let text = std::fs::read_to_string(&path).unwrap();
    let mut client = Client::start(Columns::Utf16);
    client.open(&path, &text);
    let mut dice = Dice(11);
    let methods = [
        "textDocument/hover",
        "textDocument/completion",
        "textDocument/definition",
        "textDocument/references",
        "textDocument/rename",
        "textDocument/codeAction",
        "textDocument/selectionRange",
        "textDocument/formatting",
        "textDocument/rangeFormatting",
        "textDocument/inlayHint",
        "textDocument/semanticTokens/range",
        "textDocument/diagnostic",
        "workspace/diagnostic",
        "workspace/symbol",
    ];
    let rounds = if std::env::var_os("WITHY_DEEP").is_some() { 20_000 } else { 1_000 };
    for _ in 0..rounds {
        let mut number = |below: f64| {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "not negative, and small")]
            let number = (dice.next() * below) as usize;
            number
        };
        let method = methods[number(14.0)];
        let name = ["edge", "µ", "", "if", "front"][number(5.0)];
        let query = ["", "cov", "µ"][number(3.0)];
        let position = json!({ "line": number(30.0), "character": number(130.0) });
        let mut params = json!({
            "textDocument": { "uri": uri(&path) },
            "position": position,
            "positions": [position, { "line": number(30.0), "character": number(9.0) }],
            "range": { "start": position, "end": { "line": number(30.0), "character": number(90.0) } },
            "context": { "diagnostics": [], "includeDeclaration": true },
            "options": { "tabSize": 2, "insertSpaces": true },
            "newName": name,
            "query": query,
            "previousResultIds": [],
        });
        let fields: Vec<String> = params.as_object().unwrap().keys().cloned().collect();
        if number(3.0) == 0 {
            let field = &fields[number(fields.len() as f64)];
            params[field] =
                [json!(null), json!(-1), json!("x"), json!([[]]), json!({ "uri": "::" })][number(5.0)].clone();
        }
        if let Err((code, why)) = client.try_ask(method, params.clone()) {
            // Everything but a fault of ours.
            assert_ne!(code, -32_603, "{method} {params}: {why}");
        }
    }
    client.end();
}
