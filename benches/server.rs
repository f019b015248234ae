//! How long an editor waits: the program itself as a language server, driven over pipes by a client.
//!
//! `cargo bench --bench server` prints, for a file of 1,000 lines and one of 5,000: start to first findings, keystroke to
//! findings of syntax, names, units and types over 200 keystrokes, and keystroke to computed figures; then the memory
//! that a library of 10,000 recipes takes. A time ends when the last byte of what is waited for has arrived. `cargo bench --bench server -- lines` leaves the memory out.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use serde::Deserialize;
use serde_json::{Value, json};

const KEYSTROKES: usize = 200;
/// A fast typist leaves this much between two of them.
const PAUSE: Duration = Duration::from_millis(40);
const STARTS: usize = 20;
const RECIPES_PER_FILE: usize = 10;

fn main() -> io::Result<()> {
    for lines in [1_000, 5_000] {
        file_of(lines)?;
    }
    if !std::env::args().any(|argument| argument == "lines") {
        memory()?;
    }
    Ok(())
}

fn file_of(lines: usize) -> io::Result<()> {
    let folder = tempfile::tempdir()?;
    let library = folder.path().canonicalize()?.join("library");
    let cache = folder.path().join("cache");
    let text = recipes(0, lines / 24 + 1, 300);
    base(&library)?;
    let path = library.join("recipes/r0.withy");
    fs::write(&path, &text)?;
    println!("a file of {} lines, {} recipes", text.lines().count(), text.matches("\nrecipe ").count());
    let mut starts = Vec::new();
    for _ in 0..STARTS {
        let start = Instant::now();
        let mut server = Server::start(&cache)?;
        server.open(&path, &text)?;
        starts.push(server.findings(1)?.duration_since(start));
        server.end()?;
    }
    show("start to first findings", &mut starts);
    let mut server = Server::start(&cache)?;
    server.open(&path, &text)?;
    server.findings(1)?;
    server.figures(&path)?;
    show("keystroke to findings", &mut typed(&mut server, &path, &text)?);
    show("keystroke to figures", &mut computed(&mut server, &path, &text)?);
    server.end()
}

/// Types entries into one recipe after the other and takes them out again, letter by letter.
fn typed(server: &mut Server, path: &Path, text: &str) -> io::Result<Vec<Duration>> {
    let mut took = Vec::new();
    let places: Vec<usize> = text.match_indices("    heat 150 s\n").map(|(at, found)| at + found.len()).collect();
    let entry = "    swing 95 deg  # µ\n";
    for (round, place) in places.iter().cycle().enumerate() {
        let mut edits: Vec<(usize, usize, String)> = Vec::new();
        let mut at = *place;
        for letter in entry.chars() {
            edits.push((at, at, letter.to_string()));
            at += letter.len_utf8();
        }
        for letter in entry.chars().rev() {
            edits.push((at - letter.len_utf8(), at, String::new()));
            at -= letter.len_utf8();
        }
        let mut now = text.to_owned();
        for (start, end, new) in edits {
            if took.len() == KEYSTROKES {
                // What is left of the entry goes in one step.
                if now != text {
                    server.replace(path, text)?;
                    server.findings(server.version)?;
                }
                return Ok(took);
            }
            std::thread::sleep(PAUSE);
            let (from, to) = (position(&now, start), position(&now, end));
            now.replace_range(start..end, &new);
            let begin = Instant::now();
            server.edit(path, &from, &to, &new)?;
            took.push(server.findings(server.version)?.duration_since(begin));
        }
        if round > KEYSTROKES {
            break;
        }
    }
    Ok(took)
}

/// Changes a heat time, and waits for what follows from it.
fn computed(server: &mut Server, path: &Path, text: &str) -> io::Result<Vec<Duration>> {
    let mut took = Vec::new();
    let places: Vec<usize> = text.match_indices("heat 150 s").map(|found| found.0 + "heat 15".len()).collect();
    for place in places.iter().cycle().take(40) {
        let (from, to) = (position(text, *place), position(text, place + 1));
        for digit in ["1", "0"] {
            let begin = Instant::now();
            server.edit(path, &from, &to, digit)?;
            took.push(server.figures(path)?.duration_since(begin));
        }
    }
    Ok(took)
}

fn memory() -> io::Result<()> {
    let folder = tempfile::tempdir()?;
    let library = folder.path().canonicalize()?.join("library");
    base(&library)?;
    for file in 0..1000 {
        fs::write(library.join(format!("recipes/r{file}.withy")), recipes(file, RECIPES_PER_FILE, 300))?;
    }
    let path = library.join("recipes/r7.withy");
    let text = fs::read_to_string(&path)?;
    let mut server = Server::start(&folder.path().join("cache"))?;
    let begin = Instant::now();
    server.open(&path, &text)?;
    server.findings(1)?;
    println!("a library of 10,000 recipes in 1,000 files");
    println!("  first findings after {:.0} ms", begin.elapsed().as_secs_f64() * 1e3);
    server.figures(&path)?;
    println!("  first figures after {:.0} ms", begin.elapsed().as_secs_f64() * 1e3);
    server.show_memory();
    let at = text.find("heat 150 s").map_or(0, |found| found + "heat 15".len());
    let (from, to) = (position(&text, at), position(&text, at + 1));
    let (mut quick, mut slow) = (Vec::new(), Vec::new());
    for digit in ["1", "2", "3", "4", "5", "6", "7", "8", "9", "0"] {
        let begin = Instant::now();
        server.edit(&path, &from, &to, digit)?;
        quick.push(server.findings(server.version)?.duration_since(begin));
        slow.push(server.figures(&path)?.duration_since(begin));
    }
    show("keystroke to findings", &mut quick);
    show("keystroke to figures", &mut slow);
    server.show_memory();
    server.end()
}

fn show(what: &str, times: &mut [Duration]) {
    times.sort_unstable();
    let at = |share: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a length")]
        let place = (share * (times.len() - 1) as f64).ceil() as usize;
        times.get(place).map_or(0.0, |time| time.as_secs_f64() * 1e3)
    };
    println!(
        "  {what:<26} p50 {:>8.2} ms   p99 {:>8.2} ms   most {:>8.2} ms   ({} times)",
        at(0.5),
        at(0.99),
        at(1.0),
        times.len()
    );
}

/// What tells one message from another.
#[derive(Deserialize)]
struct Head {
    id: Option<i32>,
    method: Option<String>,
}

/// A server, and what a client keeps of it.
struct Server {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
    /// The last message.
    body: Vec<u8>,
    next: i32,
    version: i32,
}

impl Server {
    fn start(cache: &Path) -> io::Result<Self> {
        let mut child = Command::new(env!("CARGO_BIN_EXE_withy"))
            .arg("language-server")
            .env("WITHY_CACHE", cache)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()?;
        let gone = || io::Error::other("no pipes");
        let input = child.stdin.take().ok_or_else(gone)?;
        let output = BufReader::new(child.stdout.take().ok_or_else(gone)?);
        let mut server = Self { child, input, output, body: Vec::new(), next: 0, version: 0 };
        server.ask("initialize", &json!({ "processId": null, "rootUri": null, "capabilities": {} }))?;
        server.tell("initialized", &json!({}))?;
        Ok(server)
    }

    fn send(&mut self, message: &Value) -> io::Result<()> {
        let body = message.to_string();
        self.input.write_all(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes())?;
        self.input.flush()
    }

    fn tell(&mut self, method: &str, params: &Value) -> io::Result<()> {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }))
    }

    /// Reads a message, and tells when its last byte was there.
    fn receive(&mut self) -> io::Result<Instant> {
        let mut length = 0;
        loop {
            let mut line = String::new();
            if self.output.read_line(&mut line)? == 0 {
                return Err(io::Error::other("the server is gone"));
            }
            if line == "\r\n" {
                break;
            }
            if let Some(value) = line.strip_prefix("Content-Length: ") {
                length = value.trim().parse().map_err(io::Error::other)?;
            }
        }
        // In the same room each time: to find new room for every message is no time of the server's.
        self.body.resize(length, 0);
        self.output.read_exact(&mut self.body)?;
        Ok(Instant::now())
    }

    /// An answer, and when its last byte was there.
    fn ask(&mut self, method: &str, params: &Value) -> io::Result<(Value, Instant)> {
        self.next += 1;
        let id = self.next;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }))?;
        loop {
            let arrived = self.receive()?;
            // Findings that come before it are not made anything of, which would take longer than they took to come.
            let head: Head = serde_json::from_slice(&self.body).map_err(io::Error::other)?;
            if head.id == Some(id) && head.method.is_none() {
                return Ok((serde_json::from_slice(&self.body).map_err(io::Error::other)?, arrived));
            }
        }
    }

    fn open(&mut self, path: &Path, text: &str) -> io::Result<()> {
        self.version = 1;
        let document = json!({ "uri": uri(path), "languageId": "withy", "version": 1, "text": text });
        self.tell("textDocument/didOpen", &json!({ "textDocument": document }))
    }

    fn edit(&mut self, path: &Path, from: &Value, to: &Value, new: &str) -> io::Result<()> {
        self.change(path, &json!({ "range": { "start": from, "end": to }, "text": new }))
    }

    fn replace(&mut self, path: &Path, new: &str) -> io::Result<()> {
        self.change(path, &json!({ "text": new }))
    }

    fn change(&mut self, path: &Path, change: &Value) -> io::Result<()> {
        self.version += 1;
        let document = json!({ "uri": uri(path), "version": self.version });
        self.tell("textDocument/didChange", &json!({ "textDocument": document, "contentChanges": [change] }))
    }

    /// Waits for the findings of a version, and tells when their last byte was there: what the client then makes of
    /// them is not the server's time.
    fn findings(&mut self, version: i32) -> io::Result<Instant> {
        loop {
            let arrived = self.receive()?;
            let message: Value = serde_json::from_slice(&self.body).map_err(io::Error::other)?;
            if message["method"] == "textDocument/publishDiagnostics" && message["params"]["version"] == version {
                return Ok(arrived);
            }
        }
    }

    /// Waits until everything is computed: hints are not given before. Tells when the last byte of them was there.
    fn figures(&mut self, path: &Path) -> io::Result<Instant> {
        let document = json!({ "uri": uri(path) });
        let nowhere = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
        loop {
            let (_, arrived) =
                self.ask("textDocument/inlayHint", &json!({ "textDocument": document, "range": nowhere }))?;
            let (report, _) = self.ask("textDocument/diagnostic", &json!({ "textDocument": document }))?;
            if !report["result"]["resultId"].is_null() {
                return Ok(arrived);
            }
        }
    }

    /// Where the system tells it.
    fn show_memory(&self) {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        for (key, what) in [("VmRSS:", "memory now"), ("VmHWM:", "memory at most")] {
            let line = status.lines().find_map(|line| line.strip_prefix(key));
            if let Some(kib) = line.and_then(|line| line.split_whitespace().next()?.parse::<f64>().ok()) {
                println!("  {what:<26} {:>8.1} MB", kib * 1024.0 / 1e6);
            }
        }
    }

    fn end(mut self) -> io::Result<()> {
        self.ask("shutdown", &Value::Null)?;
        self.tell("exit", &Value::Null)?;
        self.child.wait().map(drop)
    }
}

fn uri(path: &Path) -> String {
    format!("file://{}", path.display())
}

fn position(text: &str, at: usize) -> Value {
    let before = text.get(..at).unwrap_or(text);
    let last = before.rsplit('\n').next().unwrap_or("");
    json!({ "line": before.matches('\n').count(), "character": last.encode_utf16().count() })
}

/// Stock, a bench and the settings.
fn base(library: &Path) -> io::Result<()> {
    for folder in ["stock", "bench", "recipes"] {
        fs::create_dir_all(library.join(folder))?;
    }
    let files: [(&str, &str); 3] = [
        ("withy.toml", "sources = [\"recipes\"]\n"),
        ("stock/acrylic.withy", include_str!("../src/cli/start/acrylic.withy")),
        ("bench/first.withy", include_str!("../src/cli/start/first.withy")),
    ];
    files.iter().try_for_each(|(name, text)| fs::write(library.join(PathBuf::from(name)), text))
}

/// Parts with a recipe each, 24 lines together, whose angles are dealt out so that there are as many distinct bends as
/// asked for.
fn recipes(file: usize, count: usize, bends: usize) -> String {
    let mut text = "language 1\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/first.withy\"\n".to_owned();
    for recipe in 0..count {
        let angle = |bend: usize| 60.0 + 0.01 * (((file * count + recipe) * 3 + bend) % bends) as f64;
        let _ = write!(
            text,
            "\n## A tray for box {file}, shelf {recipe}: 22 °C, 8 µm.\npart tray_{file}_{recipe} {{\n  sheet clear_3\n  \
             width {} mm\n  profile outside {{\n    leg 70 mm\n    bend up {:.2} deg radius 6 mm as front\n    leg {} mm\n    \
             bend up {:.2} deg radius 6 mm as back\n    leg 60 mm\n    bend up {:.2} deg radius 6 mm as lip\n    leg 50 mm\n  \
             }}\n}}\n\nrecipe tray_{file}_{recipe}_run for tray_{file}_{recipe} on first {{\n  ambient 18..26 degC\n  \
             every bend {{\n    heat 150 s\n    set 160 s\n  }}\n  order lip then front then back\n}}\n",
            120 + recipe % 90,
            angle(0),
            80 + recipe % 50,
            angle(1),
            angle(2),
        );
    }
    text
}
