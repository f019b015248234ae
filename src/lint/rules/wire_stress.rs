use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::springs::{Pulled, first_of_each};
use crate::lint::run::BenchUse;
use crate::physics::tension::creep_strength;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "wire-stress",
    class: Class::Caution,
    group: "wire",
    summary: "The spring pulls harder than the hot wire stands.",
    page: include_str!("wire_stress.md"),
    check: Check::Bench(check),
};

/// A pull under which the hot wire creeps by a per cent within a thousand hours: it grows thinner, then breaks.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    first_of_each(bench, report, |Pulled { heater, spring, line, hot, taut }| {
        let limit = creep_strength(hot.temperature.nominal);
        if taut.stress.nominal <= limit {
            return None;
        }
        Some(
            RULE.finding(
                spring.preload.span,
                format!("the spring of `{}` pulls too hard on its hot wire", heater.name),
            )
            .here("under this the hot wire stretches and breaks")
            .also(line.wire.diameter.span, "the wire")
            .figure(figure(
                "pull in the hot wire",
                taut.stress,
                "MPa",
                Some((limit, "1 % creep in 1000 h of nickel-chromium at this temperature, from memory")),
            ))
            .figure(figure("wire temperature", hot.temperature, "degC", None))
            .help("Take a weaker preload or a softer spring; wear glasses, since a hot wire that breaks whips."),
        )
    });
}
