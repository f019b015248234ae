use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::plan::lead_drop;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "lead-drop",
    class: Class::Notice,
    group: "supply",
    summary: "The leads take much of the voltage.",
    page: include_str!("lead_drop.md"),
    check: Check::Bench(check),
};

/// Share of the voltage that leads may take (common practice: the US code's advice for feeder and branch together, from
/// memory).
const SHARE: f64 = 0.05;

/// Leads that take a good part of the voltage: it heats them, and the line falls short.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for used in bench.used {
        let (heater, volts) = (used.heater, &used.heater.supply.voltage);
        let Some(drop) = lead_drop(heater, &used.electric) else { continue };
        let limit = SHARE * volts.value.nominal();
        if drop.nominal <= limit {
            continue;
        }
        report.push(
            RULE.finding(heater.leads.length.span, format!("the leads of `{}` take much of the voltage", heater.name))
                .here("there and back")
                .also(volts.span, "of this voltage at the terminals")
                .figure(figure("drop in the leads", drop, "V", Some((limit, "5 % of the voltage; common practice"))))
                .help("Take thicker or shorter leads. If you measured the voltage at the wire, write `at wire`."),
        );
    }
}
