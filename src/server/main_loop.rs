//! Takes in what the client says, in order, and sends what it has not asked for.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, SyncSender};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::{
    CancelParams, DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams, InitializeParams,
    NumberOrString, TextDocumentContentChangeEvent, Uri,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use crate::library::{CacheFolder, system_date};
use crate::server::answers::{self, Cancelled, Question, refusal};
use crate::server::client::{Client, Wishes};
use crate::server::convert::{Lines, Pages, Shown, path_of};
use crate::server::desk::{Desk, Key, Open, Unit};
use crate::server::placed::{Placed, Replaced};
use crate::server::requests::{Needs, Snapshot, capabilities, converted, needs};
use crate::server::transport::{Outgoing, Spare};
use crate::server::{Event, work};
use crate::text::FileId;

/// After this long, a request is answered without the figures it waits for.
const PATIENCE: Duration = Duration::from_secs(2);

/// Figures are begun so long after the last edit: by then, what was found at once is with the editor, and nothing takes the
/// cores away from its way there.
const QUIET: Duration = Duration::from_millis(8);

/// The state between two messages.
pub struct Server {
    out: SyncSender<Outgoing>,
    /// Room for the next message.
    spare: Spare,
    desk: Desk,
    /// What is still to be computed, and when that is begun.
    uncomputed: BTreeSet<Key>,
    due: Instant,
    questions: Sender<Question>,
    cancelled: Cancelled,
    /// None before `initialize`.
    client: Option<Client>,
    pages: Pages,
    /// Where texts without a file are taken to lie.
    folder: PathBuf,
    /// Requests that wait for figures, with the state of the texts for which they were made.
    waiting: Vec<Waiting>,
    /// What was last sent of each file.
    sent: BTreeMap<PathBuf, Sent>,
    /// Whether `shutdown` was asked for.
    ending: bool,
    /// The number of the next request to the client, and what the open ones are for.
    next: i32,
    asked: BTreeMap<RequestId, Asked>,
}

struct Waiting {
    request: Request,
    path: PathBuf,
    revision: u64,
    since: Instant,
}

struct Sent {
    version: Option<i32>,
    findings: Arc<Vec<Placed>>,
}

/// The protocol's `PublishDiagnosticsParams`.
#[derive(Serialize)]
struct Published<'f> {
    uri: Uri,
    #[serde(skip_serializing_if = "Option::is_none")]
    version: Option<i32>,
    diagnostics: Vec<Shown<'f>>,
}

/// What the client was asked for.
enum Asked {
    Settings,
    Nothing,
}

impl Server {
    /// With nothing open.
    pub fn new(out: SyncSender<Outgoing>, events: Sender<Event>, cache: &CacheFolder, spare: Spare) -> Self {
        let cancelled = Cancelled::default();
        Self {
            desk: Desk::new(work::start(events, cache.clone()), system_date()),
            uncomputed: BTreeSet::new(),
            due: Instant::now(),
            questions: answers::start(out.clone(), cancelled.clone()),
            out,
            spare,
            cancelled,
            client: None,
            pages: Pages::new(cache.pages()),
            folder: std::env::current_dir().unwrap_or_default(),
            waiting: Vec::new(),
            sent: BTreeMap::new(),
            ending: false,
            next: 0,
            asked: BTreeMap::new(),
        }
    }

    /// Serves until `exit`. True if `shutdown` came before.
    pub fn run(mut self, inbox: &Receiver<Event>) -> bool {
        loop {
            // Whatever has come is taken in before anything is checked: of ten keystrokes only the last one counts.
            let event = match inbox.try_recv() {
                Ok(event) => Some(event),
                Err(_) => {
                    self.settle();
                    match inbox.recv_timeout(self.begin_figures()) {
                        Ok(event) => Some(event),
                        Err(RecvTimeoutError::Timeout) => None,
                        Err(RecvTimeoutError::Disconnected) => return false,
                    }
                }
            };
            match event {
                None => self.answer_waiting(None),
                Some(Event::Closed) => return false,
                Some(Event::Unreadable(why)) => {
                    let _ = self.out.send(Outgoing::Unreadable(why));
                }
                Some(Event::Computed(computed)) => {
                    self.settle();
                    if self.desk.take_in(computed).is_some() {
                        self.publish();
                        self.tell_to_ask_again();
                        self.answer_waiting(None);
                    }
                }
                Some(Event::Message(Message::Notification(note))) if note.method == "exit" => return self.ending,
                Some(Event::Message(Message::Notification(note))) => self.notification(note),
                Some(Event::Message(Message::Request(request))) => self.request(request),
                Some(Event::Message(Message::Response(response))) => self.response(response),
            }
        }
    }

    fn send(&self, message: impl Into<Message>) {
        // Where nobody reads any more, the end of the input comes as well.
        let _ = self.out.send(Outgoing::message(message));
    }

    fn ask(&mut self, method: &str, params: &Value, what: Asked) {
        self.next += 1;
        let id = RequestId::from(self.next);
        self.asked.insert(id.clone(), what);
        self.send(Request { id, method: method.to_owned(), params: params.clone() });
    }

    /// Checks what has changed and sends what was found.
    fn settle(&mut self) {
        let checked = self.desk.check_dirty();
        if !checked.is_empty() {
            self.refuse_outdated();
            self.publish();
            self.uncomputed.extend(checked);
            self.due = Instant::now() + QUIET;
        }
    }

    /// Has figures computed if they are due. How long to wait for the next event is returned.
    fn begin_figures(&mut self) -> Duration {
        if self.uncomputed.is_empty() {
            return PATIENCE;
        }
        let left = self.due.saturating_duration_since(Instant::now());
        if left.is_zero() {
            self.desk.compute(std::mem::take(&mut self.uncomputed));
            return PATIENCE;
        }
        left
    }

    fn request(&mut self, request: Request) {
        if self.ending {
            return self.send(refusal(request.id, ErrorCode::InvalidRequest, "the server is shutting down"));
        }
        match (request.method.as_str(), self.client.is_some()) {
            ("initialize", false) => self.initialize(request),
            ("initialize", true) => self.send(refusal(request.id, ErrorCode::InvalidRequest, "initialized already")),
            (_, false) => {
                self.send(refusal(request.id, ErrorCode::ServerNotInitialized, "`initialize` comes first"));
            }
            ("shutdown", true) => {
                self.ending = true;
                self.send(Response { id: request.id, response_result: Ok(Value::Null) });
            }
            (_, true) => {
                self.settle();
                self.question(request);
            }
        }
    }

    fn initialize(&mut self, request: Request) {
        let raw = request.params;
        let params: InitializeParams = match serde_json::from_value(raw.clone()) {
            Ok(params) => params,
            Err(error) => {
                return self.send(refusal(request.id, ErrorCode::InvalidParams, &error.to_string()));
            }
        };
        let client = Client::new(&params, &raw);
        let folders = params.workspace_folders.iter().flatten().map(|folder| folder.uri.clone());
        if let Some(root) = folders.into_iter().next() {
            self.folder = path_of(&root, &self.folder);
        }
        let result = json!({
            "capabilities": capabilities(&client),
            "serverInfo": { "name": "withy", "version": env!("CARGO_PKG_VERSION") },
        });
        self.client = Some(client);
        self.send(Response { id: request.id, response_result: Ok(result) });
    }

    /// Hands a request to who answers it, or keeps it until the figures are there that it needs.
    fn question(&mut self, request: Request) {
        let Some(needs) = needs(&request.method) else {
            let why = format!("there is no `{}`", request.method);
            return self.send(refusal(request.id, ErrorCode::MethodNotFound, &why));
        };
        let uri = request.params.pointer("/textDocument/uri").and_then(Value::as_str);
        let path = uri.and_then(|uri| uri.parse().ok()).map(|uri| path_of(&uri, &self.folder));
        if needs == Needs::Figures
            && let Some(path) = &path
            && let Some((_, unit)) = self.desk.unit_of(path)
            && !unit.complete
        {
            let revision = unit.revision;
            self.waiting.push(Waiting { request, path: path.clone(), revision, since: Instant::now() });
            return;
        }
        self.hand_over(request, path.as_deref());
    }

    fn hand_over(&mut self, request: Request, path: Option<&Path>) {
        let Some(snapshot) = self.snapshot(path) else { return };
        // Without its thread nothing is answered, but the texts are still checked.
        let _ = self.questions.send(Question { request, snapshot });
    }

    fn snapshot(&self, path: Option<&Path>) -> Option<Snapshot> {
        let unit = path.and_then(|path| self.desk.unit_of(path)).map(|(_, unit)| unit);
        self.snapshot_of(unit.or_else(|| self.desk.units().values().next()))
    }

    fn snapshot_of(&self, unit: Option<&Unit>) -> Option<Snapshot> {
        let client = self.client.clone()?;
        let uris = self.desk.open().iter().map(|(path, open)| (path.clone(), open.uri.clone())).collect();
        Some(Snapshot {
            client,
            loaded: unit.map(|unit| Arc::clone(&unit.loaded)).unwrap_or_default(),
            findings: unit.map(|unit| Arc::clone(unit.findings.shown())).unwrap_or_default(),
            notes: unit.map(|unit| Arc::clone(&unit.notes)).unwrap_or_default(),
            state: unit.filter(|unit| unit.complete).map(|unit| unit.revision.to_string()),
            others: self.desk.units().values().map(|unit| Arc::clone(&unit.loaded)).collect(),
            uris: Arc::new(uris),
            pages: self.pages.clone(),
            folder: self.folder.clone(),
        })
    }

    /// Answers the requests whose figures are there, and those that have waited long enough.
    fn answer_waiting(&mut self, only: Option<&RequestId>) {
        for waiting in std::mem::take(&mut self.waiting) {
            let unit = self.desk.unit_of(&waiting.path).map(|(_, unit)| unit);
            let ready = unit.is_none_or(|unit| unit.complete) || waiting.since.elapsed() >= PATIENCE;
            if ready || only == Some(&waiting.request.id) {
                self.hand_over(waiting.request, Some(&waiting.path));
            } else {
                self.waiting.push(waiting);
            }
        }
    }

    /// A request about texts that have changed since is answered so that the client asks again.
    fn refuse_outdated(&mut self) {
        for waiting in std::mem::take(&mut self.waiting) {
            let unit = self.desk.unit_of(&waiting.path).map(|(_, unit)| unit);
            if unit.is_some_and(|unit| unit.revision == waiting.revision) {
                self.waiting.push(waiting);
            } else {
                self.send(refusal(waiting.request.id, ErrorCode::ContentModified, "the text has changed"));
            }
        }
    }

    fn response(&mut self, response: Response) {
        if let (Some(Asked::Settings), Ok(value)) = (self.asked.remove(&response.id), response.response_result) {
            self.wishes(value.get(0).unwrap_or(&Value::Null));
        }
    }

    fn wishes(&mut self, value: &Value) {
        if let Some(client) = self.client.as_mut().filter(|_| !value.is_null()) {
            client.wishes = Wishes::read(value);
            self.tell_to_ask_again();
        }
    }

    /// A notification that cannot be read is no reason to end: there is nobody to answer.
    fn notification(&mut self, note: Notification) {
        if note.method == "$/cancelRequest" {
            return self.cancel(note.params);
        }
        if self.client.is_none() {
            return;
        }
        match note.method.as_str() {
            "initialized" => self.initialized(),
            "textDocument/didOpen" => {
                if let Some(DidOpenTextDocumentParams { text_document }) = read(note.params) {
                    let path = path_of(&text_document.uri, &self.folder);
                    let open = Open {
                        uri: text_document.uri,
                        version: text_document.version,
                        text: Arc::new(text_document.text),
                    };
                    self.desk.put(path, open);
                }
            }
            "textDocument/didChange" => {
                if let Some(params) = read(note.params) {
                    self.change(params);
                }
            }
            "textDocument/didClose" => {
                if let Some(DidCloseTextDocumentParams { text_document }) = read(note.params) {
                    self.desk.close(&path_of(&text_document.uri, &self.folder));
                }
            }
            "textDocument/didSave" if self.client.as_ref().is_some_and(|client| !client.watches) => {
                self.desk.disk_changed();
            }
            "workspace/didChangeWatchedFiles" => self.desk.disk_changed(),
            "workspace/didChangeConfiguration" => {
                if self.client.as_ref().is_some_and(|client| client.configures) {
                    self.ask_for_settings();
                } else {
                    let settings = note.params.get("settings").cloned().unwrap_or_default();
                    self.wishes(&settings);
                }
            }
            _ => {}
        }
    }

    fn initialized(&mut self) {
        let Some(client) = &self.client else { return };
        let (watches, configures) = (client.watches, client.configures);
        if watches {
            let watchers = ["**/*.withy", "**/withy.toml"].map(|glob| json!({ "globPattern": glob }));
            let registration = json!({
                "id": "files",
                "method": "workspace/didChangeWatchedFiles",
                "registerOptions": { "watchers": watchers },
            });
            self.ask("client/registerCapability", &json!({ "registrations": [registration] }), Asked::Nothing);
        }
        if configures {
            self.ask_for_settings();
        }
    }

    fn ask_for_settings(&mut self) {
        self.ask("workspace/configuration", &json!({ "items": [{ "section": "withy" }] }), Asked::Settings);
    }

    fn cancel(&mut self, params: Value) {
        let Some(CancelParams { id }) = read(params) else { return };
        let id = match id {
            NumberOrString::Number(number) => RequestId::from(number),
            NumberOrString::String(text) => RequestId::from(text),
        };
        let waits = self.waiting.iter().position(|waiting| waiting.request.id == id);
        if let Some(place) = waits {
            self.waiting.remove(place);
            return self.send(refusal(id, ErrorCode::RequestCanceled, "cancelled"));
        }
        self.cancelled.add(id);
    }

    fn change(&mut self, params: DidChangeTextDocumentParams) {
        let path = path_of(&params.text_document.uri, &self.folder);
        let Some(encoding) = self.client.as_ref().map(|client| client.encoding) else { return };
        let Some(open) = self.desk.open().get(&path) else { return };
        let mut text = open.text.as_ref().clone();
        let mut replaced = Vec::new();
        for TextDocumentContentChangeEvent { range, text: new, .. } in params.content_changes {
            let (start, end) = match range {
                Some(range) => {
                    let span = Lines::new(&text, encoding).span(FileId(0), range);
                    (span.start, span.end)
                }
                None => (0, u32::try_from(text.len()).unwrap_or(u32::MAX)),
            };
            replaced.push(Replaced { start, end, length: u32::try_from(new.len()).unwrap_or(u32::MAX) });
            text.replace_range(start as usize..end as usize, &new);
        }
        self.desk.change(&path, params.text_document.version, text, &replaced);
    }

    /// Sends the findings of each file in which they have changed. A client that asks itself is sent none.
    fn publish(&mut self) {
        if self.client.as_ref().is_none_or(|client| client.pulls) {
            return;
        }
        let mut before = std::mem::take(&mut self.sent);
        let mut sent: BTreeMap<PathBuf, Sent> = BTreeMap::new();
        for unit in self.desk.units().values() {
            let Some(snapshot) = self.snapshot_of(Some(unit)) else { continue };
            let mut found = snapshot.findings.as_ref().clone();
            for path in self.desk.open().keys() {
                if let Some(file) = unit.files.get(path) {
                    found.entry(*file).or_default();
                }
            }
            for (file, findings) in found {
                let Some(path) = snapshot.loaded.paths.get(&file) else { continue };
                let is_own = self.desk.unit_of(path).is_some_and(|(_, own)| own.revision == unit.revision);
                if !is_own || sent.contains_key(path) {
                    continue;
                }
                let version = self.desk.open().get(path).map(|open| open.version);
                let old = before.remove(path);
                // A text that was not touched has its findings where they were.
                let same = |old: &Sent| {
                    let alike = || old.findings.iter().zip(findings.iter()).all(|(old, new)| old.looks_like(new));
                    let shared = Arc::ptr_eq(&old.findings, &findings);
                    old.version == version && (shared || old.findings.len() == findings.len() && alike())
                };
                if !old.as_ref().is_some_and(same) {
                    self.tell(&snapshot, path, version, converted(&snapshot, file, &findings));
                }
                sent.insert(path.clone(), Sent { version, findings });
            }
        }
        // What has no findings any more, or is in no library any more.
        for path in before.keys().filter(|path| !sent.contains_key(*path)) {
            if let Some(snapshot) = self.snapshot_of(None) {
                self.tell(&snapshot, path, None, Vec::new());
            }
        }
        self.sent = sent;
    }

    /// Sends the findings of one file.
    fn tell(&self, snapshot: &Snapshot, path: &Path, version: Option<i32>, diagnostics: Vec<Shown<'_>>) {
        let Some(uri) = snapshot.uri(path) else { return };
        let params = Published { uri, version, diagnostics };
        if let Some(note) = Outgoing::notification("textDocument/publishDiagnostics", &params, &self.spare) {
            let _ = self.out.send(note);
        }
    }

    /// What a client has asked for may be answered otherwise now.
    fn tell_to_ask_again(&mut self) {
        let Some(client) = &self.client else { return };
        let (pulls, hints) = (client.pulls, client.refreshes_hints);
        if pulls {
            self.ask("workspace/diagnostic/refresh", &Value::Null, Asked::Nothing);
        }
        if hints {
            self.ask("workspace/inlayHint/refresh", &Value::Null, Asked::Nothing);
        }
    }
}

fn read<T: DeserializeOwned>(params: Value) -> Option<T> {
    serde_json::from_value(params).ok()
}
