//! `withy send` over a pseudo-terminal to the firmware, and loads that are cut short.

use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

use withy::program::{Client, InputRole, frame};

use crate::build::{Program, firmware};
use crate::host::{Chip, MS, POWER, hexadecimal};

/// Runs `withy send`; its exit code and what it said.
fn send(port: &str, arguments: &[&str]) -> (i32, String) {
    let mut withy = Command::new(env!("CARGO_BIN_EXE_withy"));
    said(&withy.args(["send", "--port", port]).args(arguments).output().unwrap())
}

fn said(output: &Output) -> (i32, String) {
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    (output.status.code().unwrap(), text)
}

fn file(program: &Program) -> String {
    program.folder.join("program.wtp").display().to_string()
}

/// A chip that has been through its self-test.
fn ready(program: &Program) -> Chip {
    let mut chip = Chip::new(program);
    chip.power_on(POWER);
    chip.run(2000);
    chip
}

#[test]
fn withy_send_loads_reads_back_and_fetches_the_log() {
    let (riser, cover) = (Program::of("riser", "riser_run"), Program::of("dust_cover", "dust_cover_run"));
    let mut chip = ready(&riser);
    let port = chip.serve();
    assert_eq!(
        send(&port, &[]),
        (
            0,
            "bench dc2a30c2, wiring 2d445925, room for 2048 bytes\nit waits for a press on start\nholds no program\n"
                .to_owned()
        )
    );
    for program in [&riser, &cover, &riser] {
        let (code, text) = send(&port, &[&file(program)]);
        assert!(code == 0 && text.starts_with("loaded, and read back the same\n"), "{code} {text}");
        assert!(text.ends_with("It starts when somebody presses start at the bench, and not before.\n"), "{text}");
    }
    let (code, text) = send(&port, &["--log"]);
    assert!(code == 0 && text.contains("holds `riser_run`, digest ") && text.contains("tested"), "{code} {text}");
    chip.served();
    // What was sent is in the flash, and there when power comes again.
    chip.power_off();
    let edge = chip.edges.len();
    chip.power_on(POWER);
    chip.run(60_000);
    assert!(!chip.heated_since(edge));
    assert!(chip.command("flash")[0].contains(&hexadecimal(&riser.image)));
}

#[test]
fn what_is_wrong_with_the_line_or_the_machine_is_said_in_words() {
    let riser = Program::of("riser", "riser_run");
    let (code, text) = send("/dev/no-such-line", &[&file(&riser)]);
    assert!(code == 3 && text.contains("the port `/dev/no-such-line` cannot be opened"), "{code} {text}");
    // Nobody answers while the controller has no power.
    let mut dead = Chip::new(&riser);
    let (code, text) = send(&dead.serve(), &[]);
    assert!(code == 3 && text.contains("no answer: is the controller powered"), "{code} {text}");
    // The controller of another bench.
    let south = Program::of("tent_card", "tent_card_run");
    assert_ne!(south.machine.bench, riser.machine.bench);
    let (code, text) = send(&ready(&south).serve(), &[&file(&riser)]);
    assert!(code == 1 && text.contains("another bench"), "{code} {text}");
    // No room.
    let header = std::fs::read_to_string(riser.folder.join("machine.h")).unwrap();
    assert!(header.contains("#define WITHY_SPACE 2048u"));
    let small = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("avr/small.h");
    std::fs::write(&small, header.replace("#define WITHY_SPACE 2048u", "#define WITHY_SPACE 300u")).unwrap();
    let mut chip = Chip::with(&firmware(&small), &riser.machine);
    chip.power_on(POWER);
    chip.run(2000);
    let (code, text) = send(&chip.serve(), &[&file(&riser)]);
    assert!(code == 1 && text.contains("larger than"), "{code} {text}");
    // A program runs.
    let mut chip = ready(&riser);
    Client::new(&mut chip).send(&riser.image, |_| {}).unwrap();
    chip.press(InputRole::Start);
    let port = chip.serve();
    let (code, text) = send(&port, &[&file(&riser)]);
    assert!(code == 3 && text.contains("the controller is at work"), "{code} {text}");
}

#[test]
fn a_line_that_breaks_in_the_middle_is_told_and_the_old_program_stays() {
    let riser = Program::of("riser", "riser_run");
    let mut chip = ready(&riser);
    chip.command("cut 250");
    let (code, text) = send(&chip.serve(), &[&file(&riser)]);
    assert!(code == 3 && text.contains("no answer") && text.contains("It broke off after 192 bytes"), "{code} {text}");
    // The adapter is pulled out.
    let mut chip = ready(&riser);
    let port = chip.serve();
    let withy = Command::new(env!("CARGO_BIN_EXE_withy"))
        .args(["send", "--port", &port, &file(&riser)])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(150));
    chip.kill();
    let (code, text) = said(&withy.wait_with_output().unwrap());
    assert!(code == 3 || (code == 0 && text.contains("read back the same")), "{code} {text}");
    assert!(code == 0 || text.contains("the line broke") || text.contains("cannot be opened"), "{text}");
}

/// Wherever power goes while a program is loaded, the one before or the new one is there afterwards, whole.
#[test]
fn power_cut_while_loading_leaves_a_whole_program() {
    let (old, new) = (Program::of("riser", "riser_run"), Program::of("dust_cover", "dust_cover_run"));
    let mut chip = ready(&old);
    let mut count = Counting { chip: &mut chip, sent: 0 };
    Client::new(&mut count).send(&new.image, |_| {}).unwrap();
    let bytes = count.sent;
    let mut seen = std::collections::BTreeMap::new();
    for cut in (1..bytes).step_by(if crate::deep() { 1 } else { 61 }) {
        Client::new(&mut chip).send(&old.image, |_| {}).unwrap();
        chip.command(&format!("cut {cut}"));
        assert!(Client::new(&mut chip).send(&new.image, |_| {}).is_err(), "cut after {cut}");
        assert!(!chip.powered);
        *seen.entry(holds_after_power(&mut chip, &old, &new)).or_insert(0) += 1;
    }
    // Until the commit the old one; while the new one is read back, the new one.
    assert_eq!(seen.len(), 2, "{seen:?}");
}

/// A line that counts.
struct Counting<'a> {
    chip: &'a mut Chip,
    sent: usize,
}

impl withy::program::Line for Counting<'_> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), String> {
        self.sent += bytes.len();
        self.chip.send(bytes)
    }

    fn receive(&mut self) -> Result<Vec<u8>, String> {
        self.chip.receive()
    }
}

/// Which of two programs a chip holds when power comes: one of them, to the byte.
fn holds_after_power(chip: &mut Chip, old: &Program, new: &Program) -> &'static str {
    chip.power_on(POWER);
    chip.run(1500);
    let (digest, _) = Client::new(chip).hello().unwrap().loaded.expect("a program");
    let (which, program) = if digest == old.image[8..24] { ("old", old) } else { ("new", new) };
    assert_eq!(digest, program.image[8..24]);
    assert!(chip.command("flash")[0].contains(&hexadecimal(&program.image)));
    which
}

/// The commit itself, cycle by cycle around the moment from which the new program counts.
#[test]
fn power_cut_while_committing_leaves_a_whole_program() {
    let (old, new) = (Program::of("riser", "riser_run"), Program::of("dust_cover", "dust_cover_run"));
    let mut chip = ready(&old);
    let mut after = |cycles: u64| {
        Client::new(&mut chip).send(&old.image, |_| {}).unwrap();
        let mut ask = |number: u8, message: &[u8]| {
            let framed = frame(&[&[message[0], number], &message[1..]].concat());
            chip.command(&format!("send {}", hexadecimal(&framed)));
        };
        let length = u16::try_from(new.image.len()).unwrap().to_le_bytes();
        ask(1, &[2, length[0], length[1]]);
        chip.run(40);
        for (index, piece) in new.image.chunks(64).enumerate() {
            let offset = u16::try_from(index * 64).unwrap().to_le_bytes();
            let framed = frame(&[&[3, 2 + u8::try_from(index).unwrap()], offset.as_slice(), piece].concat());
            chip.command(&format!("send {}", hexadecimal(&framed)));
            chip.run(40);
        }
        chip.command(&format!("send {}", hexadecimal(&frame(&[4, 200]))));
        chip.command(&format!("run {cycles}"));
        chip.power_off();
        holds_after_power(&mut chip, &old, &new)
    };
    let (mut early, mut late) = (0, 40 * MS);
    assert_eq!((after(early), after(late)), ("old", "new"));
    while late - early > 64 {
        let middle = early.midpoint(late);
        if after(middle) == "old" { early = middle } else { late = middle }
    }
    // Around it, closely: nothing but one of the two.
    for cycles in (early.saturating_sub(600)..late + 200).step_by(if crate::deep() { 3 } else { 61 }) {
        after(cycles);
    }
}

/// Whatever comes over the line, no heater is on.
#[test]
fn the_line_cannot_start_heat() {
    let riser = Program::of("riser", "riser_run");
    let mut chip = ready(&riser);
    Client::new(&mut chip).send(&riser.image, |_| {}).unwrap();
    let edge = chip.edges.len();
    let mut random = 0x2545_F491u32;
    let mut next = move || {
        random ^= random << 13;
        random ^= random >> 17;
        random ^= random << 5;
        random
    };
    for _ in 0..if crate::deep() { 5000 } else { 200 } {
        let length = usize::try_from(next() % 12).unwrap();
        let kind = u8::try_from(next() % 10).unwrap();
        // A number that is asked for nowhere else.
        let mut message = vec![kind, 200];
        message.extend((0..length).map(|_| u8::try_from(next() & 0xFF).unwrap()));
        // Every other one is a frame that is whole; the rest are bytes.
        let bytes = if next() % 2 == 0 { frame(&message) } else { message };
        chip.command(&format!("send {}", hexadecimal(&bytes)));
        chip.run(30);
    }
    assert!(!chip.heated_since(edge));
    assert!(chip.resets.is_empty());
    assert_eq!(Client::new(&mut chip).hello().unwrap().state, 1);
}
