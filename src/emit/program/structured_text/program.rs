//! The program in which the blocks run side by side.

use std::fmt::Write;

use crate::emit::program::structured_text::lane::LONG;
use crate::emit::program::structured_text::rows::{Lane, mask};
use crate::program::{
    CURRENT_FALLS, DOWN_ABSENT, FaultCode, HELD, Input, InputRole, LONGEST_TICK, Machine, OutputRole, ProgramPlan,
    SHOWS_DARK, SOUNDS, WINDOW,
};

/// What the parts of the program are written from.
struct Wired<'a> {
    machine: &'a Machine,
    lanes: &'a [Lane],
}

/// The program.
pub(super) fn program(text: &mut String, plan: &ProgramPlan, lanes: &[Lane], thicknesses: &[u16]) {
    let wired = Wired { machine: &plan.machine, lanes };
    text.push_str("PROGRAM W_Main\n");
    wired.interface(text, thicknesses);
    wired.variables(text);
    clock(text);
    wired.contacts(text);
    wired.dangers(text);
    wired.lanes(text, !thicknesses.is_empty());
    wired.guards(text);
    wired.outputs(text);
    text.push_str("END_PROGRAM\n");
}

/// Time that has passed since the last scan, and the window of part power.
fn clock(text: &mut String) {
    let _ = write!(
        text,
        "\
(* Time: W_Clock is started anew each hour, long before it ends. *)
W_Clock(IN := TRUE, PT := {LONG});
W_Passed := W_Clock.ET - W_Last;
W_Last := W_Clock.ET;
IF W_Last >= T#1h THEN
  W_Clock(IN := FALSE, PT := {LONG});
  W_Clock(IN := TRUE, PT := {LONG});
  W_Last := T#0ms;
END_IF;
W_Held := W_Passed > T#{LONGEST_TICK}ms;
IF W_Held THEN
  W_Passed := T#{LONGEST_TICK}ms;
END_IF;
W_Phase := W_Phase + W_Passed;
W_Round := W_Phase >= T#{WINDOW}ms;
IF W_Round THEN
  W_Phase := W_Phase - T#{WINDOW}ms;
END_IF;
"
    );
}

/// A sum of conditions, or what stands for none.
fn joined(parts: &[String], by: &str, none: &str) -> String {
    if parts.is_empty() { none.to_owned() } else { parts.join(by) }
}

/// Whether an input is active in this scan.
fn raw(index: usize, input: Input) -> String {
    if input.normally_closed { format!("NOT W_In{index}") } else { format!("W_In{index}") }
}

impl Wired<'_> {
    fn interface(&self, text: &mut String, thicknesses: &[u16]) {
        text.push_str("VAR_INPUT\n");
        for (index, input) in self.machine.inputs.iter().enumerate() {
            let of = match input.role {
                InputRole::Down(of) | InputRole::Home(of) | InputRole::HeaterCurrent(of) => format!(" of W_Out{of}"),
                InputRole::SupplyCurrent(of) => format!(" of supply {of}"),
                InputRole::Row => ", not used: set W_Chosen".to_owned(),
                InputRole::Start | InputRole::Stop | InputRole::Guard => String::new(),
            };
            let active = if input.normally_closed { "FALSE" } else { "TRUE" };
            let _ = writeln!(text, "  W_In{index} : BOOL; (* {}{of}: {active} when active *)", input.role.word());
        }
        if !thicknesses.is_empty() {
            let rows = thicknesses.iter().enumerate();
            let rows = rows.map(|(row, thickness)| format!("{row}: {}.{:02} mm", thickness / 100, thickness % 100));
            let rows: Vec<String> = rows.collect();
            let _ = writeln!(text, "  W_Chosen : UINT; (* by measured thickness: {} *)", rows.join(", "));
        }
        text.push_str("END_VAR\nVAR_OUTPUT\n");
        for (index, output) in self.machine.outputs.iter().enumerate() {
            let of = match output.role {
                OutputRole::Heater | OutputRole::Isolator => format!(", supply {}", output.supply),
                OutputRole::Lamp | OutputRole::Buzzer => String::new(),
            };
            let _ = writeln!(text, "  W_Out{index} : BOOL; (* {}{of} *)", output.role.word());
        }
        text.push_str("  W_Reason : USINT; (* of a fault, else 0:\n");
        for code in FAULTS {
            let _ = writeln!(text, "    {} {}", code.number(), code.text());
        }
        text.push_str("  *)\nEND_VAR\n");
    }

    fn variables(&self, text: &mut String) {
        text.push_str(
            "\
VAR
  W_Clock : TON;
  W_Last : TIME;
  W_Passed : TIME;
  W_Held : BOOL; (* the last scan was too long ago *)
  W_Phase : TIME;
  W_Round : BOOL;
  W_Place : TIME;
  W_Run : BOOL; (* the program runs *)
  W_Faulty : BOOL; (* everything is off until somebody acknowledges *)
  W_Danger : USINT;
  W_Stop : BOOL;
  W_Press : BOOL;
  W_Closed : BOOL; (* every guard there is *)
  W_Hot : BOOL;
  W_Down : BYTE;
  W_Ready : BYTE;
  W_Sound : TP;
  W_TheDesk : W_Desk;
",
        );
        for number in 0..self.lanes.len() {
            let _ = writeln!(text, "  W_L{number} : W_Lane{number};");
        }
        for (index, input) in self.machine.inputs.iter().enumerate() {
            let _ = writeln!(text, "  W_C{index} : W_Contact;");
            match input.role {
                InputRole::Down(of) if self.machine.input(InputRole::Home(of)).is_none() => {
                    let _ = writeln!(text, "  W_Absent{index} : TON;");
                }
                InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_) => {
                    let _ = writeln!(text, "  W_Flows{index} : TON;");
                }
                _ => {}
            }
        }
        for (heater, _) in self.heaters() {
            let _ = writeln!(text, "  W_Guard{heater} : W_Guard;");
        }
        for (index, _) in self.isolators() {
            let _ = writeln!(text, "  W_Shut{index} : BOOL;\n  W_Dark{index} : TON;");
        }
        text.push_str("END_VAR\n");
    }

    /// Heaters that are switched, with their lane.
    fn heaters(&self) -> impl Iterator<Item = (u8, usize)> {
        let lanes = self.lanes.iter().enumerate();
        lanes.flat_map(|(number, lane)| lane.heaters.iter().map(move |heater| (*heater, number)))
    }

    /// Isolators, with their supply.
    fn isolators(&self) -> impl Iterator<Item = (usize, u8)> {
        let outputs = self.machine.outputs.iter().enumerate();
        outputs.filter(|(_, output)| output.role == OutputRole::Isolator).map(|(index, output)| (index, output.supply))
    }

    /// Whether a heater counts as on.
    fn live(&self, heater: u8) -> String {
        let lane = self.heaters().find(|(own, _)| *own == heater);
        lane.map_or("FALSE".to_owned(), |(_, lane)| format!("W_L{lane}.W_Live{heater}"))
    }

    /// One condition for each heater of a supply that is switched.
    fn of_supply(&self, supply: u8, condition: impl Fn(u8, usize) -> String) -> Vec<String> {
        let own = |heater: u8| self.machine.heater(heater).is_some_and(|output| output.supply == supply);
        self.heaters().filter(|(heater, _)| own(*heater)).map(|(heater, lane)| condition(heater, lane)).collect()
    }

    /// One condition for each input of a role.
    fn inputs(&self, wanted: impl Fn(InputRole) -> bool, condition: impl Fn(usize, Input) -> String) -> Vec<String> {
        let inputs = self.machine.inputs.iter().enumerate().filter(|(_, input)| wanted(input.role));
        inputs.map(|(index, input)| condition(index, *input)).collect()
    }

    fn contacts(&self, text: &mut String) {
        text.push_str("(* Contacts. *)\n");
        for (index, input) in self.machine.inputs.iter().enumerate() {
            let (raw, still) = (raw(index, *input), input.debounce);
            let _ = writeln!(text, "W_C{index}(W_Raw := {raw}, W_For := T#{still}ms, W_Round := W_Round);");
            match input.role {
                InputRole::Down(of) if self.machine.input(InputRole::Home(of)).is_none() => {
                    let _ = writeln!(text, "W_Absent{index}(IN := NOT W_C{index}.W_Stable, PT := T#{DOWN_ABSENT}ms);");
                }
                InputRole::HeaterCurrent(of) => {
                    let lane = self.heaters().find(|(own, _)| *own == of);
                    let expected = lane.map_or("FALSE".to_owned(), |(_, lane)| {
                        format!("W_L{lane}.W_Live{of} AND W_L{lane}.W_Level{of} > {SHOWS_DARK}")
                    });
                    flows(text, index, &expected);
                }
                InputRole::SupplyCurrent(of) => {
                    let heats = self.of_supply(of, |heater, lane| format!("W_L{lane}.W_Level{heater} > 0"));
                    flows(text, index, &joined(&heats, " OR ", "FALSE"));
                }
                _ => {}
            }
        }
        let down = self.machine.inputs.iter().enumerate().filter_map(|(index, input)| match input.role {
            InputRole::Down(of) => Some(select(&format!("W_C{index}.W_Stable"), of)),
            _ => None,
        });
        let pressed = self.inputs(|role| role == InputRole::Start, |index, _| format!("W_C{index}.W_Pressed"));
        let stop = self.inputs(|role| role == InputRole::Stop, raw);
        let guards = self.inputs(|role| role == InputRole::Guard, |index, _| format!("W_C{index}.W_Sure"));
        let hot = (0..self.lanes.len()).map(|number| format!("W_L{number}.W_Heating")).collect::<Vec<_>>();
        let _ = write!(
            text,
            "W_Press := {};\nW_Stop := {};\nW_Closed := {};\nW_Hot := {};\nW_Down := {};\n",
            joined(&pressed, " OR ", "FALSE"),
            // Without a stop button nothing runs.
            joined(&stop, " OR ", "TRUE"),
            joined(&guards, " AND ", "TRUE"),
            joined(&hot, " OR ", "FALSE"),
            joined(&down.collect::<Vec<_>>(), " OR ", "BYTE#0"),
        );
    }

    /// What takes everything off, and what a press does outside a program.
    fn dangers(&self, text: &mut String) {
        let chatters: Vec<String> =
            (0..self.machine.inputs.len()).map(|index| format!("W_C{index}.W_Chatters")).collect();
        let wrong: Vec<String> = self
            .machine
            .inputs
            .iter()
            .enumerate()
            .filter_map(|(index, input)| {
                let InputRole::Down(of) = input.role else { return None };
                let home = self.inputs(|role| role == InputRole::Home(of), |home, _| format!(" OR W_C{home}.W_Stable"));
                Some(format!("W_C{index}.W_Stable AND ({}{})", self.live(of), home.concat()))
            })
            .collect();
        let current = |role: InputRole| matches!(role, InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_));
        let flows = self.inputs(current, |index, _| format!("W_Flows{index}.Q"));
        let _ = write!(
            text,
            "\
(* Dangers: the first counts. *)
W_Danger := 0;
IF W_Run THEN
  IF W_Held THEN
    W_Danger := {held};
  ELSIF W_Stop THEN
    W_Danger := {stop};
  ELSIF W_Hot AND NOT W_Closed THEN
    W_Danger := {open};
  ELSIF {chatters} THEN
    W_Danger := {chatter};
  ELSIF {wrong} THEN
    W_Danger := {arm};
  END_IF;
END_IF;
IF W_Danger = 0 AND ({flows}) THEN
  W_Danger := {failed};
END_IF;
IF W_Danger > 0 AND NOT W_Faulty THEN
  W_Faulty := TRUE;
  W_Reason := W_Danger;
  W_Run := FALSE;
ELSIF W_Press AND NOT W_Run AND NOT W_Stop THEN
  (* Acknowledges, or starts the program. *)
  W_Run := NOT W_Faulty;
  W_Faulty := FALSE;
  W_Reason := 0;
  W_Press := FALSE;
END_IF;
",
            held = FaultCode::MissedTicks.number(),
            stop = FaultCode::Stop.number(),
            open = FaultCode::GuardOpen.number(),
            chatter = FaultCode::Chatter.number(),
            arm = FaultCode::ArmSwitch.number(),
            failed = FaultCode::SwitchFailed.number(),
            chatters = joined(&chatters, " OR ", "FALSE"),
            wrong = joined(&wrong, " OR ", "FALSE"),
            flows = joined(&flows, " OR ", "FALSE"),
        );
    }

    /// Which heaters may begin, who takes the press, and the lanes.
    fn lanes(&self, text: &mut String, chosen: bool) {
        text.push_str("(* Heaters that may begin: rested and cool, guards closed, arm home. *)\n");
        let ready = self.heaters().map(|(heater, _)| {
            let inputs = self.machine.inputs.iter().enumerate();
            let arm: String = inputs
                .filter_map(|(index, input)| match input.role {
                    InputRole::Home(of) if of == heater => Some(format!(" AND W_C{index}.W_Sure")),
                    InputRole::Down(of) if of == heater => {
                        let absent = self.machine.input(InputRole::Home(of)).is_none();
                        let absent = if absent { format!(" AND W_Absent{index}.Q") } else { String::new() };
                        Some(format!(" AND W_C{index}.W_Clear{absent}"))
                    }
                    _ => None,
                })
                .collect();
            select(&format!("W_Guard{heater}.W_Ready AND W_Closed{arm}"), heater)
        });
        let ready = joined(&ready.collect::<Vec<_>>(), "\n  OR ", "BYTE#0");
        let _ = writeln!(text, "W_Ready := {ready};\n(* Lanes, in their order. *)");
        let chosen = if chosen { ", W_Chosen := W_Chosen" } else { "" };
        for number in 0..self.lanes.len() {
            let said = ["Active", "Begins", "Scraps", "Heating", "Arms", "Supply", "Amount", "From", "Lasts"];
            let said: Vec<String> = said.iter().map(|name| format!("W_{name} := W_L{number}.W_{name}")).collect();
            let _ = write!(
                text,
                "\
W_TheDesk(W_Lane := {number}, W_Passed := W_Passed, W_Press := W_Press AND W_Run, W_Ready := W_Ready,
  {},
  {},
  {});
W_L{number}(W_Run := W_Run, W_Go := W_TheDesk.W_Go, W_Wait := W_TheDesk.W_Wait, W_Down := W_Down{chosen});
",
                said.get(..4).unwrap_or_default().join(", "),
                said.get(4..7).unwrap_or_default().join(", "),
                said.get(7..).unwrap_or_default().join(", "),
            );
        }
        let active: Vec<String> = (0..self.lanes.len()).map(|number| format!("W_L{number}.W_Active")).collect();
        let sounds: Vec<String> = (0..self.lanes.len()).map(|number| format!("W_L{number}.W_Sounds")).collect();
        let _ = write!(
            text,
            "W_Run := W_Run AND ({});\nW_Sound(IN := {}, PT := T#{SOUNDS}ms);\n",
            joined(&active, " OR ", "FALSE"),
            joined(&sounds, " OR ", "FALSE"),
        );
    }

    fn guards(&self, text: &mut String) {
        text.push_str("(* The limits of each heater, beside the lanes. *)\n");
        for (heater, lane) in self.heaters() {
            let limit = self.machine.heater(heater).map_or(0, |output| u32::from(output.longest) * 100);
            let _ = write!(
                text,
                "\
W_Guard{heater}(W_Passed := W_Passed, W_Wanted := W_L{lane}.W_Live{heater}, W_Level := W_L{lane}.W_Level{heater},
  W_Limit := T#{limit}ms);
IF W_Guard{heater}.W_Trip > 0 AND NOT W_Faulty THEN
  W_Faulty := TRUE;
  W_Reason := W_Guard{heater}.W_Trip;
  W_Run := FALSE;
END_IF;
"
            );
        }
    }

    fn outputs(&self, text: &mut String) {
        let count = u32::try_from(self.machine.outputs.len()).unwrap_or(1).max(1);
        text.push_str(
            "(* Outputs: part power is the first part of each window; windows begin at different moments. *)\n",
        );
        for (number, output) in self.machine.outputs.iter().enumerate() {
            let index = u8::try_from(number).unwrap_or(u8::MAX);
            match output.role {
                OutputRole::Heater => match self.heaters().find(|(own, _)| *own == index) {
                    Some((_, lane)) => {
                        let offset = u32::from(WINDOW) * u32::from(index) / count;
                        let _ = write!(
                            text,
                            "\
W_Place := W_Phase + T#{offset}ms;
IF W_Place >= T#{WINDOW}ms THEN
  W_Place := W_Place - T#{WINDOW}ms;
END_IF;
W_Out{index} := W_Run AND W_L{lane}.W_Live{index} AND W_Place * 255 < T#{WINDOW}ms * W_L{lane}.W_Level{index};
"
                        );
                    }
                    None => {
                        let _ = writeln!(text, "W_Out{index} := FALSE;");
                    }
                },
                OutputRole::Isolator => {
                    let lives = self.of_supply(output.supply, |heater, lane| format!("W_L{lane}.W_Live{heater}"));
                    let lives = joined(&lives, " OR ", "FALSE");
                    // It stays closed for a while, so that a current that does not fall is seen.
                    let hold = if self.machine.measures(output.supply) { HELD } else { 0 };
                    let _ = write!(
                        text,
                        "\
W_Dark{index}(IN := NOT ({lives}), PT := T#{hold}ms);
IF W_Faulty OR W_Dark{index}.Q THEN
  W_Shut{index} := FALSE;
ELSIF {lives} THEN
  W_Shut{index} := TRUE;
END_IF;
W_Out{index} := W_Shut{index};
"
                    );
                }
                OutputRole::Lamp => {
                    let half = WINDOW / 2;
                    let _ = writeln!(
                        text,
                        "W_Out{index} := (W_Run AND W_TheDesk.W_Lamp) OR (NOT W_Run AND NOT W_Faulty)
  OR (W_Faulty AND W_Phase < T#{half}ms);"
                    );
                }
                OutputRole::Buzzer => {
                    let half = WINDOW / 2;
                    let _ = writeln!(text, "W_Out{index} := (W_Faulty AND W_Phase < T#{half}ms) OR W_Sound.Q;");
                }
            }
        }
    }
}

/// The faults that the text can find.
const FAULTS: [FaultCode; 8] = [
    FaultCode::Stop,
    FaultCode::GuardOpen,
    FaultCode::MissedTicks,
    FaultCode::HeatLimit,
    FaultCode::HeatSum,
    FaultCode::SwitchFailed,
    FaultCode::ArmSwitch,
    FaultCode::Chatter,
];

/// The bit of an output while a condition holds.
fn select(condition: &str, output: u8) -> String {
    format!("SEL({condition}, BYTE#0, BYTE#16#{:02X})", mask(&[output]))
}

/// A current that flows although none is expected.
fn flows(text: &mut String, index: usize, expected: &str) {
    let _ =
        writeln!(text, "W_Flows{index}(IN := W_C{index}.W_Stable AND NOT ({expected}), PT := T#{CURRENT_FALLS}ms);");
}
