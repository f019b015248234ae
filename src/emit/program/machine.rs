//! A bench's own constants, for the firmware of its controller.

use std::fmt::Write;

use crate::program::{InputRole, Machine, OutputRole, SwitchKind};

/// Bytes of an output, an input and a supply, as in an image.
const SIZES: (usize, usize, usize) = (8, 5, 2);

/// A header from which firmware is built that runs the programs of one bench, and no others.
pub fn machine_header(bench: &str, controller: &str, machine: &Machine) -> String {
    let mut text = String::new();
    // A name in the language is lower case, digits and underscores: it cannot end the comment.
    let _ = writeln!(text, "/* Bench {bench}, controller {controller}: its wiring and its limits.");
    text.push_str(
        "   A controller that is built with this runs programs of this bench and wiring only. Build it anew when the\n",
    );
    text.push_str("   `controller` block, a heater or a supply of the bench has changed.\n");
    text.push_str("   The stop button must break the heaters' supply by hardware. */\n");
    text.push_str("#ifndef WITHY_MACHINE_H\n#define WITHY_MACHINE_H\n\n#include <stdint.h>\n\n");
    let _ = writeln!(text, "#define WITHY_BENCH 0x{:08x}ul", machine.bench);
    let _ = writeln!(text, "#define WITHY_WIRING 0x{:08x}ul", machine.digest());
    text.push_str("/* Bytes for one program. */\n");
    let _ = writeln!(text, "#define WITHY_SPACE {}u", machine.space);
    let _ = writeln!(text, "#define WITHY_OUTPUTS {}", machine.outputs.len());
    let _ = writeln!(text, "#define WITHY_INPUTS {}", machine.inputs.len());
    let _ = writeln!(text, "#define WITHY_SUPPLIES {}", machine.supplies.len());
    let outputs: Vec<u8> = machine.outputs.iter().map(|output| output.pin).collect();
    let inputs: Vec<u8> = machine.inputs.iter().map(|input| input.pin).collect();
    pins(&mut text, "OUTPUT", &outputs);
    pins(&mut text, "INPUT", &inputs);
    constants(&mut text, machine);
    text.push_str("\n#endif\n");
    text
}

/// The pins of outputs or inputs, so that a build can refuse those that its chip does not have.
fn pins(text: &mut String, what: &str, pins: &[u8]) {
    let _ = writeln!(
        text,
        "\n/* Place and pin of each. */\n#define WITHY_HIGHEST_{what} {}",
        pins.iter().max().unwrap_or(&0)
    );
    let _ = write!(text, "#define WITHY_EACH_{what}(of)");
    for (place, pin) in pins.iter().enumerate() {
        let _ = write!(text, " of({place}, {pin})");
    }
    text.push('\n');
}

fn constants(text: &mut String, machine: &Machine) {
    let bytes = machine.constants();
    text.push_str("\n#ifndef WITHY_MACHINE_PLACE\n#define WITHY_MACHINE_PLACE\n#endif\n\n");
    let _ = writeln!(text, "static const uint8_t withy_machine[{}] WITHY_MACHINE_PLACE = {{", bytes.len());
    let (counts, rest) = bytes.split_at_checked(4).unwrap_or_default();
    row(text, counts, "people, outputs, inputs, supplies");
    let (outputs, rest) = rest.split_at_checked(SIZES.0 * machine.outputs.len()).unwrap_or_default();
    for (bytes, output) in outputs.chunks(SIZES.0).zip(&machine.outputs) {
        let mut what = format!("output {}: {}", output.pin, output.role.word());
        match output.role {
            OutputRole::Heater => {
                let switch = if output.switch == SwitchKind::Relay { "relay" } else { "solid state" };
                let longest = f64::from(output.longest) / 10.0;
                let draw = f64::from(output.draw) / 100.0;
                let _ = write!(what, ", {switch}, supply {}, at most {longest:.1} s, {draw:.2} A", output.supply);
            }
            OutputRole::Isolator => {
                let _ = write!(what, " of supply {}", output.supply);
            }
            OutputRole::Lamp | OutputRole::Buzzer => {}
        }
        row(text, bytes, &what);
    }
    let (inputs, supplies) = rest.split_at_checked(SIZES.1 * machine.inputs.len()).unwrap_or_default();
    for (bytes, input) in inputs.chunks(SIZES.1).zip(&machine.inputs) {
        let mut what = format!("input {}: {}", input.pin, input.role.word());
        match input.role {
            InputRole::Down(output) | InputRole::Home(output) | InputRole::HeaterCurrent(output) => {
                let pin = machine.outputs.get(usize::from(output)).map_or(0, |output| output.pin);
                let _ = write!(what, ", of the heater at output {pin}");
            }
            InputRole::SupplyCurrent(supply) => {
                let _ = write!(what, ", of supply {supply}");
            }
            InputRole::Start | InputRole::Stop | InputRole::Row | InputRole::Guard => {}
        }
        if input.normally_closed {
            what.push_str(", closed at rest");
        }
        row(text, bytes, &what);
    }
    for (place, (bytes, supply)) in supplies.chunks(SIZES.2).zip(&machine.supplies).enumerate() {
        row(text, bytes, &format!("supply {place}: {:.2} A", f64::from(*supply) / 100.0));
    }
    text.push_str("};\n");
}

fn row(text: &mut String, bytes: &[u8], what: &str) {
    let bytes: Vec<String> = bytes.iter().map(|byte| format!("0x{byte:02x}")).collect();
    let _ = writeln!(text, "    {}, /* {what} */", bytes.join(", "));
}
