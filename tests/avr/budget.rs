//! How much of the chip the firmware takes. The chip is the hard limit; what was wished for is printed beside it.

use std::io::Write as _;

use withy::program::{Client, InputRole};

use crate::build::{Program, asked, stack_floor};
use crate::host::{Chip, POWER};

const FLASH: u32 = 32 * 1024;
/// What lies above the firmware: two slots, and what writes flash.
const FLASH_FOR_CODE: u32 = 0x5E00;
const RAM_FROM: u32 = 0x100;
const RAM_END: u32 = 0x900;
/// Left between stack and everything else, at the least.
const SPARE: u32 = 256;
/// Cycles of a millisecond: a tick that takes longer comes late.
const TICK: u64 = 16_000;

fn number(text: &str, label: &str) -> u32 {
    let line = text.lines().find(|line| line.trim_start().starts_with(label)).unwrap();
    line.split_whitespace().find_map(|word| word.parse().ok()).unwrap()
}

#[test]
fn the_firmware_fits_its_chip() {
    let program = Program::of("field_lab", "field_lab");
    let elf = program.firmware();
    let size = asked("avr-size", &["-C", "--mcu=atmega328p"], &elf);
    let (flash, ram) = (number(&size, "Program:"), number(&size, "Data:"));
    // Everything that needs stack: a self-test, a load, a heat, answers while it runs, a stop, the check of heaters.
    let mut chip = Chip::new(&program);
    chip.power_on(POWER);
    chip.run(2000);
    Client::new(&mut chip).send(&program.image, |_| {}).unwrap();
    let boot: u64 = chip.command("worst")[0].split(' ').nth(1).unwrap().parse().unwrap();
    chip.command("rested");
    chip.run(5000);
    chip.press(InputRole::Start);
    chip.press(InputRole::Start);
    chip.run(3000);
    Client::new(&mut chip).log().unwrap();
    let stop = chip.machine.input(InputRole::Stop).unwrap();
    chip.contacts(crate::host::at_rest(&program.machine) ^ 1 << stop);
    chip.run(100);
    chip.press(InputRole::Start);
    chip.run(6000);
    let worst = chip.command("worst").remove(0);
    let mut worst = worst.split(' ');
    let lowest: u32 = worst.next().unwrap().parse().unwrap();
    let awake: u64 = worst.next().unwrap().parse().unwrap();
    let stack = RAM_END - lowest;
    let _ = writeln!(
        std::io::stderr(),
        "firmware: flash {flash} of {FLASH} bytes (goal 8192), RAM {ram} of {} bytes (goal 512) and stack {stack}; longest \
         load {boot} cycles, longest tick {awake} of {TICK} cycles",
        RAM_END - RAM_FROM
    );
    assert!(flash <= FLASH_FOR_CODE + 512, "{size}");
    assert!(RAM_FROM + ram + stack + SPARE <= RAM_END, "{ram} + {stack}");
    assert!(lowest > stack_floor(&elf) + SPARE);
    assert!(awake < TICK, "{awake}");
}

/// While the chip writes its flash, nothing that lies in it can be read: what writes must call nothing.
#[test]
fn what_writes_flash_calls_nothing() {
    let code = asked("avr-objdump", &["-d", "-j", ".bootloader"], &Program::of("riser", "riser_run").firmware());
    let operations: Vec<&str> = code.lines().filter_map(|line| line.split('\t').nth(2)).map(str::trim).collect();
    assert!(operations.contains(&"spm"), "{code}");
    let leaves = ["call", "rcall", "icall", "jmp", "ijmp", "lpm"];
    assert!(!operations.iter().any(|operation| leaves.contains(operation)), "{code}");
}
