use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-shield",
    class: Class::Danger,
    group: "wire",
    summary: "A heater has no shield.",
    page: include_str!("missing_shield.md"),
    check: Check::Bench(check),
};

/// A hot wire without a shield can be touched, and what falls on it burns.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for heater in bench.bench.arms.iter().map(|arm| &arm.heater).filter(|heater| heater.shield.is_none()) {
        report.push(
            RULE.finding(heater.channel.span, format!("the heater `{}` has no shield", heater.name))
                .here("a bare hot wire in its channel")
                .help("Line the channel with metal and write it: `shield { metal aluminium, mass 0.1 kg/m }`."),
        );
    }
}
