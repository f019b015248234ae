use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::CurrentKind;
use crate::physics::supply::EXTRA_LOW;
use crate::report::{Class, Diagnostic, Figure};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "not-extra-low-voltage",
    class: Class::Danger,
    group: "supply",
    summary: "The voltage is above what may be touched.",
    page: include_str!("not_extra_low_voltage.md"),
    check: Check::Bench(check),
};

/// A supply above extra-low voltage feeds a bare wire that a hand can touch.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for supply in bench.bench.arms.iter().map(|arm| &arm.heater.supply) {
        let limit = if supply.kind == CurrentKind::Direct { EXTRA_LOW.0 } else { EXTRA_LOW.1 };
        let volts = &supply.voltage.value;
        if volts.high() <= limit || told.contains(&supply.id) {
            continue;
        }
        told.push(supply.id);
        report.push(
            RULE.finding(supply.voltage.span,
                format!("`{}` is above extra-low voltage, and its wire is bare", supply.name),
            )
            .here("touching the wire can kill")
            .figure(Figure {
                name: "voltage".to_owned(),
                value: volts.nominal(),
                low: volts.low(),
                high: volts.high(),
                unit: "V".to_owned(),
                limit: Some(limit),
                limit_source: Some("extra-low voltage, from memory; the local code decides".to_owned()),
            })
            .help("Use a safety transformer or supply of 12 V to 48 V. Mains is for a licensed electrician, under the local code."),
        );
    }
}
