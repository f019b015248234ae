//! The chip on its bench, see `host.c`.

use std::fmt::Write as _;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use withy::program::{InputRole, Line, Machine, OutputRole};

use crate::build::{Program, host, stack_floor};

/// Cycles of a millisecond.
pub const MS: u64 = 16_000;
/// Causes of a reset, as in the chip's own register: power came, from outside, the supply sank.
pub const POWER: u8 = 1;
pub const OUTSIDE: u8 = 2;
pub const SANK: u8 = 4;

/// A chip with firmware.
pub struct Chip {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    /// Cycles since the beginning.
    pub now: u64,
    /// Whether it has power.
    pub powered: bool,
    /// When outputs changed, and to what: bit n is pin n.
    pub edges: Vec<(u64, u8)>,
    /// When it was reset while it had power.
    pub resets: Vec<u64>,
    sent: Vec<u8>,
    pub machine: Machine,
}

impl Chip {
    /// With the firmware for a program's bench. Everything is at rest, current sensors follow their heaters, and power
    /// has not come.
    pub fn new(program: &Program) -> Self {
        Self::with(&program.firmware(), &program.machine)
    }

    pub fn with(elf: &std::path::Path, machine: &Machine) -> Self {
        let mut child = Command::new(host())
            .arg(elf.with_extension("hex"))
            .arg(stack_floor(elf).to_string())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let (to, from) = (child.stdin.take().unwrap(), BufReader::new(child.stdout.take().unwrap()));
        let mut chip = Self {
            child,
            to,
            from,
            now: 0,
            powered: false,
            edges: Vec::new(),
            resets: Vec::new(),
            sent: Vec::new(),
            machine: machine.clone(),
        };
        for input in &machine.inputs {
            if let Some(mask) = sensed(machine, input.role) {
                chip.command(&format!("follow {} {}", input.pin, pins(machine, mask)));
            }
        }
        chip.contacts(at_rest(machine));
        chip
    }

    /// What stands before `ok`.
    pub fn command(&mut self, command: &str) -> Vec<String> {
        writeln!(self.to, "{command}").unwrap();
        self.answer()
    }

    fn answer(&mut self) -> Vec<String> {
        let mut others = Vec::new();
        loop {
            let mut line = String::new();
            assert!(self.from.read_line(&mut line).unwrap() > 0, "the bench is gone");
            let words: Vec<&str> = line.split_whitespace().collect();
            match *words.as_slice() {
                ["edge", time, outputs] => self.edges.push((time.parse().unwrap(), outputs.parse().unwrap())),
                ["reset", time] => self.resets.push(time.parse().unwrap()),
                ["ok", time, powered, sent] => {
                    self.now = time.parse().unwrap();
                    self.powered = powered == "1";
                    let digits = sent.as_bytes().chunks(2).filter(|pair| pair.len() == 2);
                    self.sent
                        .extend(digits.map(|pair| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap()));
                    return others;
                }
                _ => others.push(line.trim().to_owned()),
            }
        }
    }

    pub fn power_on(&mut self, cause: u8) {
        self.command(&format!("on {cause}"));
    }

    pub fn power_off(&mut self) {
        self.command("off");
    }

    /// Closes contacts: bit n is input n of the machine.
    pub fn contacts(&mut self, contacts: u16) {
        let mut closed = 0u32;
        for (index, input) in self.machine.inputs.iter().enumerate() {
            closed |= u32::from(contacts >> index & 1) << input.pin;
        }
        self.command(&format!("contacts {closed}"));
    }

    pub fn run(&mut self, milliseconds: u64) {
        self.command(&format!("run {}", milliseconds * MS));
    }

    pub fn run_until(&mut self, cycles: u64) {
        if cycles > self.now {
            self.command(&format!("run {}", cycles - self.now));
        }
    }

    /// Runs until outputs are on, or all off, at most so long; whether they are. Bit n is output n of the machine.
    pub fn wait_for(&mut self, outputs: u8, on: bool, milliseconds: u64) -> bool {
        let mask = pins(&self.machine, outputs);
        let value = if on { mask } else { 0 };
        self.command(&format!("until {mask} {value} {}", milliseconds * MS));
        self.outputs() & mask == value
    }

    /// The pins that are on.
    pub fn outputs(&self) -> u8 {
        self.edges.last().map_or(0, |(_, outputs)| *outputs)
    }

    /// A press on an input, for 60 ms.
    pub fn press(&mut self, role: InputRole) {
        let input = self.machine.input(role).unwrap();
        self.contacts(at_rest(&self.machine) ^ 1 << input);
        self.run(60);
        self.contacts(at_rest(&self.machine));
        self.run(60);
    }

    /// Whether a heater has been on with its isolator closed since an edge.
    pub fn heated_since(&self, edge: usize) -> bool {
        let (heaters, isolators) = (mask(&self.machine, OutputRole::Heater), mask(&self.machine, OutputRole::Isolator));
        let (heaters, isolators) = (pins(&self.machine, heaters), pins(&self.machine, isolators));
        self.edges[edge..].iter().any(|(_, outputs)| outputs & heaters != 0 && outputs & isolators != 0)
    }

    /// Opens the line as a pseudo-terminal, and lets time pass until the next command. Its name.
    pub fn serve(&mut self) -> String {
        let port = self.command("port").remove(0);
        writeln!(self.to, "serve").unwrap();
        port
    }

    /// Ends that.
    pub fn served(&mut self) {
        // Any command ends it; the answers to both follow.
        writeln!(self.to, "run 0").unwrap();
        self.answer();
        self.answer();
    }

    /// Takes the bench away, with the line.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Chip {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Line for Chip {
    fn send(&mut self, bytes: &[u8]) -> Result<(), String> {
        self.command(&format!("send {}", hexadecimal(bytes)));
        Ok(())
    }

    fn receive(&mut self) -> Result<Vec<u8>, String> {
        self.run(5);
        Ok(std::mem::take(&mut self.sent))
    }
}

/// The outputs with a role, one bit for each.
pub fn mask(machine: &Machine, role: OutputRole) -> u8 {
    let outputs = machine.outputs.iter().enumerate();
    outputs.filter(|(_, output)| output.role == role).fold(0, |all, (index, _)| all | 1 << index)
}

/// The pins of outputs.
pub fn pins(machine: &Machine, outputs: u8) -> u8 {
    let each = machine.outputs.iter().enumerate();
    each.fold(0, |all, (index, output)| all | (outputs >> index & 1) << output.pin)
}

/// The outputs that must all be on for current to flow where an input looks.
pub fn sensed(machine: &Machine, role: InputRole) -> Option<u8> {
    let heaters = mask(machine, OutputRole::Heater);
    let heater = match role {
        InputRole::HeaterCurrent(of) => 1 << of,
        InputRole::SupplyCurrent(_) => {
            assert_eq!(heaters.count_ones(), 1, "a supply's sensor is followed for one heater only");
            heaters
        }
        _ => return None,
    };
    Some(heater | mask(machine, OutputRole::Isolator))
}

/// The contacts that are closed while nobody touches anything and the arms lie flat.
pub fn at_rest(machine: &Machine) -> u16 {
    let inputs = machine.inputs.iter().enumerate();
    inputs.fold(0, |all, (index, input)| {
        let active = matches!(input.role, InputRole::Home(_) | InputRole::Guard);
        all | u16::from(active != input.normally_closed) << index
    })
}

/// Bytes as the host reads and writes them.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
