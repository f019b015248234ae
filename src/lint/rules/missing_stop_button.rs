use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::InputRole;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-stop-button",
    class: Class::Danger,
    group: "controller",
    summary: "The controller has no stop button.",
    page: include_str!("missing_stop_button.md"),
    check: Check::Bench(check),
};

/// A bench whose heaters a controller switches needs a stop button in reach.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = &bench.bench.controller else { return };
    if controller.inputs.iter().any(|input| matches!(input.role, InputRole::StopButton(_))) {
        return;
    }
    report.push(
        RULE.finding(controller.span,
            format!("the controller `{}` has no stop button", controller.name),
        )
        .here("no `input … stop_button` here")
        .help("Fit one in reach that itself breaks the heaters' supply: `input 1 stop_button normally_closed breaks SUPPLY`."),
    );
}
