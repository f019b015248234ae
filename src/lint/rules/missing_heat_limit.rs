use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-heat-limit",
    class: Class::Danger,
    group: "controller",
    summary: "The controller has no limit for the time a heater is on.",
    page: include_str!("missing_heat_limit.md"),
    check: Check::Bench(check),
};

/// A controller without a limit leaves a heater on for as long as a program or a fault says.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = bench.bench.controller.as_ref().filter(|controller| controller.heat_limit.is_none()) else {
        return;
    };
    report.push(
        RULE.finding(controller.span, format!("the controller `{}` has no heat limit", controller.name))
            .here("nothing cuts off a heater that stays on")
            .help("Write the longest heat any of its recipes needs, and a little more: `heat_limit 300 s`."),
    );
}
