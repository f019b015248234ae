//! The wiring of a bench as a program sees it.

use std::collections::BTreeMap;

use crate::library::program::{ceil, floor};
use crate::model::{Bench, Controller, Heater, InputRole as Reads, OutputRole as Switches, Supply, Switch};
use crate::names::DeclId;
use crate::plan::electric;
use crate::program::{
    Input, InputRole, MOST_INPUTS, MOST_OUTPUTS, MOST_SUPPLIES, Machine, Output, OutputRole, SwitchKind, bench_number,
};

/// How long contacts must stand still, ms (common practice for buttons and small switches, no source).
const CONTACT_STILL: u8 = 20;
/// A current sensor is slower, and its signal ripples on alternating current (common practice, no source).
const CURRENT_STILL: u8 = 40;
/// The room in which draws are stated, K: the same for every recipe of a bench, so that its wiring is one.
const ROOM: f64 = 293.15;
/// Draws are rounded up to whole tenths of an ampere, in steps of 10 mA.
const DRAW_STEP: f64 = 10.0;

/// The wiring, and the output of each arm.
pub(super) struct Wired {
    pub machine: Machine,
    pub arms: Vec<Option<u8>>,
}

/// Reads the wiring of a bench; what a program needs and it lacks, in words.
pub(super) fn wired(bench: &Bench, controller: &Controller) -> Result<Wired, String> {
    let name = &controller.name;
    let Some(limit) = controller.heat_limit else {
        return Err(format!("controller `{name}` has no `heat_limit`"));
    };
    if controller.outputs.len() > MOST_OUTPUTS || controller.inputs.len() > MOST_INPUTS {
        return Err(format!("controller `{name}` has more than {MOST_OUTPUTS} outputs or {MOST_INPUTS} inputs"));
    }
    let longest = u16::try_from(floor(limit.value, 10.0)).unwrap_or(u16::MAX);
    let heaters: BTreeMap<DeclId, &Heater> = bench.arms.iter().map(|arm| (arm.heater.id, &arm.heater)).collect();
    let mut supplies: Vec<&Supply> = Vec::new();
    for arm in &bench.arms {
        if supplies.iter().all(|supply| supply.id != arm.heater.supply.id) {
            supplies.push(&arm.heater.supply);
        }
    }
    if supplies.len() > MOST_SUPPLIES {
        return Err(format!("bench `{}` has more than {MOST_SUPPLIES} supplies", bench.name));
    }
    let supply_of = |id: DeclId| supplies.iter().position(|supply| supply.id == id).map(number);
    let mut outputs = Vec::new();
    for output in &controller.outputs {
        let pin = pin(output.pin);
        outputs.push(match output.role {
            Switches::Heats(heater) => {
                let Some(heater) = heaters.get(&heater) else {
                    return Err(format!("output {pin} of controller `{name}` heats what is on no arm of the bench"));
                };
                heater_output(pin, heater, supply_of(heater.supply.id).unwrap_or(0), longest)?
            }
            Switches::Isolates(supply) => {
                let Some(supply) = supply_of(supply) else {
                    return Err(format!("output {pin} of controller `{name}` isolates what feeds no arm of the bench"));
                };
                other(pin, OutputRole::Isolator, supply)
            }
            Switches::Lamp => other(pin, OutputRole::Lamp, 0),
            Switches::Buzzer => other(pin, OutputRole::Buzzer, 0),
        });
    }
    let heated_by =
        |id: DeclId| controller.outputs.iter().position(|output| output.role == Switches::Heats(id)).map(number);
    let arms: Vec<Option<u8>> = bench.arms.iter().map(|arm| heated_by(arm.heater.id)).collect();
    let arm_named = |wanted: &str| bench.arms.iter().position(|arm| arm.name == wanted).and_then(|arm| arms[arm]);
    let mut inputs = Vec::new();
    for input in &controller.inputs {
        let pin = pin(input.pin);
        let unheated = || format!("input {pin} of controller `{name}` belongs to an arm that no output heats");
        let role = match &input.role {
            Reads::StartButton => InputRole::Start,
            Reads::StopButton(_) => InputRole::Stop,
            Reads::Down(arm) => InputRole::Down(arm_named(arm).ok_or_else(unheated)?),
            Reads::Home(arm) => InputRole::Home(arm_named(arm).ok_or_else(unheated)?),
            Reads::Current(of) => match (heated_by(*of), supply_of(*of)) {
                (Some(output), _) => InputRole::HeaterCurrent(output),
                (None, Some(supply)) => InputRole::SupplyCurrent(supply),
                (None, None) => return Err(format!("input {pin} of controller `{name}` watches what no output heats")),
            },
            Reads::RowButton => InputRole::Row,
            Reads::Guard => InputRole::Guard,
        };
        let measures = matches!(role, InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_));
        let debounce = if measures { CURRENT_STILL } else { CONTACT_STILL };
        inputs.push(Input { pin, role, normally_closed: input.normally_closed, debounce });
    }
    let has = |wanted: InputRole| inputs.iter().any(|input| input.role == wanted);
    if !has(InputRole::Start) || !has(InputRole::Stop) {
        return Err(format!("controller `{name}` has no `start_button` or no `stop_button`"));
    }
    let capacities = supplies.iter().map(|supply| capacity(supply)).collect();
    let machine = Machine {
        bench: bench_number(&bench.name),
        operators: u8::try_from(bench.operators).unwrap_or(u8::MAX).clamp(1, 8),
        space: u16::try_from(controller.program_space).unwrap_or(u16::MAX),
        outputs,
        inputs,
        supplies: capacities,
    };
    Ok(Wired { machine, arms })
}

fn heater_output(pin: u8, heater: &Heater, supply: u8, longest: u16) -> Result<Output, String> {
    let drawn = electric(heater, ROOM)
        .map_err(|_| format!("what heater `{}` draws cannot be computed", heater.name))?
        .current
        .high();
    let draw = ceil(drawn, DRAW_STEP).saturating_mul(10);
    let switch = match heater.switch {
        Switch::SolidState => SwitchKind::SolidState,
        Switch::Relay => SwitchKind::Relay,
    };
    let draw = u16::try_from(draw).unwrap_or(u16::MAX).max(1);
    Ok(Output { pin, role: OutputRole::Heater, switch, supply, longest: longest.max(1), draw })
}

fn other(pin: u8, role: OutputRole, supply: u8) -> Output {
    Output { pin, role, switch: SwitchKind::None, supply, longest: 0, draw: 0 }
}

/// What a supply may give for long, or its fuse if that is less, 10 mA.
fn capacity(supply: &Supply) -> u16 {
    let long = supply.rated.value.low() * supply.continuous;
    let long = supply.fuse.map_or(long, |fuse| fuse.value.min(long));
    u16::try_from(floor(long, 100.0)).unwrap_or(u16::MAX)
}

fn pin(number: u64) -> u8 {
    u8::try_from(number).unwrap_or(u8::MAX)
}

fn number(index: usize) -> u8 {
    u8::try_from(index).unwrap_or(u8::MAX)
}
