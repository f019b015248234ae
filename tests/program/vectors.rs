//! The vectors of the format: images as hexadecimal digits, with the verdict and the listing that belong to them. The
//! verdicts are checked in both implementations.

use std::collections::BTreeMap;
use std::fmt::Write;

use withy::program::{
    Assembler, HeatRow, Image, Input, InputRole, Instruction, Machine, Output, OutputRole, SwitchKind, Verdict,
    bench_number, close, hexadecimal, listing, verify,
};

use crate::runtime::{self, Case, root};

/// One heater with everything a builder can wire, and a second one on the same supply.
pub fn machine() -> Machine {
    let heater = |pin, switch| Output { pin, role: OutputRole::Heater, switch, supply: 0, longest: 1800, draw: 1130 };
    let other = |pin, role| Output { pin, role, switch: SwitchKind::None, supply: 0, longest: 0, draw: 0 };
    let input = |pin, role, normally_closed| Input { pin, role, normally_closed, debounce: 20 };
    Machine {
        bench: bench_number("north"),
        operators: 1,
        space: 1024,
        outputs: vec![
            heater(0, SwitchKind::SolidState),
            heater(1, SwitchKind::Relay),
            other(2, OutputRole::Isolator),
            other(4, OutputRole::Lamp),
            other(5, OutputRole::Buzzer),
        ],
        inputs: vec![
            input(0, InputRole::Start, false),
            input(1, InputRole::Stop, true),
            input(2, InputRole::Down(0), false),
            input(3, InputRole::Home(0), false),
            input(4, InputRole::HeaterCurrent(0), false),
            input(5, InputRole::Row, false),
        ],
        supplies: vec![2400],
    }
}

fn heat(code: &mut Assembler, lasts: u32) {
    code.push(Instruction::Begin { supply: 0, amount: 1130, from: lasts - 5000, lasts: 8000 });
    code.push(Instruction::On { output: 0, level: 255 });
    code.push(Instruction::Wait(lasts));
    code.push(Instruction::Off(0));
}

/// A part that is bent once, forty times with three spares.
fn sound() -> Vec<Instruction> {
    let mut code = Assembler::default();
    let (missed, over) = (code.label(), code.label());
    code.push(Instruction::Repeat(43));
    code.push(Instruction::Step(1));
    code.push(Instruction::Call(0));
    code.push(Instruction::Begin { supply: 0, amount: 1130, from: 145_000, lasts: 14_000 });
    code.push(Instruction::On { output: 0, level: 255 });
    code.push(Instruction::Wait(100_000));
    code.push(Instruction::On { output: 0, level: 140 });
    code.push(Instruction::WaitRow(0));
    code.push(Instruction::Off(0));
    code.push(Instruction::Step(2));
    code.wait_for(2, 1, 3000, missed);
    code.push(Instruction::Wait(150_000));
    code.skip(over);
    code.place(missed);
    code.push(Instruction::Scrap);
    code.place(over);
    code.push(Instruction::Enough(40));
    code.push(Instruction::Again);
    code.push(Instruction::End);
    code.finish()
}

fn image(lanes: Vec<Vec<Instruction>>) -> Image {
    Image {
        digest: *b"0123456789abcdef",
        verdict: Verdict::Nominal,
        name: "vector".to_owned(),
        steps: 2,
        machine: machine(),
        calls: vec!["lay in, 20 °C warm".to_owned()],
        tables: vec![vec![HeatRow { thickness: 280, time: 46_000 }, HeatRow { thickness: 300, time: 56_000 }]],
        lanes,
    }
}

/// The sound program, to be encoded.
pub fn sound_image() -> Image {
    image(vec![sound()])
}

/// The code of the sound program with something changed.
fn changed(change: impl Fn(&mut Vec<Instruction>)) -> Vec<u8> {
    let mut code = sound();
    change(&mut code);
    image(vec![code]).encode()
}

/// An image of which a byte is changed, with its check sum repaired.
fn byte(at: usize, to: u8) -> Vec<u8> {
    let mut bytes = image(vec![sound()]).encode();
    bytes.truncate(bytes.len() - 4);
    bytes[at] = to;
    close(bytes)
}

fn warm_up(from: u32) -> Vec<Instruction> {
    let mut code = Assembler::default();
    code.push(Instruction::Begin { supply: 0, amount: 1130, from, lasts: 60_000 });
    code.push(Instruction::On { output: 1, level: 255 });
    code.push(Instruction::Wait(60_000));
    code.push(Instruction::Off(1));
    code.push(Instruction::End);
    code.finish()
}

/// One image that passes, one without loops, and one for each reason to refuse.
#[expect(clippy::too_many_lines, reason = "one entry for each reason to refuse")]
pub fn vectors() -> BTreeMap<&'static str, Vec<u8>> {
    let whole = image(vec![sound()]).encode();
    let mut all = BTreeMap::new();
    all.insert("00-sound", whole.clone());
    all.insert("00-warm-up", image(vec![warm_up(0)]).encode());
    all.insert("01-length", whole[..whole.len() - 1].to_vec());
    all.insert("02-magic", byte(0, b'w'));
    all.insert("03-version", byte(4, 2));
    let mut flipped = whole.clone();
    flipped[60] ^= 0x10;
    all.insert("04-check-sum", flipped);
    all.insert("05-header", byte(32, 3));
    all.insert("06-text", byte(43, b'\n'));
    all.insert("07-output-table", byte(50, 9));
    all.insert("08-input-table", byte(49 + 40 + 4, 0));
    all.insert("09-supply-table", {
        let mut none = image(vec![sound()]);
        none.machine.supplies = vec![0];
        none.encode()
    });
    all.insert("10-row-table", {
        let mut none = image(vec![sound()]);
        none.tables[0][1].time = 0;
        none.encode()
    });
    all.insert("11-lane-length", {
        let mut longer = whole[..whole.len() - 4].to_vec();
        longer.push(0);
        close(longer)
    });
    all.insert("12-other-bench", byte(24, 0));
    all.insert("13-other-wiring", byte(28, 0));
    all.insert("14-limit-raised", {
        let mut raised = image(vec![sound()]);
        raised.machine.outputs[0].longest += 1;
        raised.encode()
    });
    all.insert("15-no-instruction", {
        let at = whole.len() - 5;
        byte(at, 0x03)
    });
    all.insert("16-index", changed(|code| code[2] = Instruction::Call(1)));
    all.insert("17-level", {
        let mut relay = warm_up(0);
        relay[1] = Instruction::On { output: 1, level: 128 };
        image(vec![relay]).encode()
    });
    all.insert("18-jump", changed(|code| code[12] = Instruction::Skip(3)));
    all.insert("19-loop", changed(|code| code[0] = Instruction::Repeat(0)));
    all.insert("20-enough", changed(|code| code.insert(15, Instruction::Step(1))));
    all.insert(
        "21-not-ended",
        changed(|code| {
            let _ = code.pop();
        }),
    );
    all.insert(
        "22-not-begun",
        changed(|code| {
            let _ = code.remove(3);
        }),
    );
    all.insert("23-in-heat", changed(|code| code[5] = Instruction::Scrap));
    all.insert("24-too-long", changed(|code| code[5] = Instruction::Wait(125_000)));
    all.insert(
        "25-claim-too-small",
        changed(|code| {
            code[3] = Instruction::Begin { supply: 0, amount: 1129, from: 145_000, lasts: 14_000 };
        }),
    );
    all.insert(
        "26-claim-too-large",
        changed(|code| {
            code[3] = Instruction::Begin { supply: 0, amount: 2401, from: 145_000, lasts: 14_000 };
        }),
    );
    all.insert(
        "27-reservation",
        changed(|code| {
            code[3] = Instruction::Begin { supply: 0, amount: 1130, from: 145_000, lasts: 13_999 };
        }),
    );
    all.insert(
        "28-no-bend",
        changed(|code| {
            let _ = code.remove(10);
        }),
    );
    all.insert("29-shared-heater", {
        let mut second = Assembler::default();
        let missed = second.label();
        heat(&mut second, 60_000);
        second.wait_for(2, 1, 3000, missed);
        second.push(Instruction::Wait(1));
        second.place(missed);
        second.push(Instruction::Scrap);
        second.push(Instruction::End);
        image(vec![sound(), second.finish()]).encode()
    });
    all.insert("30-no-down-switch", image(vec![warm_up(1)]).encode());
    all.insert("31-not-on", changed(|code| code[8] = Instruction::Off(1)));
    all.insert("32-on-again", {
        let mut twice = vec![Instruction::Begin { supply: 0, amount: 2260, from: 0, lasts: 9000 }];
        twice.extend([0, 1].map(|output| Instruction::On { output, level: 255 }));
        twice.extend([Instruction::Off(0), Instruction::Wait(9000), Instruction::On { output: 0, level: 255 }]);
        image(vec![twice]).encode()
    });
    all.insert("33-too-large", {
        let mut large = image(vec![sound()]);
        large.calls = (0..20).map(|number| format!("{number:060}")).collect();
        large.encode()
    });
    all
}

fn lines(bytes: &[u8]) -> String {
    bytes.chunks(32).map(|line| hexadecimal(line) + "\n").collect()
}

fn from_hexadecimal(text: &str) -> Vec<u8> {
    let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_hexdigit).collect();
    digits.chunks(2).map(|pair| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap()).collect()
}

/// With `WITHY_VECTORS=write` the files are made anew; otherwise they must be what is made.
#[test]
fn vectors_are_what_both_implementations_say() {
    let folder = root().join("tests/vectors");
    let machine = machine();
    let mut verdicts = String::from("# name reason offset; reason 0: accepted\n");
    let mut wanted: BTreeMap<String, String> = BTreeMap::new();
    wanted.insert("machine.hex".to_owned(), lines(&runtime::machine_bytes(&machine)));
    for (name, bytes) in vectors() {
        let refusal = verify(&bytes, Some(&machine)).err();
        let (reason, offset) = refusal.map_or((0, 0), |refusal| (refusal.reason.number(), refusal.offset));
        assert_eq!(format!("{reason:02}"), name[..2], "{name}: {refusal:?}");
        let _ = writeln!(verdicts, "{name} {reason} {offset}");
        wanted.insert(format!("{name}.hex"), lines(&bytes));
        if reason == 0 {
            wanted.insert(format!("{name}.lst"), listing(&bytes, &BTreeMap::new()));
        }
    }
    wanted.insert("verdicts.txt".to_owned(), verdicts);
    if std::env::var("WITHY_VECTORS").is_ok_and(|what| what == "write") {
        for (name, text) in &wanted {
            std::fs::write(folder.join(name), text).unwrap();
        }
    }
    let there: std::collections::BTreeSet<String> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name != "README.md")
        .collect();
    assert_eq!(there, wanted.keys().cloned().collect());
    for (name, text) in &wanted {
        assert_eq!(&std::fs::read_to_string(folder.join(name)).unwrap(), text, "{name}");
    }
}

/// The C says the same of the files as they lie there.
#[test]
fn the_c_reads_the_vectors() {
    let folder = root().join("tests/vectors");
    let machine = machine();
    let verdicts = std::fs::read_to_string(folder.join("verdicts.txt")).unwrap();
    let mut seen = std::collections::BTreeSet::new();
    for line in verdicts.lines().filter(|line| !line.starts_with('#')) {
        let fields: Vec<&str> = line.split(' ').collect();
        let image = from_hexadecimal(&std::fs::read_to_string(folder.join(format!("{}.hex", fields[0]))).unwrap());
        let answer = runtime::run(&[Case { machine: &machine, image: &image, script: &[] }]);
        let said = (answer[0].to_string(), u16::from_le_bytes([answer[1], answer[2]]).to_string());
        assert_eq!(said, (fields[1].to_owned(), fields[2].to_owned()), "{}", fields[0]);
        seen.insert(answer[0]);
    }
    assert_eq!(seen.len(), 34, "not every reason has a vector");
}
