use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::physics::supply::conductor_limit;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "lead-too-thin",
    class: Class::Warning,
    group: "supply",
    summary: "The leads carry more than they should.",
    page: include_str!("lead_too_thin.md"),
    check: Check::Bench(check),
};

/// Leads that carry more, at the highest, than the table of conductors grants them.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for used in bench.used {
        let leads = &used.heater.leads;
        let limit = conductor_limit(leads.area.value.low());
        let current = Known::from(&used.electric.current);
        if current.high <= limit {
            continue;
        }
        report.push(
            RULE.finding(leads.area.span, format!("the leads of `{}` are too thin", used.heater.name))
                .here("they get hot")
                .also(used.heater.length.span, "this heater draws the current")
                .figure(figure(
                    "current in the leads",
                    current,
                    "A",
                    Some((limit, "copper of this section in a US table; the local code decides")),
                ))
                .help("Take thicker leads, away from the hot channel. The local code decides."),
        );
    }
}
