use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// A hot wire without a shield can be touched, and what falls on it burns.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for heater in bench.bench.arms.iter().map(|arm| &arm.heater).filter(|heater| heater.shield.is_none()) {
        report.push(
            Diagnostic::rule(
                "missing-shield",
                Class::Danger,
                heater.channel.span,
                format!("the heater `{}` has no shield", heater.name),
            )
            .here("a bare hot wire in its channel")
            .help("Line the channel with metal and write it: `shield { metal aluminium, mass 0.1 kg/m }`."),
        );
    }
}
