//! The same plan as IEC 61131-3 Structured Text, for programmable controllers.
//!
//! Data as parallel arrays with initialisers (some compilers take no arrays of structures), one function block for the
//! lane with TON timers and a CASE, the limits in a separate guard block. Nothing vendor-specific; every name begins
//! with `W_` so that none is a reserved word.

use std::fmt::Write;

use crate::program::{
    InputRole, OutputRole, PartLoop, Pass, ProgramPlan, Verdict, hexadecimal, stretches, thicknesses,
};

/// One row of the parallel arrays: heaters on at which level, for how long, and what is awaited before and after it.
struct Row {
    kind: u8,
    /// In each row of heat times by thickness, ms; the same in all where there is only one.
    times: Vec<u32>,
    tries: u32,
    levels: [u8; 8],
    down: u8,
    target: usize,
    limit: u32,
}

/// Kinds of rows, as the CASE of the lane names them.
const PRESS: u8 = 0;
const HEAT: u8 = 1;
const BEND: u8 = 2;
const HOLD: u8 = 3;
const PART: u8 = 4;
const SCRAP: u8 = 5;
const END: u8 = 6;

fn plain(kind: u8) -> Row {
    Row { kind, times: Vec::new(), tries: 0, levels: [0; 8], down: 0, target: 0, limit: 0 }
}

/// The rows of all lanes, one lane after the other.
fn rows(plan: &ProgramPlan) -> Vec<Row> {
    let mut all = Vec::new();
    let lanes = plan.lanes.iter();
    for lane in lanes {
        for warm_up in &lane.warm_ups {
            all.push(plain(PRESS));
            let mut row = plain(HEAT);
            row.times = vec![warm_up.lasts];
            set(&mut row.levels, warm_up.output, u8::MAX);
            all.push(row);
        }
        for part in &lane.loops {
            part_rows(part, &mut all);
        }
    }
    all.push(plain(END));
    all
}

fn set(levels: &mut [u8; 8], output: u8, level: u8) {
    if let Some(place) = levels.get_mut(usize::from(output)) {
        *place = level;
    }
}

fn part_rows(part: &PartLoop, all: &mut Vec<Row>) {
    let first = all.len();
    let mut late = Vec::new();
    for pass in &part.passes {
        all.push(plain(PRESS));
        pass_rows(pass, all);
        late.push(all.len());
        let mut bend = plain(BEND);
        bend.times = vec![pass.transfer];
        bend.down =
            pass.heats.iter().fold(0, |mask, heat| mask | 1_u8.checked_shl(u32::from(heat.output)).unwrap_or(0));
        all.push(bend);
        let mut hold = plain(HOLD);
        hold.times = vec![pass.set];
        all.push(hold);
    }
    let times = u32::from(part.times.unwrap_or(u16::MAX));
    let tries = part.times.map_or(u32::from(u16::MAX), |times| u32::from(times) + u32::from(part.spare));
    let mut done = plain(PART);
    done.target = first;
    done.limit = times;
    done.tries = tries;
    all.push(done);
    let scrap = all.len();
    let mut spoilt = plain(SCRAP);
    spoilt.target = first;
    spoilt.tries = tries;
    all.push(spoilt);
    for row in late {
        if let Some(row) = all.get_mut(row) {
            row.target = scrap;
        }
    }
}

/// Levels of all heaters over the heat of a pass; they end together.
fn pass_rows(pass: &Pass, all: &mut Vec<Row>) {
    let mut levels = [0; 8];
    for stretch in stretches(&pass.heats) {
        for (output, stage) in &stretch.changes {
            set(&mut levels, *output, stage.level);
        }
        if stretch.lasts.iter().any(|time| *time > 0) {
            let mut row = plain(HEAT);
            row.times = stretch.lasts;
            row.levels = levels;
            all.push(row);
        }
    }
}

fn list(values: impl Iterator<Item = String>) -> String {
    values.collect::<Vec<_>>().join(", ")
}

/// The whole text.
pub fn structured_text(plan: &ProgramPlan) -> String {
    let rows = rows(plan);
    let heaters: Vec<usize> = (0..plan.machine.outputs.len())
        .filter(|output| plan.machine.outputs[*output].role == OutputRole::Heater)
        .collect();
    let mut text = String::new();
    head(&mut text, plan);
    guard_block(&mut text);
    let thicknesses = thicknesses(plan);
    lane_block(&mut text, &rows, thicknesses.len().max(1), &heaters);
    program(&mut text, plan, &heaters, &thicknesses);
    text
}

fn head(text: &mut String, plan: &ProgramPlan) {
    let digest = hexadecimal(&plan.digest);
    let _ = writeln!(text, "(* Timing program {}, {}, digest {digest}.", plan.name, plan.verdict.word());
    if plan.verdict == Verdict::Nominal {
        text.push_str("   NOMINAL: heat times hold at nominal values only; try it on strips first.\n");
    }
    text.push_str(
        "   Each TON starts one scan late, and restarting it takes another: every time is longer by up to two scans.
   Scan at least every 10 ms.
   The stop button must break the heaters' supply by hardware; this program only learns of it.
   Parts are made one after the other here, in one lane. Levels below 255 are spread over windows of 1 s.
   Wire it to your local code; above extra-low voltage that is work for a licensed electrician. *)\n\n",
    );
}

fn guard_block(text: &mut String) {
    text.push_str(
        "(* Beside the lane: takes a heater off that is on beyond its limit, whatever the lane says. *)
FUNCTION_BLOCK W_Guard
VAR_INPUT
  W_Wanted : BOOL;
  W_Limit : TIME;
  W_Reset : BOOL;
END_VAR
VAR_OUTPUT
  W_Tripped : BOOL;
END_VAR
VAR
  W_Timer : TON;
END_VAR
W_Timer(IN := W_Wanted, PT := W_Limit);
IF W_Timer.Q THEN
  W_Tripped := TRUE;
END_IF;
IF W_Reset AND NOT W_Wanted THEN
  W_Tripped := FALSE;
END_IF;
END_FUNCTION_BLOCK\n\n",
    );
}

fn lane_block(text: &mut String, rows: &[Row], choices: usize, heaters: &[usize]) {
    let last = rows.len().saturating_sub(1);
    let _ = writeln!(
        text,
        "(* Kinds of rows: {PRESS} press, {HEAT} heat, {BEND} bend, {HOLD} hold, {PART} part done, {SCRAP} spoilt, {END} end. *)"
    );
    text.push_str("FUNCTION_BLOCK W_Lane\nVAR_INPUT\n  W_Start : BOOL;\n  W_Stop : BOOL;\n  W_Home : BOOL;\n");
    if choices > 1 {
        text.push_str("  W_Chosen : UINT; (* row of heat times, from 0 *)\n");
    }
    text.push_str("  W_Down : BYTE;\nEND_VAR\nVAR_OUTPUT\n  W_Lamp : BOOL;\n  W_Heating : BOOL;\n  W_Ended : BOOL;\n");
    text.push_str("  W_Good : UINT;\n  W_Spoilt : UINT;\n");
    for heater in heaters {
        let _ = writeln!(text, "  W_Level{heater} : USINT;");
    }
    text.push_str("END_VAR\nVAR\n");
    let mut array = |name: &str, kind: &str, values: String| {
        let _ = writeln!(text, "  {name} : ARRAY[0..{last}] OF {kind} := [{values}];");
    };
    array("W_Kind", "USINT", list(rows.iter().map(|row| row.kind.to_string())));
    array("W_Tries", "UDINT", list(rows.iter().map(|row| row.tries.to_string())));
    array("W_Asked", "UDINT", list(rows.iter().map(|row| row.limit.to_string())));
    array("W_Target", "UINT", list(rows.iter().map(|row| row.target.to_string())));
    array("W_Awaited", "BYTE", list(rows.iter().map(|row| format!("16#{:02X}", row.down))));
    for heater in heaters {
        array(
            &format!("W_Levels{heater}"),
            "USINT",
            list(rows.iter().map(|row| row.levels.get(*heater).copied().unwrap_or(0).to_string())),
        );
    }
    let all_times = rows.iter().flat_map(|row| (0..choices).map(|choice| time(row, choice)));
    let end = rows.len() * choices - 1;
    let _ = writeln!(
        text,
        "  W_Time : ARRAY[0..{end}] OF TIME := [{}];",
        list(all_times.map(|time| format!("T#{time}ms")))
    );
    if choices > 1 {
        text.push_str("  W_Held : UINT := 0;\n");
    }
    text.push_str("  W_Row : UINT := 0;\n  W_Tried : UDINT := 0;\n  W_Made : UDINT := 0;\n  W_Timer : TON;\n");
    text.push_str("  W_Edge : R_TRIG;\n  W_Restart : BOOL := FALSE;\nEND_VAR\n");
    let at = if choices > 1 { format!("W_Row * {choices} + W_Held") } else { "W_Row".to_owned() };
    let _ = writeln!(
        text,
        "W_Edge(CLK := W_Start);\nW_Timer(IN := NOT W_Restart, PT := W_Time[{at}]);\nW_Restart := FALSE;"
    );
    text.push_str("W_Lamp := FALSE;\nW_Heating := FALSE;\n");
    for heater in heaters {
        let _ = writeln!(text, "W_Level{heater} := 0;");
    }
    text.push_str("IF W_Stop THEN\n  W_Ended := TRUE;\nEND_IF;\nIF NOT W_Ended THEN\n  CASE W_Kind[W_Row] OF\n");
    // A row that is chosen while a part is heated counts from the next press on.
    let held = if choices > 1 { format!("        W_Held := MIN(W_Chosen, {});\n", choices - 1) } else { String::new() };
    let _ = writeln!(
        text,
        "    {PRESS}:\n      W_Lamp := W_Home;\n      IF W_Edge.Q AND W_Home THEN\n{held}{}",
        next("        ")
    );
    text.push_str("      END_IF;\n");
    let _ = writeln!(
        text,
        "    {HEAT}:\n      W_Heating := TRUE;\n      IF W_Timer.Q THEN\n{}\n      ELSE",
        next("        ")
    );
    for heater in heaters {
        let _ = writeln!(text, "        W_Level{heater} := W_Levels{heater}[W_Row];");
    }
    text.push_str("      END_IF;\n");
    let _ = writeln!(
        text,
        "    {BEND}:\n      IF (W_Down AND W_Awaited[W_Row]) = W_Awaited[W_Row] THEN\n{}\n      ELSIF W_Timer.Q THEN
        W_Row := W_Target[W_Row];\n        W_Restart := TRUE;\n      END_IF;",
        next("        ")
    );
    let _ = writeln!(text, "    {HOLD}:\n      IF W_Timer.Q THEN\n{}\n      END_IF;", next("        "));
    let _ = writeln!(
        text,
        "    {PART}:\n      W_Good := W_Good + 1;\n      W_Made := W_Made + 1;\n      W_Tried := W_Tried + 1;
      IF W_Made >= W_Asked[W_Row] OR W_Tried >= W_Tries[W_Row] THEN
        W_Made := 0;\n        W_Tried := 0;\n        W_Row := W_Row + 2;\n      ELSE\n        W_Row := W_Target[W_Row];
      END_IF;\n      W_Restart := TRUE;"
    );
    let _ = writeln!(
        text,
        "    {SCRAP}:\n      W_Lamp := TRUE;\n      IF W_Edge.Q THEN\n        W_Spoilt := W_Spoilt + 1;
        W_Tried := W_Tried + 1;\n        IF W_Tried >= W_Tries[W_Row] THEN\n          W_Made := 0;\n          W_Tried := 0;
          W_Row := W_Row + 1;\n        ELSE\n          W_Row := W_Target[W_Row];\n        END_IF;
        W_Restart := TRUE;\n      END_IF;"
    );
    let _ = writeln!(text, "    {END}:\n      W_Ended := TRUE;\n  END_CASE;\nEND_IF;\nEND_FUNCTION_BLOCK\n");
}

/// How long a row is, ms.
fn time(row: &Row, choice: usize) -> u32 {
    row.times.get(choice).or(row.times.first()).copied().unwrap_or(0)
}

fn next(indent: &str) -> String {
    format!("{indent}W_Row := W_Row + 1;\n{indent}W_Restart := TRUE;")
}

fn program(text: &mut String, plan: &ProgramPlan, heaters: &[usize], thicknesses: &[u16]) {
    let machine = &plan.machine;
    text.push_str("PROGRAM W_Main\nVAR_INPUT\n");
    for (index, input) in machine.inputs.iter().enumerate() {
        let _ = writeln!(text, "  W_In{index} : BOOL; (* {}, contact closed *)", input.role.word());
    }
    if !thicknesses.is_empty() {
        let rows = thicknesses.iter().enumerate();
        let rows = rows.map(|(row, thickness)| format!("{row}: {}.{:02} mm", thickness / 100, thickness % 100));
        let _ = writeln!(text, "  W_Chosen : UINT; (* by measured thickness: {} *)", list(rows));
    }
    text.push_str("END_VAR\nVAR_OUTPUT\n");
    for (index, output) in machine.outputs.iter().enumerate() {
        let _ = writeln!(text, "  W_Out{index} : BOOL; (* {} *)", output.role.word());
    }
    text.push_str("END_VAR\nVAR\n  W_TheLane : W_Lane;\n  W_Window : TON;\n  W_Tripped : BOOL;\n  W_Place : TIME;\n");
    for heater in heaters {
        let _ = writeln!(text, "  W_Guard{heater} : W_Guard;\n  W_Lit{heater} : BOOL;");
    }
    text.push_str("END_VAR\n");
    let active = |index: usize| {
        if machine.inputs[index].normally_closed { format!("NOT W_In{index}") } else { format!("W_In{index}") }
    };
    let all = |wanted: fn(InputRole) -> bool| -> Vec<usize> {
        (0..machine.inputs.len()).filter(|index| wanted(machine.inputs[*index].role)).collect()
    };
    let any = |wanted: fn(InputRole) -> bool, or: &str, none: &str| {
        let parts: Vec<String> = all(wanted).into_iter().map(|index| format!("({})", active(index))).collect();
        if parts.is_empty() { none.to_owned() } else { parts.join(or) }
    };
    let start = any(|role| role == InputRole::Start, " OR ", "FALSE");
    let stop = any(|role| role == InputRole::Stop, " OR ", "TRUE");
    let home = any(|role| matches!(role, InputRole::Home(_) | InputRole::Guard), " AND ", "TRUE");
    let down: Vec<String> = (0..machine.inputs.len())
        .filter_map(|index| match machine.inputs[index].role {
            InputRole::Down(of) => Some(format!("SEL({}, BYTE#0, BYTE#16#{:02X})", active(index), 1_u32 << (of % 8))),
            _ => None,
        })
        .collect();
    let down = if down.is_empty() { "BYTE#0".to_owned() } else { down.join(" OR ") };
    text.push_str("W_Window(IN := NOT W_Window.Q, PT := T#1000ms);\nW_Place := W_Window.ET;\n");
    let chosen = if thicknesses.is_empty() { "" } else { "  W_Chosen := W_Chosen,\n" };
    let _ = writeln!(
        text,
        "W_TheLane(\n{chosen}  W_Start := {start},\n  W_Stop := ({stop}) OR W_Tripped,\n  W_Home := {home},\n  W_Down := {down}\n);"
    );
    for heater in heaters {
        let limit = u32::from(machine.outputs[*heater].longest) * 100;
        let _ = writeln!(
            text,
            "W_Guard{heater}(W_Wanted := W_TheLane.W_Heating, W_Limit := T#{limit}ms, W_Reset := FALSE);
IF W_Guard{heater}.W_Tripped THEN\n  W_Tripped := TRUE;\nEND_IF;
W_Lit{heater} := TIME_TO_UDINT(W_Place) * 255 < USINT_TO_UDINT(W_TheLane.W_Level{heater}) * 1000;
W_Out{heater} := W_Lit{heater} AND NOT W_Tripped AND NOT ({stop});"
        );
    }
    for (index, output) in machine.outputs.iter().enumerate() {
        match output.role {
            OutputRole::Heater => {}
            OutputRole::Isolator => {
                let _ = writeln!(text, "W_Out{index} := W_TheLane.W_Heating AND NOT W_Tripped AND NOT ({stop});");
            }
            OutputRole::Lamp => {
                let _ = writeln!(text, "W_Out{index} := W_TheLane.W_Lamp;");
            }
            OutputRole::Buzzer => {
                let _ = writeln!(text, "W_Out{index} := W_Tripped;");
            }
        }
    }
    text.push_str("END_PROGRAM\n");
}
