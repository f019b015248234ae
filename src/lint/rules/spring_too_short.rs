use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::springs::{Pulled, first_of_each};
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "spring-too-short",
    class: Class::Warning,
    group: "wire",
    summary: "The spring does not take up the wire's growth.",
    page: include_str!("spring_too_short.md"),
    check: Check::Bench(check),
};

/// A spring that stands on its stop before the wire is hot: from then on the wire hangs.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    first_of_each(bench, report, |Pulled { heater, spring, hot, taut, .. }| {
        let growth = hot.growth.filter(|_| taut.travel_left.low < 0.0)?;
        Some(
            RULE.finding(spring.travel.span, format!("the spring of `{}` is too short for its wire", heater.name))
                .here("it stands on its stop before the wire is hot")
                .also(heater.length.span, "the wire grows over this length")
                .figure(figure(
                    "growth of the hot wire",
                    growth,
                    "mm",
                    Some((spring.travel.value.low(), "the spring's travel")),
                ))
                .help("Take a spring with more travel, or a shorter wire."),
        )
    });
}
