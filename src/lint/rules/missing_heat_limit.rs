use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// A controller without a limit leaves a heater on for as long as a program or a fault says.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = bench.bench.controller.as_ref().filter(|controller| controller.heat_limit.is_none()) else {
        return;
    };
    report.push(
        Diagnostic::rule(
            "missing-heat-limit",
            Class::Danger,
            controller.span,
            format!("the controller `{}` has no heat limit", controller.name),
        )
        .here("nothing cuts off a heater that stays on")
        .help("Write the longest heat any of its recipes needs, and a little more: `heat_limit 300 s`."),
    );
}
