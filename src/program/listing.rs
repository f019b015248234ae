//! What an image says, for people.

use std::collections::BTreeMap;
use std::fmt::Write;

use crate::program::instruction::Instruction;
use crate::program::layout::{Layout, Verdict};
use crate::program::machine::OutputRole;
use crate::program::refusal::Refusal;
use crate::program::verify::verify;

/// The listing of an image: its header, tables, and each instruction with its offset in the lane. Notes stand at the
/// end of the lines that they belong to. What is refused is listed as far as its tables can be read, with the reason.
pub fn listing(image: &[u8], notes: &BTreeMap<(usize, usize), String>) -> String {
    let mut text = String::new();
    match verify(image, None) {
        Ok(verified) => {
            header(&mut text, &verified.layout, image.len());
            let _ =
                writeln!(text, "checked      every proof holds; at most {} without waiting", time(verified.run_time));
            tables(&mut text, &verified.layout);
            lanes(&mut text, &verified.layout, image, notes, None);
        }
        Err(refusal) => {
            if let Ok(layout) = Layout::read(image) {
                header(&mut text, &layout, image.len());
                tables(&mut text, &layout);
                lanes(&mut text, &layout, image, notes, Some(refusal));
            }
            let _ = writeln!(text, "{refusal}");
        }
    }
    text
}

fn header(text: &mut String, layout: &Layout, length: usize) {
    let digest = hexadecimal(&layout.digest);
    let _ = writeln!(text, "program      {}", layout.name);
    let worth = match layout.verdict {
        Verdict::Proved => "proved: heat times hold over everything that is known",
        Verdict::Nominal => "NOMINAL: heat times hold at nominal values only; try it on strips first",
    };
    let _ = writeln!(text, "verdict      {worth}");
    let _ = writeln!(text, "digest       {digest}");
    let _ = writeln!(
        text,
        "made for     bench {:08x}, wiring {:08x}, {} operator(s)",
        layout.machine.bench,
        layout.machine.digest(),
        layout.machine.operators
    );
    let _ = writeln!(text, "size         {length} bytes, {} lane(s)", layout.lanes.len());
}

fn tables(text: &mut String, layout: &Layout) {
    for (index, output) in layout.machine.outputs.iter().enumerate() {
        let more = match output.role {
            OutputRole::Heater => format!(
                ", supply {}, at most {}, draws {}",
                output.supply,
                time(u64::from(output.longest) * 100),
                amperes(output.draw)
            ),
            OutputRole::Isolator => format!(", supply {}", output.supply),
            OutputRole::Lamp | OutputRole::Buzzer => String::new(),
        };
        let _ = writeln!(text, "output {index:<5} pin {}: {}{more}", output.pin, output.role.word());
    }
    for (index, input) in layout.machine.inputs.iter().enumerate() {
        use crate::program::machine::InputRole;
        let of = match input.role {
            InputRole::Down(of) | InputRole::Home(of) | InputRole::HeaterCurrent(of) => format!(" of output {of}"),
            InputRole::SupplyCurrent(of) => format!(" of supply {of}"),
            InputRole::Start | InputRole::Stop | InputRole::Row | InputRole::Guard => String::new(),
        };
        let closed = if input.normally_closed { ", normally closed" } else { "" };
        let _ = writeln!(
            text,
            "input {index:<6} pin {}: {}{of}{closed}, still for {} ms",
            input.pin,
            input.role.word(),
            input.debounce
        );
    }
    for (index, supply) in layout.machine.supplies.iter().enumerate() {
        let _ = writeln!(text, "supply {index:<5} gives {}", amperes(*supply));
    }
    for (index, call) in layout.calls.iter().enumerate() {
        let _ = writeln!(text, "call {index:<7} {call}");
    }
    for (index, rows) in layout.tables.iter().enumerate() {
        let rows: Vec<String> =
            rows.iter().map(|row| format!("{} mm {}", hundredths(row.thickness), time(u64::from(row.time)))).collect();
        let _ = writeln!(text, "rows {index:<7} {}", rows.join(", "));
    }
}

fn lanes(
    text: &mut String,
    layout: &Layout,
    image: &[u8],
    notes: &BTreeMap<(usize, usize), String>,
    refusal: Option<Refusal>,
) {
    for (number, (from, length)) in layout.lanes.iter().enumerate() {
        let _ = writeln!(text, "lane {number}");
        let code = image.get(*from..from + length).unwrap_or_default();
        let mut at = 0;
        let mut depth = 0_usize;
        while let Some((instruction, size)) = Instruction::decode(code, at) {
            if instruction == Instruction::Again {
                depth = depth.saturating_sub(1);
            }
            let said = format!("{}{}", "  ".repeat(depth), words(layout, instruction));
            let bytes = hexadecimal(code.get(at..at + size).unwrap_or_default());
            let note = notes.get(&(number, at)).map_or(String::new(), |note| format!("  # {note}"));
            let line = format!("  {at:5}  {bytes:<20}  {said}");
            // Notes stand in one column as long as the lines are short.
            let padded = if note.is_empty() { line } else { format!("{line:<76}{note}") };
            let _ = writeln!(text, "{padded}");
            if let Some(refusal) = refusal
                && usize::from(refusal.offset) == from + at
            {
                let _ = writeln!(text, "         ^ {}", refusal.reason.text());
            }
            if matches!(instruction, Instruction::Repeat(_)) {
                depth += 1;
            }
            at += size;
        }
        if at < code.len() {
            let _ = writeln!(text, "  {at:5}  {:02x}                    no instruction", code[at]);
        }
    }
}

/// An instruction in words.
fn words(layout: &Layout, instruction: Instruction) -> String {
    match instruction {
        Instruction::End => "end".to_owned(),
        Instruction::Step(row) => format!("step {row}"),
        Instruction::Call(call) => {
            let text = layout.calls.get(usize::from(call)).map_or("", String::as_str);
            format!("call {call} \"{text}\"")
        }
        Instruction::On { output, level: 0 } => format!("on {output} level 0: soak, dark"),
        Instruction::On { output, level } => {
            format!("on {output} level {level} ({} %)", (u32::from(level) * 100 + 127) / 255)
        }
        Instruction::Off(output) => format!("off {output}"),
        Instruction::Begin { supply, amount, from, lasts } => format!(
            "begin supply {supply}, {}, operator from {} for {}",
            amperes(amount),
            time(u64::from(from)),
            time(u64::from(lasts))
        ),
        Instruction::Wait(lasts) => format!("wait {}", time(u64::from(lasts))),
        Instruction::Await { input, level, limit, target } => {
            format!("await {input} = {level} within {}, else go to {target}", time(u64::from(limit)))
        }
        Instruction::WaitRow(table) => format!("wait_row {table}"),
        Instruction::Repeat(count) => format!("repeat {count}"),
        Instruction::Again => "again".to_owned(),
        Instruction::Enough(count) => format!("enough {count}"),
        Instruction::Skip(target) => format!("skip {target}"),
        Instruction::Scrap => "scrap".to_owned(),
        Instruction::Fault(code) => format!("fault {code}"),
    }
}

fn time(ms: u64) -> String {
    format!("{}.{:03} s", ms / 1000, ms % 1000)
}

fn amperes(ten_milliamperes: u16) -> String {
    format!("{} A", hundredths(ten_milliamperes))
}

fn hundredths(value: u16) -> String {
    format!("{}.{:02}", value / 100, value % 100)
}

/// Bytes as hexadecimal digits.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
