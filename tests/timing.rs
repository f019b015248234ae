//! Timing programs of the examples: what is written reads back, parses elsewhere, and does what the step table says.

#[path = "timing/structured_text.rs"]
mod structured_text;

use serde_json::Value;
use withy::library::Compiled;
use withy::program::{Controller, Event, EventKind, InputRole, Machine, OutputRole, State, hexadecimal, verify};

use crate::examples::compiled;

fn bytes<'a>(one: &'a Compiled, name: &str) -> &'a [u8] {
    &one.outputs.iter().find(|output| output.name == name).unwrap_or_else(|| panic!("{}: no {name}", one.name)).bytes
}

fn text<'a>(one: &'a Compiled, name: &str) -> &'a str {
    std::str::from_utf8(bytes(one, name)).unwrap()
}

#[test]
fn every_example_has_a_program_that_passes_every_proof() {
    for one in compiled() {
        assert_eq!(one.no_program, None, "{}", one.name);
        let image = bytes(one, "program.wtp");
        let verified = verify(image, None).unwrap_or_else(|refusal| panic!("{}: {refusal}", one.name));
        assert!(verified.run_time > 0, "{}", one.name);
        // A program is only called proved where every bend of its steps is.
        let steps: Value = serde_json::from_str(text(one, "steps.json")).unwrap();
        let digest = hexadecimal(&verified.layout.digest);
        assert_eq!(steps["digest"], digest, "{}", one.name);
        let nominal = verified.layout.verdict == withy::program::Verdict::Nominal;
        for form in ["program.lst", "program.h", "program.st"] {
            assert_eq!(text(one, form).contains("NOMINAL"), nominal, "{} {form}", one.name);
        }
    }
}

/// Read by the same library that others use, and compared with the image.
#[test]
fn other_forms_hold_the_same_bytes() {
    for one in compiled() {
        let image = bytes(one, "program.wtp");
        let mut read = Vec::new();
        let mut ended = false;
        for record in ihex::Reader::new(text(one, "program.hex")) {
            match record.unwrap() {
                ihex::Record::Data { offset, value } => {
                    assert_eq!(usize::from(offset), read.len());
                    read.extend(value);
                }
                ihex::Record::EndOfFile => ended = true,
                other => panic!("{other:?}"),
            }
        }
        assert!(ended && read == image, "{}", one.name);
        let array = text(one, "program.h").split_once("= {").unwrap().1.split_once('}').unwrap().0;
        let numbers = array.split(',').map(str::trim).filter(|word| !word.is_empty());
        let numbers: Vec<u8> =
            numbers.map(|word| u8::from_str_radix(word.strip_prefix("0x").unwrap(), 16).unwrap()).collect();
        assert_eq!(numbers, image, "{}", one.name);
    }
}

#[test]
fn a_listing_names_offsets_times_and_places_in_the_source() {
    let one = compiled().iter().find(|one| one.name == "dust_cover_run").unwrap();
    insta::assert_snapshot!("dust_cover_program", text(one, "program.lst"));
}

/// Someone who presses when the lamp is lit, and swings each arm half a second after its heater goes off.
struct Person {
    machine: Machine,
    down_at: [u32; 8],
    home_at: [u32; 8],
    pressed_until: u32,
}

impl Person {
    fn new(machine: Machine) -> Self {
        Self { machine, down_at: [0; 8], home_at: [0; 8], pressed_until: 0 }
    }

    fn contacts(&mut self, now: u32, outputs: u8) -> u16 {
        let lamp = self.machine.outputs.iter().position(|output| output.role == OutputRole::Lamp).unwrap();
        if outputs & (1 << lamp) != 0 && now > self.pressed_until + 500 {
            self.pressed_until = now + 100;
        }
        let isolated = self
            .machine
            .outputs
            .iter()
            .enumerate()
            .all(|(index, output)| output.role != OutputRole::Isolator || outputs & (1 << index) != 0);
        let mut contacts = 0;
        for (index, input) in self.machine.inputs.iter().enumerate() {
            let arm = |of: u8| (self.down_at[usize::from(of)]..self.home_at[usize::from(of)]).contains(&now);
            let active = match input.role {
                InputRole::Start => now < self.pressed_until,
                InputRole::Stop | InputRole::Row => false,
                InputRole::Down(of) => arm(of),
                InputRole::Home(of) => !arm(of),
                InputRole::HeaterCurrent(of) => isolated && outputs & (1 << of) != 0,
                InputRole::SupplyCurrent(_) => {
                    let heats = |(index, output): (usize, &withy::program::Output)| {
                        output.role == OutputRole::Heater && outputs & (1 << index) != 0
                    };
                    isolated && self.machine.outputs.iter().enumerate().any(heats)
                }
                InputRole::Guard => true,
            };
            contacts |= u16::from(active != input.normally_closed) << index;
        }
        contacts
    }

    fn follow(&mut self, now: u32, hold: u32, events: &[Event]) {
        for event in events.iter().filter(|event| event.kind == EventKind::Off) {
            self.swing(now, event.detail, hold);
        }
    }

    fn swing(&mut self, now: u32, arm: u16, hold: u32) {
        let arm = usize::from(arm);
        self.down_at[arm] = now + 500;
        self.home_at[arm] = now + 500 + hold;
    }
}

/// Runs an image in a row of heat times until so many good parts are made; all events, with a tick each millisecond.
fn work(image: &[u8], row: u32, parts: u16) -> Vec<Event> {
    let machine = verify(image, None).unwrap().layout.machine;
    let mut controller = Controller::new(machine.clone());
    controller.load(image).unwrap();
    let button = machine.input(InputRole::Row);
    let mut person = Person::new(machine);
    let (mut outputs, mut all, mut chosen) = (0, Vec::new(), 0);
    for now in 1..7_200_000 {
        let mut contacts = person.contacts(now, outputs);
        if controller.state() == State::Idle && chosen < 200 * row {
            // A finger on the row button, on for half of each fifth of a second, and none on start.
            chosen += 1;
            person.pressed_until = now;
            let idle = person.contacts(now, 0);
            contacts = idle | button.filter(|_| chosen % 200 >= 100).map_or(0, |button| 1 << button);
        }
        outputs = controller.tick(now, contacts);
        let events = controller.take_events();
        person.follow(now, 5000, &events);
        let done = events.iter().any(|event| event.kind == EventKind::Good && event.detail == parts);
        all.extend(events);
        assert_ne!(controller.state(), State::Fault, "{:?}", all.last());
        if done {
            return all;
        }
    }
    let last = &all[all.len().saturating_sub(30)..];
    panic!("after two hours: {last:?}");
}

/// Each heat of the step table, on the wire: its time to the millisecond (rounded down). Where it hangs on the thickness,
/// in the first, a middle and the last row, chosen with the row button.
#[test]
fn the_interpreter_heats_as_the_step_table_says() {
    let (mut seen, mut in_rows) = (0, 0);
    for one in compiled().iter().filter(|one| one.outputs.iter().any(|output| output.name == "blank.svg")) {
        let steps: Value = serde_json::from_str(text(one, "steps.json")).unwrap();
        let rows = steps["heat_rows"].as_array().cloned().unwrap_or_default();
        let tried: Vec<usize> = if rows.is_empty() { vec![0] } else { vec![0, rows.len() / 2, rows.len() - 1] };
        for row in tried {
            let wanted = wanted(&steps, rows.get(row));
            let heats = heats(&work(bytes(one, "program.wtp"), u32::try_from(row).unwrap(), 1));
            assert_eq!(heats, wanted, "{} row {row}", one.name);
            seen += heats.len();
            in_rows += if rows.is_empty() { 0 } else { heats.len() };
        }
    }
    assert!(seen > 40 && in_rows > 10, "only {seen} heats were compared, {in_rows} of them in rows");
}

/// Row of the step table and time of each heat, ms; a row of heat times says how long the last stage of a bend is.
fn wanted(steps: &Value, row: Option<&Value>) -> Vec<(u64, u64)> {
    let whole = |seconds: f64| u64::try_from(std::time::Duration::from_secs_f64(seconds + 1e-9).as_millis()).unwrap();
    let all = steps["recipe"]["steps"].as_array().unwrap();
    let heats = all.iter().enumerate().filter(|(_, step)| step["do"] == "heat");
    let wanted = heats.map(|(index, step)| {
        let own = |other: &&Value| other["do"] == "heat" && other["bend"] == step["bend"];
        let later = all[index + 1..].iter().any(|other| own(&other));
        let before: f64 = all[..index].iter().filter(own).map(|other| other["lasts_s"].as_f64().unwrap()).sum();
        let in_row = row.and_then(|row| row["heats"].as_array()?.iter().find(|heat| heat["bend"] == step["bend"]));
        let seconds = match in_row.filter(|_| !later) {
            Some(heat) => heat["heat_s"].as_f64().unwrap() - before,
            None => step["lasts_s"].as_f64().unwrap(),
        };
        (u64::try_from(index + 1).unwrap(), whole(seconds))
    });
    wanted.collect()
}

/// Row of the step table and time of each heat that was made, ms; a warm-up, before the first row, is none.
fn heats(events: &[Event]) -> Vec<(u64, u64)> {
    let mut heats = Vec::new();
    for (index, event) in events.iter().enumerate() {
        if event.kind != EventKind::On || event.step == 0 {
            continue;
        }
        let output = event.detail >> 8;
        let ends = |later: &&Event| match later.kind {
            EventKind::On => later.detail >> 8 == output,
            EventKind::Off => later.detail == output,
            _ => false,
        };
        let end = events[index + 1..].iter().find(ends).unwrap();
        heats.push((u64::from(event.step), u64::from(end.time - event.time)));
    }
    heats
}
