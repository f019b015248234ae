//! The loader: the sending side against the controller's C, over a pipe; with noise, and with power cut at every byte.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use withy::program::{Client, Line, Machine, NotSent, Reason, SerialError};

use crate::runtime::{self, machine_bytes};
use crate::vectors::{machine, sound_image};

fn program() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| runtime::build("serial", &[]))
}

/// A controller that runs as a process of its own; its slots stay in a file when it ends.
struct Controller {
    child: Child,
    to: ChildStdin,
    from: Receiver<Vec<u8>>,
    /// Each so many bytes that are sent, one is damaged.
    damages: Option<usize>,
    sent: usize,
}

impl Controller {
    fn start(folder: &Path, machine: &Machine, cut_after: Option<(usize, u8)>) -> Self {
        let constants = folder.join("machine");
        let mut bytes = machine.bench.to_le_bytes().to_vec();
        bytes.extend(machine.space.to_le_bytes());
        bytes.extend(machine_bytes(machine));
        std::fs::write(&constants, bytes).unwrap();
        let mut command = Command::new(program());
        command.arg(constants).arg(folder.join("slots"));
        if let Some((bytes, torn)) = cut_after {
            command.arg(bytes.to_string()).arg(torn.to_string());
        }
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let to = child.stdin.take().unwrap();
        let mut out = child.stdout.take().unwrap();
        let (sender, from) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 256];
            while let Ok(count) = out.read(&mut bytes) {
                if count == 0 || sender.send(bytes[..count].to_vec()).is_err() {
                    return;
                }
            }
        });
        Self { child, to, from, damages: None, sent: 0 }
    }

    /// Closes the line; its exit code.
    fn end(self) -> i32 {
        let Self { mut child, to, .. } = self;
        drop(to);
        child.wait().unwrap().code().unwrap_or(-1)
    }
}

impl Line for Controller {
    fn send(&mut self, bytes: &[u8]) -> Result<(), String> {
        let mut bytes = bytes.to_vec();
        for byte in &mut bytes {
            self.sent += 1;
            if self.damages.is_some_and(|every| self.sent.is_multiple_of(every)) {
                *byte ^= 0x04;
            }
        }
        self.to.write_all(&bytes).map_err(|error| error.to_string())
    }

    fn receive(&mut self) -> Result<Vec<u8>, String> {
        match self.from.recv_timeout(Duration::from_millis(60)) {
            Ok(bytes) => Ok(bytes),
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => Ok(Vec::new()),
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => Err("the controller is gone".to_owned()),
        }
    }
}

fn named(name: &str) -> Vec<u8> {
    let mut image = sound_image();
    name.clone_into(&mut image.name);
    image.encode()
}

#[test]
fn a_program_is_loaded_read_back_and_kept() {
    let folder = tempfile::tempdir().unwrap();
    let mut controller = Controller::start(folder.path(), &machine(), None);
    let mut client = Client::new(&mut controller);
    assert_eq!(client.hello().unwrap().loaded, None);
    let image = named("first");
    let mut told = Vec::new();
    client.send(&image, |sent| told.push(sent)).unwrap();
    assert_eq!(told.last(), Some(&image.len()));
    assert_eq!(client.hello().unwrap().loaded.unwrap().1, "first");
    assert_eq!(client.log().unwrap(), []);
    assert_eq!(controller.end(), 0);
    let mut again = Controller::start(folder.path(), &machine(), None);
    let hello = Client::new(&mut again).hello().unwrap();
    assert_eq!((hello.bench, hello.wiring, hello.state), (machine().bench, machine().digest(), 0));
    assert_eq!(hello.loaded, Some((*b"0123456789abcdef", "first".to_owned())));
}

#[test]
fn a_noisy_line_only_takes_longer() {
    let folder = tempfile::tempdir().unwrap();
    let mut controller = Controller::start(folder.path(), &machine(), None);
    controller.damages = Some(211);
    Client::new(&mut controller).send(&named("noisy"), |_| {}).unwrap();
    assert_eq!(Client::new(&mut controller).hello().unwrap().loaded.unwrap().1, "noisy");
}

#[test]
fn what_is_not_for_this_controller_is_not_sent() {
    let folder = tempfile::tempdir().unwrap();
    let mut other = machine();
    other.bench += 1;
    let refused = |machine: &Machine, image: &[u8]| {
        let mut controller = Controller::start(folder.path(), machine, None);
        let answer = Client::new(&mut controller).send(image, |_| {});
        // It keeps its slots when it ends, and the next one reads them.
        assert_eq!(controller.end(), 0);
        match answer {
            Err(NotSent::Refused(refusal)) => refusal.reason,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(refused(&other, &named("a")), Reason::OtherBench);
    let mut other = machine();
    other.operators = 2;
    assert_eq!(refused(&other, &named("a")), Reason::OtherWiring);
    let mut other = machine();
    other.space = 100;
    assert_eq!(refused(&other, &named("a")), Reason::TooLarge);
    assert_eq!(refused(&machine(), b"WTHY"), Reason::Length);
    // A limit that only the controller knows: it says no itself, and keeps what it has.
    let mut stricter = machine();
    stricter.outputs[0].longest -= 1;
    let mut controller = Controller::start(folder.path(), &stricter, None);
    let answer = Client::new(&mut controller).send(&named("a"), |_| {});
    assert!(matches!(answer, Err(NotSent::RefusedThere(Some(Reason::LimitRaised), _))), "{answer:?}");
}

struct Dead;

impl Line for Dead {
    fn send(&mut self, _: &[u8]) -> Result<(), String> {
        Ok(())
    }

    fn receive(&mut self) -> Result<Vec<u8>, String> {
        Ok(Vec::new())
    }
}

#[test]
fn nobody_there_is_told_as_such() {
    let answer = Client::new(&mut Dead).hello();
    assert_eq!(answer, Err(SerialError::Silent));
    assert!(SerialError::Silent.to_string().starts_with("no answer: is the controller powered"));
}

/// Wherever power goes while a program is loaded, the one before or the new one is there afterwards, whole.
#[test]
fn power_cut_while_loading_leaves_a_whole_program() {
    let length = named("old").len();
    let mut seen = std::collections::BTreeSet::new();
    let step = if crate::deep() { 1 } else { 37 };
    // A mark is two bytes and their complements. The first cuts lie in the one that is taken away, the last ones around the
    // one that makes the new program count; the byte that is being written is torn to each of these.
    let cuts = (0..4).chain((4..length).step_by(step)).chain(length..length + 10);
    for (cut, torn) in cuts.flat_map(|cut| [0xFF, 0, 0x5A, 1, 2].map(|torn| (cut, torn))) {
        let folder = tempfile::tempdir().unwrap();
        let mut controller = Controller::start(folder.path(), &machine(), None);
        for name in ["oldest", "old"] {
            Client::new(&mut controller).send(&named(name), |_| {}).unwrap();
        }
        assert_eq!(controller.end(), 0);
        let mut controller = Controller::start(folder.path(), &machine(), Some((cut, torn)));
        let sent = Client::new(&mut controller).send(&named("new"), |_| {});
        let code = controller.end();
        assert_eq!(code == 9, sent.is_err(), "cut after {cut}, torn to {torn}: {sent:?}");
        let mut controller = Controller::start(folder.path(), &machine(), None);
        let (_, name) =
            Client::new(&mut controller).hello().unwrap().loaded.unwrap_or_else(|| panic!("cut after {cut}"));
        // A last byte that is torn to what it should be is whole: then the new program counts, although nobody was told.
        let whole = name == "new" && (sent.is_ok() || cut >= length + 4);
        assert!(name == "old" || whole, "cut after {cut}, torn to {torn}: {name}, {sent:?}");
        seen.insert(name);
    }
    assert_eq!(seen.len(), 2, "{seen:?}");
}
