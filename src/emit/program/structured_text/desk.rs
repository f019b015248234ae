//! The function block that says who takes a press.

use std::fmt::Write;

use crate::program::Machine;

/// Who takes a press: called once in each scan for each lane, in their order.
pub(super) fn block(text: &mut String, machine: &Machine, lanes: usize) {
    let last = lanes.saturating_sub(1);
    variables(text, machine, last);
    run_on(text, last);
    decide(text, machine.operators, last);
    text.push_str("END_FUNCTION_BLOCK\n\n");
}

fn variables(text: &mut String, machine: &Machine, last: usize) {
    let supplies = machine.supplies.len().saturating_sub(1);
    let gives: Vec<String> = machine.supplies.iter().map(ToString::to_string).collect();
    let _ = write!(
        text,
        "\
(* Who takes a press, what is claimed of each supply, and when a person is needed. Called once in each scan for each
   lane in their order, so the first lane that can begin takes the press. Press, claim and reservation come in the same
   scan; the claim ends when the lane's heaters are off, the reservation when its time is over. *)
FUNCTION_BLOCK W_Desk
VAR_INPUT
  W_Lane : UINT;
  W_Passed : TIME;
  W_Press : BOOL;
  W_Ready : BYTE; (* heaters that may begin *)
  W_Active : BOOL; (* from here on, what the lane says *)
  W_Begins : BOOL;
  W_Scraps : BOOL;
  W_Heating : BOOL;
  W_Arms : BYTE;
  W_Supply : USINT;
  W_Amount : UDINT;
  W_From : TIME;
  W_Lasts : TIME;
END_VAR
VAR_OUTPUT
  W_Go : BOOL; (* the press is this lane's *)
  W_Wait : BOOL; (* everybody is needed elsewhere *)
  W_Lamp : BOOL; (* a press would count *)
END_VAR
VAR
  W_Gives : ARRAY[0..{supplies}] OF UDINT := [{gives}]; (* 10 mA *)
  W_ClaimOf : ARRAY[0..{last}] OF UDINT;
  W_SupplyOf : ARRAY[0..{last}] OF USINT;
  W_FromOf : ARRAY[0..{last}] OF TIME; (* from now *)
  W_ToOf : ARRAY[0..{last}] OF TIME;
  W_Left : BOOL; (* a press that no lane has taken *)
  W_Claimed : UDINT;
  W_Busy : USINT;
  W_Needed : USINT;
  W_Other : UINT;
END_VAR
",
        gives = gives.join(", "),
    );
}

/// Reservations come nearer, claims end.
fn run_on(text: &mut String, last: usize) {
    let _ = write!(
        text,
        "\
IF W_Lane = 0 THEN
  W_Left := W_Press;
  W_Lamp := FALSE;
  FOR W_Other := 0 TO {last} DO
    IF W_FromOf[W_Other] > W_Passed THEN
      W_FromOf[W_Other] := W_FromOf[W_Other] - W_Passed;
    ELSE
      W_FromOf[W_Other] := T#0ms;
    END_IF;
    IF W_ToOf[W_Other] > W_Passed THEN
      W_ToOf[W_Other] := W_ToOf[W_Other] - W_Passed;
    ELSE
      W_ToOf[W_Other] := T#0ms;
    END_IF;
  END_FOR;
END_IF;
IF NOT W_Heating THEN
  W_ClaimOf[W_Lane] := 0;
END_IF;
IF NOT W_Active THEN
  W_FromOf[W_Lane] := T#0ms;
  W_ToOf[W_Lane] := T#0ms;
END_IF;
"
    );
}

/// Whether the lane may begin beside the others.
fn decide(text: &mut String, operators: u8, last: usize) {
    let _ = write!(
        text,
        "\
W_Claimed := W_Amount;
W_Busy := 0;
W_Needed := 0;
FOR W_Other := 0 TO {last} DO
  IF W_Other <> W_Lane THEN
    IF W_SupplyOf[W_Other] = W_Supply THEN
      W_Claimed := W_Claimed + W_ClaimOf[W_Other];
    END_IF;
    IF W_FromOf[W_Other] < W_From + W_Lasts AND W_From < W_ToOf[W_Other] THEN
      W_Busy := W_Busy + 1;
    END_IF;
    IF W_FromOf[W_Other] = T#0ms AND W_ToOf[W_Other] > T#0ms THEN
      W_Needed := W_Needed + 1;
    END_IF;
  END_IF;
END_FOR;
W_Wait := NOT W_Heating AND W_Needed >= {operators}
  AND NOT (W_FromOf[W_Lane] = T#0ms AND W_ToOf[W_Lane] > T#0ms);
W_Go := FALSE;
IF W_Begins AND (W_Ready AND W_Arms) = W_Arms AND W_Claimed <= W_Gives[W_Supply] AND W_Busy < {operators} THEN
  W_Lamp := TRUE;
  W_Go := W_Left;
  IF W_Go THEN
    W_SupplyOf[W_Lane] := W_Supply;
    W_ClaimOf[W_Lane] := W_Amount;
    W_FromOf[W_Lane] := W_From;
    W_ToOf[W_Lane] := W_From + W_Lasts;
  END_IF;
ELSIF W_Scraps THEN
  W_Lamp := TRUE;
  W_Go := W_Left;
END_IF;
W_Left := W_Left AND NOT W_Go;
"
    );
}
