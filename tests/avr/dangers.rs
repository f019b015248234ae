//! What goes wrong at a bench, shown to the firmware: stop, power gone, a clock that stands still, a switch that has
//! failed closed.

use withy::program::{Client, EventKind, InputRole, OutputRole};

use crate::build::Program;
use crate::host::{Chip, MS, OUTSIDE, POWER, SANK, at_rest, mask, pins};

/// How long the chip goes without a tick until its watchdog resets it, ms. 0.125 s by the chip's data sheet (atmega328p,
/// table "Watchdog Timer Prescale Select": 16 K cycles of an oscillator of 128 kHz).
const WATCHDOG: u64 = 125;
/// What a controller says of its state.
const IDLE: u8 = 1;
const RUNNING: u8 = 2;
const FAULT: u8 = 3;

/// A chip in the middle of its first heat, which has lasted for so many ms.
fn heating(program: &Program, milliseconds: u64) -> Chip {
    let mut chip = Chip::new(program);
    chip.power_on(POWER);
    chip.run(2000);
    Client::new(&mut chip).send(&program.image, |_| {}).unwrap();
    chip.run(5000);
    chip.press(InputRole::Start);
    let lamp = mask(&chip.machine, OutputRole::Lamp);
    assert!(chip.wait_for(lamp, true, 5000), "the lamp never says that a press counts");
    chip.press(InputRole::Start);
    chip.run(milliseconds);
    assert!(heats(&chip), "no heat after a press");
    chip
}

fn heats(chip: &Chip) -> bool {
    chip.outputs() & pins(&chip.machine, mask(&chip.machine, OutputRole::Heater)) != 0
}

fn state(chip: &mut Chip) -> u8 {
    Client::new(chip).hello().unwrap().state
}

fn faults(chip: &mut Chip) -> Vec<u16> {
    let log = Client::new(chip).log().unwrap();
    log.iter().filter(|event| event.kind == EventKind::Fault.number()).map(|event| event.detail).collect()
}

/// The moment from an edge on which neither heater nor isolator is on, in cycles.
fn safe_since(chip: &Chip) -> u64 {
    let dangerous = mask(&chip.machine, OutputRole::Heater) | mask(&chip.machine, OutputRole::Isolator);
    let dangerous = pins(&chip.machine, dangerous);
    let last = chip.edges.iter().rposition(|(_, outputs)| outputs & dangerous != 0).unwrap();
    chip.edges[last + 1].0
}

#[test]
fn stop_ends_heat_in_the_next_tick_and_it_stays_ended() {
    let program = Program::of("riser", "riser_run");
    let mut chip = heating(&program, 3000);
    let stop = 1 << chip.machine.input(InputRole::Stop).unwrap();
    let rest = at_rest(&program.machine);
    let pressed = chip.now;
    // A glimpse of 2 ms is enough.
    chip.contacts(rest ^ stop);
    chip.run(2);
    chip.contacts(rest);
    chip.run(60_000);
    assert!(safe_since(&chip) - pressed <= 2 * MS, "{}", safe_since(&chip) - pressed);
    assert_eq!((state(&mut chip), faults(&mut chip)), (FAULT, vec![1]));
    // A wire that breaks is a stop, and while it lasts nobody can go on.
    chip.contacts(rest ^ stop);
    chip.press(InputRole::Start);
    chip.contacts(rest ^ stop);
    let edge = chip.edges.len();
    chip.contacts(rest ^ stop ^ 1 << chip.machine.input(InputRole::Start).unwrap());
    chip.run(100);
    assert_eq!(state(&mut chip), IDLE, "the first press, with stop released for its length, has acknowledged");
    chip.run(20_000);
    assert!(!chip.heated_since(edge));
}

/// Power goes in the middle of a heat and comes again, as after a fuse, a brown-out, a press on reset: no heat.
#[test]
fn returning_power_never_resumes_heat() {
    let program = Program::of("riser", "riser_run");
    let mut chip = heating(&program, 3000);
    for (cause, away) in [(POWER, 0), (POWER, 10_000), (SANK, 1), (OUTSIDE, 0), (POWER | SANK, 50)] {
        chip.power_off();
        assert!(!heats(&chip));
        chip.run(away);
        let edge = chip.edges.len();
        chip.power_on(cause);
        chip.run(120_000);
        assert!(!chip.heated_since(edge), "cause {cause}");
        assert_eq!((state(&mut chip), faults(&mut chip)), (IDLE, Vec::new()), "cause {cause}");
        // Only two presses, of a person who sees the lamp, begin anew.
        let lamp = mask(&chip.machine, OutputRole::Lamp);
        chip.press(InputRole::Start);
        assert!(!heats(&chip));
        assert!(chip.wait_for(lamp, true, 30_000));
        chip.press(InputRole::Start);
        assert!(heats(&chip) && state(&mut chip) == RUNNING);
        chip.run(500);
    }
}

/// The clock's interrupt is taken away: the watchdog resets the chip, and it says so and stays off.
#[test]
fn missed_ticks_end_heat_within_the_watchdogs_time() {
    let program = Program::of("riser", "riser_run");
    let mut chip = heating(&program, 3000);
    let (hung, edge) = (chip.now, chip.edges.len());
    chip.command("hang");
    chip.run(2000);
    assert_eq!(chip.resets.len(), 1, "{:?}", chip.resets);
    let after = chip.edges[edge].0 - hung;
    assert!(chip.edges[edge].1 & pins(&chip.machine, 0b11) == 0 && after <= (WATCHDOG + 5) * MS, "{after} cycles");
    assert!(!chip.heated_since(edge));
    assert_eq!((state(&mut chip), faults(&mut chip)), (FAULT, vec![3]));
    let lamp = mask(&chip.machine, OutputRole::Lamp);
    chip.press(InputRole::Start);
    assert_eq!(state(&mut chip), IDLE);
    assert!(chip.wait_for(lamp, true, 1000));
}

/// A heater that has been on for long may not begin anew at once because the chip was reset in between: what the
/// memory still knows of its heat counts.
#[test]
fn the_sum_of_heat_outlives_a_reset() {
    let program = Program::of("riser", "riser_run");
    let waits = |heat: u64| {
        let mut chip = heating(&program, heat);
        chip.command("hang");
        chip.run(7000);
        chip.press(InputRole::Start);
        chip.press(InputRole::Start);
        let before = chip.now;
        assert_eq!(state(&mut chip), RUNNING);
        let lamp = mask(&chip.machine, OutputRole::Lamp);
        assert!(chip.wait_for(lamp, true, 200_000), "never again");
        (chip.now - before) / MS
    };
    assert!(waits(1000) < 100);
    // 150 s at full power are 38 s more than what leaks meanwhile, and leak in 50 s.
    let long = waits(150_000);
    assert!((20_000..60_000).contains(&long), "{long} ms");
}

/// Current flows where no heater is on: the isolator opens within two seconds, and the buzzer sounds.
#[test]
fn a_switch_that_fails_closed_opens_the_isolator() {
    let program = Program::of("riser", "riser_run");
    let mut chip = heating(&program, 3000);
    let sensor = chip.machine.input(InputRole::HeaterCurrent(1)).unwrap();
    let failed = chip.now;
    chip.contacts(at_rest(&program.machine) ^ 1 << sensor);
    chip.run(3000);
    assert!(safe_since(&chip) - failed <= 2000 * MS, "{}", safe_since(&chip) - failed);
    assert_eq!(faults(&mut chip), vec![6]);
    let buzzer = mask(&chip.machine, OutputRole::Buzzer);
    assert!(chip.wait_for(buzzer, true, 1000) && chip.wait_for(buzzer, false, 1000));
}

/// The check mode, by a press on start with the row button held: each heater for three seconds, and its current.
#[test]
fn the_check_mode_tries_each_heater() {
    let program = Program::of("riser", "riser_run");
    let mut chip = Chip::new(&program);
    chip.power_on(POWER);
    chip.run(7000);
    let row = 1 << chip.machine.input(InputRole::Row).unwrap();
    let start = 1 << chip.machine.input(InputRole::Start).unwrap();
    let rest = at_rest(&program.machine);
    let edge = chip.edges.len();
    chip.contacts(rest ^ row);
    chip.run(100);
    chip.contacts(rest ^ row ^ start);
    chip.run(60);
    chip.contacts(rest);
    chip.run(12_000);
    let heaters = pins(&chip.machine, mask(&chip.machine, OutputRole::Heater));
    let on: u64 =
        chip.edges[edge..].windows(2).filter(|pair| pair[0].1 & heaters != 0).map(|pair| pair[1].0 - pair[0].0).sum();
    assert!(on.abs_diff(6000 * MS) <= 4 * MS, "{on}");
    let log = Client::new(&mut chip).log().unwrap();
    let checks: Vec<u16> =
        log.iter().filter(|event| event.kind == EventKind::Check.number()).map(|event| event.detail).collect();
    assert_eq!((checks, faults(&mut chip)), (vec![0, 1], Vec::new()));
}
