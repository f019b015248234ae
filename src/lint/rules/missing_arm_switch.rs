use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::InputRole;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-arm-switch",
    class: Class::Warning,
    group: "controller",
    summary: "The controller cannot see that an arm is down.",
    page: include_str!("missing_arm_switch.md"),
    check: Check::Bench(check),
};

/// An arm without a `down` switch: the controller takes a sheet for bent that still lies flat on a hot line.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = &bench.bench.controller else { return };
    for arm in &bench.bench.arms {
        if controller.inputs.iter().any(|input| input.role == InputRole::Down(arm.name.clone())) {
            continue;
        }
        report.push(
            RULE.finding(
                controller.span,
                format!("the controller `{}` cannot see that arm `{}` is down", controller.name, arm.name),
            )
            .here(format!("no `input … down {}` here", arm.name))
            .also(arm.span, "this arm")
            .help(format!("Fit an end switch at the arm's stop, and write `input … down {}`.", arm.name)),
        );
    }
}
