//! The same plan as IEC 61131-3 Structured Text, for programmable controllers.
//!
//! One function block for each lane, with its data as parallel arrays, a TON and a CASE; the limits of each heater in
//! blocks beside them; who takes a press in a third. Nothing vendor-specific: every name begins with `W_` so that none is
//! a reserved word, and a TIME is only added, compared and multiplied, since what it is as a number differs.

mod blocks;
mod desk;
mod lane;
mod program;
mod rows;

use std::fmt::Write;

use crate::program::{CURRENT_FALLS, LONGEST_TICK, ProgramPlan, Verdict, hexadecimal, thicknesses};
use rows::Lane;

/// The whole text.
pub fn structured_text(plan: &ProgramPlan) -> String {
    let lanes: Vec<Lane> = plan.lanes.iter().map(|lane| rows::lane(plan, lane)).collect();
    let thicknesses = thicknesses(plan);
    let choices = thicknesses.len().max(1);
    let mut text = String::new();
    head(&mut text, plan);
    blocks::contact(&mut text);
    blocks::guard(&mut text);
    desk::block(&mut text, &plan.machine, lanes.len());
    for (number, lane) in lanes.iter().enumerate() {
        lane::block(&mut text, number, lane, choices);
    }
    program::program(&mut text, plan, &lanes, &thicknesses);
    text
}

// Names in the language are lower case, digits and underscores: none can end a comment.
fn head(text: &mut String, plan: &ProgramPlan) {
    let digest = hexadecimal(&plan.digest);
    let _ = writeln!(text, "(* Timing program {}, {}, digest {digest}.", plan.name, plan.verdict.word());
    if plan.verdict == Verdict::Nominal {
        text.push_str("   NOMINAL: heat times hold at nominal values only; try it on strips first.\n");
    }
    let _ = writeln!(
        text,
        "   Scan W_Main at least every 10 ms; a scan of more than {LONGEST_TICK} ms switches everything off.
   Times: a TON is called twice to start it anew in the scan in which its time begins, and whatever it ends, ends in the
   first scan after. So each time is longer by up to one scan, the stages of one heat together too; between a hold and
   the next press there are a few more. Where your TON starts one scan late, add that scan.
   Lanes run side by side. A press counts when the lamp is lit, for the first lane whose arm is home and whose supply and
   person are free. Outside a program, a press starts it; in a fault, it acknowledges, once the cause is gone and stop is
   released: then the program begins from its first row. Nothing heats that was not just pressed for.
   Each heater has a guard: the longest time on, heat of the last minutes, rest between two heats. Stop, an open guard,
   a tripped limit, an arm seen down at a hot line, a chattering contact or a current that flows {CURRENT_FALLS} ms after
   its heater is off take all heaters and isolators off, and they stay off.
   Not here, but in the project's own controller: the test of all switches after power has come, the check mode, the
   log. Calls are a sound and a number; their texts stand above each lane. Levels below 255 are spread over windows of
   1 s.
   The stop button must break the heaters' supply by hardware; this program only learns of it.
   Wire it to your local code; above extra-low voltage that is work for a licensed electrician. *)
"
    );
}
