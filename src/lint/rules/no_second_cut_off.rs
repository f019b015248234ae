use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::OutputRole;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "no-second-cut-off",
    class: Class::Warning,
    group: "controller",
    summary: "A switch that fails closed leaves the heater on.",
    page: include_str!("no_second_cut_off.md"),
    check: Check::Bench(check),
};

/// A supply without a second switch in series: switches fail closed, and then nothing turns the line off.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let Some(controller) = &bench.bench.controller else { return };
    let mut told = Vec::new();
    for heater in bench.heaters() {
        let supply = &heater.supply;
        let isolated = controller.outputs.iter().any(|output| output.role == OutputRole::Isolates(supply.id));
        if isolated || told.contains(&supply.id) {
            continue;
        }
        told.push(supply.id);
        let heats = controller.outputs.iter().find(|output| output.role == OutputRole::Heats(heater.id));
        report.push(
            RULE.finding(
                heats.map_or(controller.span, |output| output.span),
                format!("nothing but one switch turns off what `{}` feeds", supply.name),
            )
            .here("a switch that has failed closed leaves the line hot")
            .also(supply.rated.span, "this supply has no second switch in series")
            .help(format!(
                "Fit one that the controller opens when no program heats: `output … isolates {}`.",
                supply.name
            )),
        );
    }
}
