use crate::model::build::{Builder, Slots};
use crate::model::{Controller, Input, InputRole, Output, OutputRole};
use crate::names::DeclId;
use crate::types::CheckedEntry;

impl Builder<'_, '_> {
    pub(super) fn build_controller(&mut self, id: DeclId) -> Option<Controller> {
        let block = self.sound_block(id)?;
        let decl = self.checker.names.decl(id);
        Some(Controller {
            name: decl.name.clone(),
            span: decl.name_span,
            outputs: block.entries_of("output").map(output).collect::<Option<_>>()?,
            inputs: block.entries_of("input").map(input).collect::<Option<_>>()?,
            heat_limit: block.exact("heat_limit"),
            program_space: block
                .entry("program_space")
                .and_then(|entry| entry.count("bytes"))
                .map_or(2048, |count| count.0),
        })
    }
}

fn output(entry: &CheckedEntry<'_>) -> Option<Output> {
    let role = match (entry.reference("heater"), entry.reference("supply")) {
        (Some((heater, _)), _) => OutputRole::Heats(heater),
        (None, Some((supply, _))) => OutputRole::Isolates(supply),
        _ if entry.has("lamp") => OutputRole::Lamp,
        _ => OutputRole::Buzzer,
    };
    Some(Output { pin: entry.count("pin")?.0, role, span: entry.span })
}

fn input(entry: &CheckedEntry<'_>) -> Option<Input> {
    let arm = || Some(entry.name("arm")?.0.to_string());
    let role = if entry.has("start_button") {
        InputRole::StartButton
    } else if entry.has("stop_button") {
        InputRole::StopButton(entry.reference("breaks").map(|breaks| breaks.0))
    } else if entry.has("down") {
        InputRole::Down(arm()?)
    } else if entry.has("home") {
        InputRole::Home(arm()?)
    } else if let Some((of, _)) = entry.reference("of") {
        InputRole::Current(of)
    } else if entry.has("row_button") {
        InputRole::RowButton
    } else {
        InputRole::Guard
    };
    Some(Input { pin: entry.count("pin")?.0, role, normally_closed: entry.has("normally_closed"), span: entry.span })
}
