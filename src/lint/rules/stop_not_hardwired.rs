use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::InputRole;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "stop-not-hardwired",
    class: Class::Danger,
    group: "controller",
    summary: "The stop button does not itself break the heaters' supply.",
    page: include_str!("stop_not_hardwired.md"),
    check: Check::Bench(check),
};

/// A stop button that only tells the controller stops nothing when the controller or a switch has failed.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = &bench.bench.controller else { return };
    let buttons: Vec<_> =
        controller.inputs.iter().filter(|input| matches!(input.role, InputRole::StopButton(_))).collect();
    let Some(first) = buttons.first() else { return };
    let broken = |supply| buttons.iter().any(|button| button.role == InputRole::StopButton(Some(supply)));
    let mut told = Vec::new();
    for supply in bench.bench.arms.iter().map(|arm| &arm.heater.supply) {
        if broken(supply.id) || told.contains(&supply.id) {
            continue;
        }
        told.push(supply.id);
        report.push(
            RULE.finding(first.span, format!("no stop button itself breaks the supply `{}`", supply.name))
                .here("this button only tells the controller")
                .also(supply.rated.span, "this supply stays on")
                .help(format!("Wire the button's own contact into the supply, and write `breaks {}`.", supply.name)),
        );
    }
}
