//! Messages over standard input and output.
//!
//! What cannot be read as a message is answered with an error and skipped: a client's slip must not end the server.

use std::io::{BufRead, IoSlice, Read, Write};
use std::sync::mpsc::{Receiver, Sender};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use lsp_server::{ErrorCode, Message, RequestId, Response};
use serde::Serialize;
use serde_json::value::RawValue;
use serde_json::{Value, json};

use crate::server::Event;

/// Longer messages are skipped; no text that the library takes needs more.
const LONGEST: u64 = 512 * 1024 * 1024;
/// Longer lines are no headers.
const LONGEST_HEADER: u64 = 64 * 1024;

/// What goes out: a message, or an answer to something that was no message.
#[derive(Debug)]
pub enum Outgoing {
    /// A message.
    Message(Box<Message>),
    /// A message that is written already: most of them are long, and every step in between costs time.
    Written(Vec<u8>),
    /// An error that belongs to no request, since none could be read.
    Unreadable(String),
}

/// More room than this is not kept.
const MOST_SPARE: usize = 4 * 1024 * 1024;

/// The room that the last long message took, for the next one: the system would have to find it anew for each, a page
/// at a time.
#[derive(Clone, Debug, Default)]
pub struct Spare(Arc<Mutex<Vec<u8>>>);

impl Spare {
    fn lock(&self) -> MutexGuard<'_, Vec<u8>> {
        // Whoever gave up left at worst an unfinished message.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn give_back(&self, mut bytes: Vec<u8>) {
        if bytes.capacity() <= MOST_SPARE {
            bytes.clear();
            *self.lock() = bytes;
        }
    }
}

/// A notification as it is written.
#[derive(Serialize)]
struct WrittenNote<'a, P> {
    jsonrpc: &'a str,
    method: &'a str,
    params: &'a P,
}

/// An answer as it is written.
#[derive(Serialize)]
struct WrittenAnswer<'a> {
    jsonrpc: &'a str,
    id: &'a RequestId,
    result: &'a RawValue,
}

impl Outgoing {
    /// A message.
    pub fn message(message: impl Into<Message>) -> Self {
        Self::Message(Box::new(message.into()))
    }

    /// A notification; none if its parameters cannot be written.
    pub fn notification(method: &str, params: &impl Serialize, spare: &Spare) -> Option<Self> {
        let mut bytes = std::mem::take(&mut *spare.lock());
        serde_json::to_writer(&mut bytes, &WrittenNote { jsonrpc: "2.0", method, params }).ok()?;
        Some(Self::Written(bytes))
    }

    /// The answer to a request.
    pub fn answer(id: &RequestId, result: &RawValue) -> Self {
        match serde_json::to_vec(&WrittenAnswer { jsonrpc: "2.0", id, result }) {
            Ok(bytes) => Self::Written(bytes),
            Err(error) => {
                Self::message(Response::new_err(id.clone(), ErrorCode::InternalError as i32, error.to_string()))
            }
        }
    }

    /// As a message; none for what is none.
    pub fn into_message(self) -> Option<Message> {
        match self {
            Self::Message(message) => Some(*message),
            Self::Written(bytes) => serde_json::from_slice(&bytes).ok(),
            Self::Unreadable(_) => None,
        }
    }
}

/// Hands every message on, until there are no more or nobody wants them.
pub fn read_all(input: &mut dyn BufRead, events: &Sender<Event>) {
    while let Some(length) = header(input) {
        let message = match length {
            Ok(length) if length <= LONGEST => body(input, length),
            Ok(length) => skip(input, length).map(|()| Err(format!("a message of {length} bytes is too long"))),
            Err(why) => Some(Err(why)),
        };
        let sent = match message {
            None => break,
            Some(Ok(message)) => {
                let is_exit = matches!(&message, Message::Notification(note) if note.method == "exit");
                if events.send(Event::Message(message)).is_err() || is_exit {
                    break;
                }
                true
            }
            Some(Err(why)) => events.send(Event::Unreadable(why)).is_ok(),
        };
        if !sent {
            break;
        }
    }
    // Whoever waits for messages learns that there will be none.
    let _ = events.send(Event::Closed);
}

/// The length of the next message; none at the end of the input.
fn header(input: &mut dyn BufRead) -> Option<Result<u64, String>> {
    let mut length = None;
    let mut wrong = None;
    loop {
        let mut line = Vec::new();
        let read = (&mut *input).take(LONGEST_HEADER).read_until(b'\n', &mut line).ok()?;
        if read == 0 {
            return None;
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim_end_matches(['\r', '\n']);
        if line.is_empty() {
            match (length, wrong.take()) {
                (Some(length), _) => return Some(Ok(length)),
                (None, Some(why)) => return Some(Err(why)),
                // Blank lines between messages are nothing.
                (None, None) => continue,
            }
        }
        match line.split_once(':') {
            Some((name, value)) if name.trim().eq_ignore_ascii_case("content-length") => {
                match value.trim().parse::<u64>() {
                    Ok(value) => length = Some(value),
                    Err(_) => wrong = Some(format!("`{}` is no length", value.trim())),
                }
            }
            Some(_) => {}
            None => wrong = Some("a header without `:`".to_owned()),
        }
    }
}

/// The message of a length; none where the input ends before it does.
fn body(input: &mut dyn BufRead, length: u64) -> Option<Result<Message, String>> {
    let mut bytes = Vec::new();
    let read = input.take(length).read_to_end(&mut bytes).ok()?;
    if u64::try_from(read).ok()? < length {
        return None;
    }
    Some(serde_json::from_slice(&bytes).map_err(|error| format!("this is no message: {error}")))
}

fn skip(input: &mut dyn BufRead, length: u64) -> Option<()> {
    let skipped = std::io::copy(&mut input.take(length), &mut std::io::sink()).ok()?;
    (skipped == length).then_some(())
}

/// Writes everything that goes out, until nothing more does.
pub fn write_all(output: &mut dyn Write, outgoing: &Receiver<Outgoing>, spare: &Spare) {
    for next in outgoing {
        let written = match next {
            Outgoing::Message(message) => {
                let mut bytes = Vec::new();
                message.write(&mut bytes).and_then(|()| together(output, b"", &bytes))
            }
            Outgoing::Written(bytes) => {
                let written = framed(output, &bytes);
                spare.give_back(bytes);
                written
            }
            Outgoing::Unreadable(why) => unreadable(output, &why),
        };
        if written.is_err() {
            return;
        }
    }
}

/// The protocol has an answer without a request for this.
fn unreadable(output: &mut dyn Write, why: &str) -> std::io::Result<()> {
    let answer: Value = json!({ "jsonrpc": "2.0", "id": null, "error": { "code": -32_700, "message": why } });
    framed(output, answer.to_string().as_bytes())
}

fn framed(output: &mut dyn Write, body: &[u8]) -> std::io::Result<()> {
    together(output, format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes(), body)
}

/// Writes a head and what follows in one go, where that can be.
fn together(output: &mut dyn Write, head: &[u8], body: &[u8]) -> std::io::Result<()> {
    let written = output.write_vectored(&[IoSlice::new(head), IoSlice::new(body)])?;
    output.write_all(head.get(written..).unwrap_or_default())?;
    output.write_all(body.get(written.saturating_sub(head.len())..).unwrap_or_default())?;
    output.flush()
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use lsp_server::Message;

    use super::read_all;
    use crate::server::Event;

    fn framed(body: &str) -> String {
        format!("Content-Length: {}\r\n\r\n{body}", body.len())
    }

    #[test]
    fn what_is_no_message_is_told_and_skipped() {
        let exit = framed(r#"{"jsonrpc":"2.0","method":"exit"}"#);
        let input = [
            framed("{"),
            "Content-Length: many\r\n\r\n".to_owned(),
            "nonsense\r\n\r\n".to_owned(),
            format!("Content-Type: µ\r\ncontent-length:{}\r\n\r\n{}", 36, r#"{"jsonrpc":"2.0","method":"a/b.cde"}"#),
            framed("\u{b5}"),
            exit,
        ]
        .concat();
        let (events, inbox) = channel();
        read_all(&mut input.as_bytes(), &events);
        drop(events);
        let heard: Vec<String> = inbox
            .iter()
            .filter_map(|event| match event {
                Event::Message(Message::Notification(note)) => Some(note.method),
                Event::Unreadable(_) => Some("?".to_owned()),
                _ => None,
            })
            .collect();
        assert_eq!(heard, ["?", "?", "?", "a/b.cde", "?", "exit"]);
    }

    #[test]
    fn an_input_that_breaks_off_is_an_end() {
        for input in ["", "Content-Length: 10\r\n\r\n{}", "Content-Length", "Content-Length: 99999999999999\r\n\r\n{}"]
        {
            let (events, inbox) = channel();
            read_all(&mut input.as_bytes(), &events);
            assert!(matches!(inbox.try_recv(), Ok(Event::Closed)), "{input}");
        }
    }
}
