use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::springs::{Pulled, first_of_each};
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "spring-slack",
    class: Class::Warning,
    group: "wire",
    summary: "The spring goes slack when the wire is hot.",
    page: include_str!("spring_slack.md"),
    check: Check::Bench(check),
};

/// A spring whose force is gone when the wire has grown: the wire hangs where it likes.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    first_of_each(bench, report, |Pulled { heater, spring, hot, taut, .. }| {
        let growth = hot.growth.filter(|_| taut.force.low <= 0.0)?;
        let kept = spring.preload.value.low() / spring.rate.value.high();
        Some(
            RULE.finding(
                spring.preload.span,
                format!("the spring of `{}` goes slack when its wire is hot", heater.name),
            )
            .here("this is used up as the wire grows")
            .also(spring.rate.span, "by so much for each millimetre")
            .figure(figure(
                "growth of the hot wire",
                growth,
                "mm",
                Some((kept, "preload / rate: here the force is gone")),
            ))
            .figure(figure("spring force hot", taut.force, "N", None))
            .help("Take a softer spring with the same preload, or pull harder."),
        )
    });
}
