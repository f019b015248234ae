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

/// The header and the images of one bench tell of the same machine, and each bench has one header.
#[test]
fn a_benchs_header_is_one_and_says_what_its_images_say() {
    let mut headers = std::collections::BTreeMap::new();
    for (file, name) in Program::all() {
        let program = Program::of(&file, &name);
        let header = std::fs::read_to_string(program.folder.join("machine.h")).unwrap();
        let number = |at: usize| u32::from_le_bytes(program.image[at..at + 4].try_into().unwrap());
        for (what, at) in [("BENCH", 24), ("WIRING", 28)] {
            let line = format!("#define WITHY_{what} 0x{:08x}ul\n", number(at));
            assert!(header.contains(&line), "{name}: {line}{header}");
        }
        // Outputs, inputs and supplies stand in the image as in the header, but for the longest on-times: a program may
        // ask for less.
        let constants = program.machine.constants();
        let bytes: Vec<u8> = header
            .split_once("= {")
            .unwrap()
            .1
            .split([',', '\n', ' '])
            .filter_map(|word| word.strip_prefix("0x"))
            .map(|word| u8::from_str_radix(word, 16).unwrap())
            .collect();
        assert_eq!(bytes.len(), constants.len());
        let outputs = 4..4 + 8 * program.machine.outputs.len();
        for (at, (there, here)) in bytes.iter().zip(&constants).enumerate() {
            let limits = outputs.contains(&at) && matches!((at - 4) % 8, 4 | 5);
            assert!(limits || there == here, "{name}: byte {at}");
        }
        assert_eq!(*headers.entry(number(24)).or_insert_with(|| header.clone()), header, "{name}");
    }
    assert!(headers.len() >= 4);
}

/// A header that asks for what the chip does not have builds nothing.
#[test]
fn a_pin_or_a_space_that_the_chip_does_not_have_is_refused() {
    let header = std::fs::read_to_string(Program::of("riser", "riser_run").folder.join("machine.h")).unwrap();
    for (from, to, why) in [
        ("WITHY_HIGHEST_INPUT 8", "WITHY_HIGHEST_INPUT 10", "input pins 0 to 9"),
        ("WITHY_HIGHEST_OUTPUT 5", "WITHY_HIGHEST_OUTPUT 8", "output pins 0 to 7"),
        ("WITHY_SPACE 2048u", "WITHY_SPACE 4097u", "more than a slot of this chip"),
    ] {
        assert!(header.contains(from), "{header}");
        let folder = tempfile::tempdir().unwrap();
        let own = folder.path().join("machine.h");
        std::fs::write(&own, header.replace(from, to)).unwrap();
        let output = std::process::Command::new("make")
            .arg("-C")
            .arg(crate::build::root().join("controller/avr"))
            .arg(format!("MACHINE={}", own.display()))
            .arg(format!("BUILD={}", folder.path().join("build").display()))
            .output()
            .unwrap();
        assert!(!output.status.success());
        assert!(String::from_utf8_lossy(&output.stderr).contains(why), "{}", String::from_utf8_lossy(&output.stderr));
    }
}
