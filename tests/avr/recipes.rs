//! Programs run in full, and every edge of every output is held against the compiler's interpreter, and every heat
//! against the step table.

use std::io::Write as _;

use withy::program::{Client, EventKind, InputRole};

use crate::build::Program;
use crate::host::{Chip, MS, POWER, pins};
use crate::person::{Manner, Story, story};

/// Edges may lie so far off, cycles: 2 ms.
const TOLERANCE: u64 = 2 * MS;

/// The edges of each pin, one after the other.
fn by_pin(edges: impl Iterator<Item = (u64, u8)>) -> Vec<Vec<(u64, bool)>> {
    let mut all = vec![Vec::new(); 8];
    let mut last = 0u8;
    for (time, outputs) in edges {
        for (pin, edges) in all.iter_mut().enumerate().filter(|(pin, _)| (last ^ outputs) >> pin & 1 == 1) {
            edges.push((time, outputs >> pin & 1 == 1));
        }
        last = outputs;
    }
    all
}

/// Plays a story to a chip that has the program in its memory and no power. When its first tick was.
fn play(chip: &mut Chip, story: &Story) -> u64 {
    let edges = chip.edges.len();
    let came = chip.now;
    chip.contacts(story.contacts[0].1);
    chip.power_on(POWER);
    while chip.edges.len() == edges {
        assert!(chip.now < came + 1000 * MS, "the firmware does not tick");
        chip.command("run 1000");
    }
    // The self-test switches the first heater on in the first tick: with it begins what is compared.
    let begin = chip.edges[edges].0;
    for (tick, contacts) in &story.contacts[1..] {
        // Half-way between two ticks.
        chip.run_until(begin + u64::from(*tick) * MS - MS / 2);
        chip.contacts(*contacts);
    }
    chip.run_until(begin + u64::from(story.ticks) * MS - MS / 2);
    begin
}

/// Loads a program as people do, and takes power away.
fn loaded(program: &Program) -> Chip {
    let mut chip = Chip::new(program);
    chip.power_on(POWER);
    chip.run(2000);
    Client::new(&mut chip).send(&program.image, |_| {}).unwrap();
    chip.power_off();
    chip
}

/// The firmware does what the interpreter does, at the same time; the farthest off, in cycles.
fn compare(chip: &Chip, begin: u64, story: &Story, program: &Program) -> u64 {
    let theirs = by_pin(chip.edges.iter().filter(|(time, _)| *time >= begin).copied());
    let ours = by_pin(
        story.edges.iter().map(|(tick, outputs)| (begin + u64::from(*tick) * MS, pins(&program.machine, *outputs))),
    );
    let mut worst = 0;
    for (pin, (theirs, ours)) in theirs.iter().zip(&ours).enumerate() {
        for (there, here) in theirs.iter().zip(ours) {
            let off = there.0.abs_diff(here.0);
            assert!(there.1 == here.1 && off <= TOLERANCE, "pin {pin}: {there:?} on the chip, {here:?} expected");
            worst = worst.max(off);
        }
        assert_eq!(theirs.len(), ours.len(), "pin {pin}: edges");
    }
    worst
}

/// Each heat of the step table, ms and heater by heater, in the order in which they are made.
fn heats_of_table(program: &Program) -> Vec<u64> {
    let text = std::fs::read_to_string(program.folder.join("steps.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let bends = json["recipe"]["bends"].as_array().unwrap();
    let seconds = |heat: &serde_json::Value| heat["time_s"].as_f64().unwrap();
    bends
        .iter()
        .map(|bend| bend["heat"].as_array().unwrap().iter().map(seconds).sum::<f64>())
        // Whole milliseconds, rounded down: no formula, the program's own step.
        .map(|time| format!("{:.0}", (time * 1000.0 + 1e-6).floor()).parse().unwrap())
        .collect()
}

/// How long heaters were on at full power in one piece, ms rounded, from edges.
fn heats_seen(chip: &Chip, begin: u64, program: &Program) -> Vec<u64> {
    let heaters = crate::host::mask(&program.machine, withy::program::OutputRole::Heater);
    let pinned = by_pin(chip.edges.iter().filter(|(time, _)| *time >= begin).copied());
    let mut seen = Vec::new();
    for pin in (0..8).filter(|pin| pins(&program.machine, heaters) >> pin & 1 == 1) {
        for pair in pinned[pin].chunks(2).filter(|pair| pair.len() == 2) {
            seen.push((pair[1].0 - pair[0].0 + MS / 2) / MS);
        }
    }
    seen
}

fn runs_in_full(file: &str, name: &str, manner: Manner, most: u32) -> (Chip, Story) {
    let program = Program::of(file, name);
    let story = story(&program, manner, most);
    let mut chip = loaded(&program);
    let begin = play(&mut chip, &story);
    let worst = compare(&chip, begin, &story, &program);
    let _ = writeln!(
        std::io::stderr(),
        "{name}: {} edges in {} s, at most {:.3} ms off",
        story.edges.len(),
        story.ticks / 1000,
        f64::from(u32::try_from(worst).unwrap()) / 16_000.0
    );
    assert!(chip.resets.is_empty(), "the firmware was reset");
    (chip, story)
}

/// A part with two bends at once, warm-ups before it: longer than ten minutes.
#[test]
fn a_recipe_runs_in_full_and_every_edge_is_in_its_place() {
    let (mut chip, story) = runs_in_full("riser", "riser_run", Manner::Attentive, 2_000_000);
    assert!(story.ticks > 600_000, "{} ms", story.ticks);
    assert!(story.events.iter().any(|event| event.kind == EventKind::Good));
    // Its log says the same as the interpreter's events, as far as it still holds them.
    let log = Client::new(&mut chip).log().unwrap();
    let held = log.len();
    assert!(held >= 8);
    for (there, here) in log.iter().zip(&story.events[story.events.len() - held..]) {
        assert_eq!((there.time, there.lane, there.step), (here.time, here.lane, here.step));
        assert_eq!((there.kind, there.detail), (here.kind.number(), here.detail));
    }
}

/// The times of the table itself, without the interpreter between.
#[test]
fn heats_are_as_long_as_the_step_table_says() {
    let program = Program::of("tent_card", "tent_card_run");
    let (chip, _) = runs_in_full("tent_card", "tent_card_run", Manner::Attentive, 2_000_000);
    let seen = heats_seen(&chip, chip.edges[0].0, &program);
    for heat in heats_of_table(&program) {
        assert!(seen.iter().any(|time| time.abs_diff(heat) <= 2), "{heat} ms is not among {seen:?}");
    }
}

/// Nobody bends in time: the part is spoilt, by the chip as by the interpreter.
#[test]
fn a_late_operator_spoils_the_part_and_nothing_else() {
    let (mut chip, story) = runs_in_full("tent_card", "tent_card_run", Manner::Late, 2_000_000);
    assert!(story.events.iter().any(|event| event.kind == EventKind::Late));
    assert!(!story.events.iter().any(|event| event.kind == EventKind::Good));
    let log = Client::new(&mut chip).log().unwrap();
    assert!(log.iter().any(|event| event.kind == EventKind::Scrap.number()));
    assert_eq!(chip.machine.input(InputRole::Start), Some(0));
}

/// Every program of the examples; in the ordinary run a few minutes of one of each bench.
#[test]
fn all_examples_run_on_their_own_firmware() {
    let some = [("light_table", "light_table_run"), ("hanging_tray", "hanging_tray_run")];
    for (file, name) in Program::all() {
        if crate::deep() {
            runs_in_full(&file, &name, Manner::Attentive, 3_600_000);
        } else if some.contains(&(file.as_str(), name.as_str())) {
            runs_in_full(&file, &name, Manner::Attentive, 240_000);
        }
    }
}
