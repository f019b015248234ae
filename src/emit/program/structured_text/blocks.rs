//! The function blocks that are the same for every plan: contacts, and the guard of a heater.

use std::fmt::Write;

use crate::program::{CHATTER, FaultCode, LEAK, SHORTEST_REST};

/// What an input says once it stands still.
pub(super) fn contact(text: &mut String) {
    let _ = write!(
        text,
        "\
(* What a contact says once it stands still. *)
FUNCTION_BLOCK W_Contact
VAR_INPUT
  W_Raw : BOOL;
  W_For : TIME; (* how long it must stand still *)
  W_Round : BOOL; (* a second is over *)
END_VAR
VAR_OUTPUT
  W_Stable : BOOL;
  W_Pressed : BOOL; (* it has become active in this scan *)
  W_Sure : BOOL; (* active, now and stable *)
  W_Clear : BOOL; (* at rest, now and stable *)
  W_Chatters : BOOL;
END_VAR
VAR
  W_Timer : TON;
  W_Was : BOOL;
  W_Changes : USINT;
END_VAR
IF W_Round THEN
  W_Changes := 0;
END_IF;
IF W_Raw <> W_Was AND W_Changes <= {CHATTER} THEN
  W_Changes := W_Changes + 1;
END_IF;
W_Was := W_Raw;
W_Chatters := W_Changes > {CHATTER};
W_Pressed := FALSE;
W_Timer(IN := W_Raw <> W_Stable, PT := W_For);
IF W_Timer.Q THEN
  W_Stable := W_Raw;
  W_Pressed := W_Raw;
  W_Timer(IN := FALSE, PT := W_For);
END_IF;
W_Sure := W_Raw AND W_Stable;
W_Clear := NOT W_Raw AND NOT W_Stable;
END_FUNCTION_BLOCK

"
    );
}

/// The limits of a heater, whatever its lane says.
pub(super) fn guard(text: &mut String) {
    let (limit, sum) = (FaultCode::HeatLimit.number(), FaultCode::HeatSum.number());
    let _ = write!(
        text,
        "\
(* Beside the lanes, one for each heater. Its time on runs through all levels of a heat, and begins anew only after a
   rest. W_Sum is its heat of the last minutes, in 255ths of full power: {LEAK} of them leak away all the time. It may
   reach full power for the whole limit; no heat begins above half of that. Nobody knows what was before power came, so
   it begins with that half. *)
FUNCTION_BLOCK W_Guard
VAR_INPUT
  W_Passed : TIME; (* since the last scan *)
  W_Wanted : BOOL; (* the heater counts as on *)
  W_Level : USINT;
  W_Limit : TIME; (* the longest it may be on *)
END_VAR
VAR_OUTPUT
  W_Trip : USINT; (* 0, or why everything must go off *)
  W_Ready : BOOL; (* a heat may begin *)
END_VAR
VAR
  W_On : TIME;
  W_Rest : TIME;
  W_Sum : TIME;
  W_Leaks : TIME;
  W_Was : BOOL;
  W_Known : BOOL;
  W_Power : USINT;
END_VAR
IF NOT W_Known THEN
  W_Known := TRUE;
  W_Sum := W_Limit * 255 / 2;
END_IF;
(* What has passed, as it was until now. *)
IF W_Was THEN
  W_On := W_On + W_Passed;
  W_Sum := W_Sum + W_Passed * W_Power;
ELSIF W_Rest < T#{SHORTEST_REST}ms THEN
  W_Rest := W_Rest + W_Passed;
END_IF;
W_Leaks := W_Passed * {LEAK};
IF W_Sum > W_Leaks THEN
  W_Sum := W_Sum - W_Leaks;
ELSE
  W_Sum := T#0ms;
END_IF;
(* What is wanted from now on. *)
IF W_Wanted AND NOT W_Was AND W_Rest >= T#{SHORTEST_REST}ms THEN
  W_On := T#0ms;
END_IF;
IF W_Was AND NOT W_Wanted THEN
  W_Rest := T#0ms;
END_IF;
W_Was := W_Wanted;
W_Power := W_Level;
W_Trip := 0;
IF W_Wanted AND W_On > W_Limit THEN
  W_Trip := {limit};
ELSIF W_Wanted AND W_Sum > W_Limit * 255 THEN
  W_Trip := {sum};
END_IF;
W_Ready := W_Rest >= T#{SHORTEST_REST}ms AND W_Sum <= W_Limit * 255 / 2;
END_FUNCTION_BLOCK

"
    );
}
