use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "wire-sag",
    class: Class::Warning,
    group: "wire",
    summary: "The hot wire sags too far.",
    page: include_str!("wire_sag.md"),
    check: Check::Bench(check),
};

/// Share of the gap that a hot wire may sag (common practice, no source).
const SHARE: f64 = 0.25;

/// A hot wire that hangs: without a spring by all that it has grown, with one by its weight. Where the spring has gone
/// slack, `spring-slack` tells.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for used in bench.used {
        for (line, hot) in used.lines() {
            let limit = SHARE * line.gap.value.low();
            let (sag, place, why) = match (&hot.taut, &used.heater.spring) {
                (Some(taut), Some(spring)) if taut.force.low > 0.0 => {
                    (taut.sag, spring.preload.span, "this pulls it straight")
                }
                (Some(_), _) => continue,
                _ => match hot.slack_sag {
                    Some(sag) => (sag, used.heater.length.span, "no spring takes up what the hot wire grows"),
                    None => continue,
                },
            };
            if sag.high <= limit {
                continue;
            }
            let finding = RULE
                .finding(place, format!("the hot wire of `{}` sags too far", used.heater.name))
                .here(why)
                .also(line.gap.span, "the gap to the sheet")
                .figure(figure(
                    "sag at mid-span",
                    sag,
                    "mm",
                    Some((limit, "a quarter of the gap; common practice, no source")),
                ));
            report.push(if used.heater.spring.is_none() {
                finding
                    .help("Fit a spring at one end, for example `spring { rate 0.4 N/mm, preload 6 N, travel 15 mm }`.")
            } else {
                finding.help("Pull harder (a greater preload), or take a shorter wire.")
            });
        }
    }
}
