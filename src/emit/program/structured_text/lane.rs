//! One function block for each lane.

use std::fmt::Write;

use crate::emit::program::structured_text::rows::{AGAIN, BEND, END, GOOD, HEAT, HOLD, Lane, PRESS, Row, SPOILT, mask};

/// Longer than any row of a lane, and much shorter than the longest TIME anywhere (our choice).
pub(super) const LONG: &str = "T#24h";

/// The block of a lane whose heat times stand in so many rows by thickness.
pub(super) fn block(text: &mut String, number: usize, lane: &Lane, choices: usize) {
    let _ = writeln!(text, "(* Lane {number}. W_Call names the call that sounded last:");
    for (index, call) in lane.calls.iter().enumerate() {
        let _ = writeln!(text, "   {} {call}", index + 1);
    }
    let _ = writeln!(
        text,
        "   Kinds of rows: {PRESS} press, {HEAT} heat, {BEND} bend, {HOLD} hold, {GOOD} good, {SPOILT} spoilt, \
         {AGAIN} again, {END} end. *)\nFUNCTION_BLOCK W_Lane{number}"
    );
    variables(text, lane, choices);
    start(text);
    ends(text, choices);
    does(text, &lane.heaters);
    text.push_str("END_FUNCTION_BLOCK\n\n");
}

/// The beginning of a program, and of a row.
fn start(text: &mut String) {
    let _ = write!(
        text,
        "\
W_Timer(IN := W_Run, PT := {LONG});
W_Sounds := FALSE;
IF W_Run AND NOT W_Ran THEN
  W_Active := TRUE;
  W_Row := 0;
  W_Called := FALSE;
  W_Tried := 0;
  W_Made := 0;
  W_Good := 0;
  W_Spoilt := 0;
END_IF;
W_Ran := W_Run;
W_Active := W_Active AND W_Run;
(* The call of a row, once; it waits while everybody is needed elsewhere, but never that of a bend. *)
IF W_Active AND NOT W_Called THEN
  IF W_CallOf[W_Row] = 0 OR W_KindOf[W_Row] = {BEND} OR NOT W_Wait THEN
    W_Called := TRUE;
    IF W_CallOf[W_Row] > 0 THEN
      W_Call := W_CallOf[W_Row];
      W_Sounds := TRUE;
    END_IF;
    IF W_KindOf[W_Row] = {SPOILT} THEN
      W_Spoilt := W_Spoilt + 1;
    END_IF;
  END_IF;
END_IF;
"
    );
}

/// What ends a row.
fn ends(text: &mut String, choices: usize) {
    let at = if choices > 1 { format!("W_Row * {choices} + W_Held") } else { "W_Row".to_owned() };
    let held = if choices > 1 {
        // A row that is chosen while a part is heated counts from the next press on. What is no row counts as the first,
        // whose heat is the shortest.
        format!(
            "        IF W_Chosen < {choices} THEN\n          W_Held := W_Chosen;\n        ELSE\n          W_Held := 0;
        END_IF;\n"
        )
    } else {
        String::new()
    };
    let _ = write!(
        text,
        "\
(* What ends a row. *)
IF W_Active AND W_Called THEN
  W_Next := W_Row;
  W_Restart := FALSE;
  CASE W_KindOf[W_Row] OF
    {PRESS}:
      IF W_Go THEN
{held}        W_Next := W_Row + 1;
        W_Restart := TRUE;
      END_IF;
    {HEAT}:
      IF W_Timer.ET >= W_UntilOf[{at}] THEN
        W_Next := W_Row + 1;
      END_IF;
    {BEND}:
      IF W_Timer.ET > W_UntilOf[{at}] THEN
        W_Next := W_TargetOf[W_Row];
      ELSIF (W_Down AND W_ArmsOf[W_Row]) = W_ArmsOf[W_Row] THEN
        W_Next := W_Row + 1;
        W_Restart := TRUE;
      END_IF;
    {HOLD}:
      IF W_Timer.ET >= W_UntilOf[{at}] THEN
        W_Next := W_Row + 1;
      END_IF;
    {GOOD}:
      W_Good := W_Good + 1;
      W_Made := W_Made + 1;
      W_Next := W_TargetOf[W_Row];
    {SPOILT}:
      IF W_Go THEN
        W_Next := W_Row + 1;
      END_IF;
    {AGAIN}:
      W_Tried := W_Tried + 1;
      IF W_Made >= W_AskedOf[W_Row] OR W_Tried >= W_TriesOf[W_Row] THEN
        W_Made := 0;
        W_Tried := 0;
        W_Next := W_Row + 1;
      ELSE
        W_Next := W_TargetOf[W_Row];
      END_IF;
    {END}:
      W_Active := FALSE;
  END_CASE;
  IF W_Next <> W_Row THEN
    W_Row := W_Next;
    W_Called := FALSE;
  END_IF;
  IF W_Restart THEN
    W_Timer(IN := FALSE, PT := {LONG});
    W_Timer(IN := TRUE, PT := {LONG});
  END_IF;
END_IF;
"
    );
}

/// What a row does.
fn does(text: &mut String, heaters: &[u8]) {
    let _ = write!(
        text,
        "\
(* What a row does. *)
W_Begins := W_Active AND W_Called AND W_KindOf[W_Row] = {PRESS};
W_Scraps := W_Active AND W_Called AND W_KindOf[W_Row] = {SPOILT};
W_Heating := W_Active AND W_KindOf[W_Row] = {HEAT};
W_Arms := W_ArmsOf[W_Row];
W_Supply := W_SupplyOf[W_Row];
W_Amount := W_AmountOf[W_Row];
W_From := W_FromOf[W_Row];
W_Lasts := W_LastsOf[W_Row];
"
    );
    for heater in heaters {
        let bit = mask(&[*heater]);
        let _ = write!(
            text,
            "\
W_Live{heater} := W_Heating AND (W_Arms AND BYTE#16#{bit:02X}) <> BYTE#0;
W_Level{heater} := 0;
IF W_Live{heater} THEN
  W_Level{heater} := W_LevelOf{heater}[W_Row];
END_IF;
"
        );
    }
}

fn variables(text: &mut String, lane: &Lane, choices: usize) {
    text.push_str(
        "\
VAR_INPUT
  W_Run : BOOL; (* else everything is off, and it begins anew *)
  W_Go : BOOL; (* a press, and it is for this lane *)
  W_Wait : BOOL; (* calls wait *)
  W_Down : BYTE; (* arms at their stops, by the output of their heater *)
",
    );
    if choices > 1 {
        text.push_str("  W_Chosen : UINT; (* row of heat times, from 0 *)\n");
    }
    text.push_str(
        "\
END_VAR
VAR_OUTPUT
  W_Active : BOOL;
  W_Begins : BOOL; (* a press may begin a heat *)
  W_Scraps : BOOL; (* a press must end a spoilt part *)
  W_Heating : BOOL;
  W_Arms : BYTE; (* heaters that a press would begin *)
  W_Supply : USINT;
  W_Amount : UDINT; (* that they draw from it, 10 mA *)
  W_From : TIME; (* when a person would be needed *)
  W_Lasts : TIME; (* and for how long *)
  W_Sounds : BOOL;
  W_Call : USINT;
  W_Good : UINT;
  W_Spoilt : UINT;
",
    );
    for heater in &lane.heaters {
        let _ = writeln!(text, "  W_Live{heater} : BOOL;\n  W_Level{heater} : USINT;");
    }
    text.push_str("END_VAR\nVAR\n");
    arrays(text, lane, choices);
    if choices > 1 {
        text.push_str("  W_Held : UINT;\n");
    }
    text.push_str(
        "  W_Row : UINT;
  W_Next : UINT;
  W_Tried : UDINT;
  W_Made : UDINT;
  W_Ran : BOOL;
  W_Called : BOOL;
  W_Restart : BOOL;
  W_Timer : TON; (* since the press, in a hold since the bend *)
END_VAR
",
    );
}

/// Data as parallel arrays: some compilers take no arrays of structures.
fn arrays(text: &mut String, lane: &Lane, choices: usize) {
    let mut array = |name: &str, kind: &str, of: &dyn Fn(&Row) -> String| {
        let values: Vec<String> = lane.rows.iter().map(of).collect();
        let last = values.len().saturating_sub(1);
        let _ = writeln!(text, "  {name} : ARRAY[0..{last}] OF {kind} := [{}];", values.join(", "));
    };
    array("W_KindOf", "USINT", &|row| row.kind.to_string());
    array("W_CallOf", "USINT", &|row| row.call.to_string());
    array("W_ArmsOf", "BYTE", &|row| format!("16#{:02X}", row.arms));
    for heater in &lane.heaters {
        let level = |row: &Row| row.levels.get(usize::from(*heater)).copied().unwrap_or(0).to_string();
        array(&format!("W_LevelOf{heater}"), "USINT", &level);
    }
    array("W_SupplyOf", "USINT", &|row| row.supply.to_string());
    array("W_AmountOf", "UDINT", &|row| row.amount.to_string());
    array("W_FromOf", "TIME", &|row| format!("T#{}ms", row.from));
    array("W_LastsOf", "TIME", &|row| format!("T#{}ms", row.lasts));
    array("W_TargetOf", "UINT", &|row| row.target.to_string());
    array("W_AskedOf", "UDINT", &|row| row.asked.to_string());
    array("W_TriesOf", "UDINT", &|row| row.tries.to_string());
    let until = lane.rows.iter().flat_map(|row| (0..choices).map(|choice| Lane::until(row, choice)));
    let until: Vec<String> = until.map(|time| format!("T#{time}ms")).collect();
    let last = until.len().saturating_sub(1);
    let _ = writeln!(text, "  W_UntilOf : ARRAY[0..{last}] OF TIME := [{}];", until.join(", "));
}
