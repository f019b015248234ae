use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::{InputRole, OutputRole};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "pin-clash",
    class: Class::Warning,
    group: "controller",
    summary: "One thing hangs on two pins, or two on one.",
    page: include_str!("pin_clash.md"),
    check: Check::Bench(check),
};

/// A heater, a supply or a switch that stands at two pins, or one heater at two arms: its pin heats both at once.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for (index, arm) in bench.bench.arms.iter().enumerate() {
        if let Some(other) = bench.bench.arms[..index].iter().find(|other| other.heater.id == arm.heater.id) {
            report.push(
                RULE.finding(arm.span, format!("arms `{}` and `{}` have one heater", other.name, arm.name))
                    .here("what switches one heats both")
                    .also(other.span, "the other arm")
                    .help(format!("Declare a heater of its own: `heater second from {} {{ … }}`.", arm.heater.name)),
            );
        }
    }
    let Some(controller) = &bench.bench.controller else { return };
    for (index, output) in controller.outputs.iter().enumerate() {
        let alone = matches!(output.role, OutputRole::Lamp | OutputRole::Buzzer);
        if let Some(other) = controller.outputs[..index].iter().find(|other| !alone && other.role == output.role) {
            report.push(
                RULE.finding(output.span, format!("outputs {} and {} switch the same", other.pin, output.pin))
                    .here("when this one goes off, the other keeps it on")
                    .also(other.span, "the other output")
                    .help("Leave the pin that is wired; `output … none` removes the other."),
            );
        }
    }
    for (index, input) in controller.inputs.iter().enumerate() {
        let alone = !matches!(input.role, InputRole::Down(_) | InputRole::Home(_) | InputRole::Current(_));
        if let Some(other) = controller.inputs[..index].iter().find(|other| !alone && other.role == input.role) {
            report.push(
                RULE.finding(input.span, format!("inputs {} and {} read the same", other.pin, input.pin))
                    .here("which of them counts, nobody can tell")
                    .also(other.span, "the other input")
                    .help("Leave the pin that is wired; `input … none` removes the other."),
            );
        }
    }
}
