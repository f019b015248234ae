//! The language server: what an editor shows while a recipe is typed.
//!
//! Owns the protocol: one file for each request in `requests`, and every conversion of positions, URIs and findings in
//! `convert`. It reaches the compiler only through `library`, with the same settings as the command line.

mod answers;
mod client;
mod convert;
mod desk;
mod findings;
mod main_loop;
mod placed;
mod requests;
mod transport;
mod work;

#[cfg(unix)]
use std::fs::File;
use std::io::{BufReader, Write};
#[cfg(unix)]
use std::os::fd::AsFd;
use std::sync::mpsc::{Sender, channel, sync_channel};
use std::thread;

use lsp_server::{Connection, Message};

use crate::library::CacheFolder;
use crate::server::main_loop::Server;
use crate::server::transport::{Outgoing, Spare, read_all, write_all};
use crate::server::work::Computed;

/// So many messages may wait to be read by a client before nothing more is written: the findings of a large library would
/// fill the memory.
const UNREAD: usize = 64;

/// What the main loop hears.
#[derive(Debug)]
pub enum Event {
    /// A message of the client.
    Message(Message),
    /// Something that is no message; what is wrong with it.
    Unreadable(String),
    /// Figures that were computed on the side.
    Computed(Computed),
    /// There will be no more messages.
    Closed,
}

/// Serves over standard input and output until the client ends it. True if it ended as the protocol says it should.
pub fn serve_stdio() -> bool {
    let (events, inbox) = channel();
    let (out, outgoing) = sync_channel(UNREAD);
    let reader_events = events.clone();
    // Reading ends with the process: it waits for input that may never come.
    thread::spawn(move || read_all(&mut BufReader::new(std::io::stdin()), &reader_events));
    let spare = Spare::default();
    let writer_spare = spare.clone();
    let writer = thread::spawn(move || write_all(&mut output(), &outgoing, &writer_spare));
    let orderly = Server::new(out, events, &CacheFolder::of_user(), spare).run(&inbox);
    // Everything that is to go out goes out, unless nobody reads it.
    let _ = writer.join();
    orderly
}

/// Where messages go, each in one piece: the client is woken once for it, and not for its head or for each of its lines.
#[cfg(unix)]
fn output() -> Box<dyn Write> {
    widen_output();
    let unbuffered = std::io::stdout().as_fd().try_clone_to_owned().map(File::from);
    unbuffered.map_or_else(|_| Box::new(std::io::stdout()) as Box<dyn Write>, |file| Box::new(file))
}

#[cfg(not(unix))]
fn output() -> Box<dyn Write> {
    Box::new(std::io::stdout())
}

/// Lets the findings of a long file go into the pipe to the client at once: with 64 KiB, which is usual, writer and reader
/// wake each other a dozen times, and each time may wait for a core.
#[cfg(target_os = "linux")]
fn widen_output() {
    // Output may be no pipe, and the system may allow less.
    let _ = rustix::pipe::fcntl_setpipe_size(std::io::stdout(), 1 << 20);
}

#[cfg(all(unix, not(target_os = "linux")))]
fn widen_output() {}

/// Serves over a connection in memory, for tests, with a folder of its own for what is kept.
pub fn serve(connection: Connection, cache: &CacheFolder) -> bool {
    let Connection { sender, receiver } = connection;
    let (events, inbox) = channel();
    let (out, outgoing) = sync_channel::<Outgoing>(UNREAD);
    let reader_events: Sender<Event> = events.clone();
    thread::spawn(move || {
        for message in receiver {
            if reader_events.send(Event::Message(message)).is_err() {
                return;
            }
        }
        let _ = reader_events.send(Event::Closed);
    });
    let writer = thread::spawn(move || {
        for next in outgoing {
            if let Some(message) = next.into_message()
                && sender.send(message).is_err()
            {
                return;
            }
        }
    });
    let orderly = Server::new(out, events, cache, Spare::default()).run(&inbox);
    let _ = writer.join();
    orderly
}
