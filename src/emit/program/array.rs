//! The image as a C array.

use std::fmt::Write;

use crate::program::{ProgramPlan, Verdict, hexadecimal};

/// A header that a firmware build can include.
pub fn c_array(image: &[u8], plan: &ProgramPlan) -> String {
    let mut text = String::new();
    let digest = hexadecimal(&plan.digest);
    // A name in the language is lower case, digits and underscores: it cannot end the comment.
    let _ = writeln!(text, "/* Timing program {}, {}, digest {digest}.", plan.name, plan.verdict.word());
    if plan.verdict == Verdict::Nominal {
        text.push_str("   NOMINAL: heat times hold at nominal values only; try it on strips first.\n");
    }
    text.push_str("   The stop button must break the heaters' supply by hardware. */\n");
    text.push_str("#ifndef WITHY_PROGRAM_H\n#define WITHY_PROGRAM_H\n\n#include <stdint.h>\n\n");
    let _ = writeln!(text, "#define WITHY_PROGRAM_SIZE {}u", image.len());
    text.push_str("#ifndef WITHY_PROGRAM_PLACE\n#define WITHY_PROGRAM_PLACE\n#endif\n\n");
    let _ = writeln!(text, "static const uint8_t withy_program[{}] WITHY_PROGRAM_PLACE = {{", image.len());
    for line in image.chunks(16) {
        let bytes: Vec<String> = line.iter().map(|byte| format!("0x{byte:02x}")).collect();
        let _ = writeln!(text, "    {},", bytes.join(", "));
    }
    text.push_str("};\n\n#endif\n");
    text
}
