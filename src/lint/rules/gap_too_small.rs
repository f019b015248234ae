use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::BenchUse;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "gap-too-small",
    class: Class::Danger,
    group: "wire",
    summary: "A sagging sheet can touch the wire.",
    page: include_str!("gap_too_small.md"),
    check: Check::Bench(check),
};

/// Least distance from a straight wire to the sheet, m (published: a technical brief on line bending gives 1/8 in).
const LEAST: f64 = 3.175e-3;

/// A wire so close to the sheet that the sheet touches it when it softens and sags.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for heater in bench.heaters() {
        for line in &heater.lines {
            let gap = Known::from(&line.gap.value);
            if gap.low >= LEAST * (1.0 - 1e-9) {
                continue;
            }
            report.push(
                RULE.finding(line.gap.span, format!("the wire of `{}` is too close to the sheet", heater.name))
                    .here("soft sheet sags, sticks to the hot wire and burns")
                    .also(heater.length.span, "this heater")
                    .figure(figure("gap", gap, "mm", Some((LEAST, "published: 1/8 in for a straight wire"))))
                    .help("Set the wire lower; 8 mm is the usual first setting. Measure the gap with the wire hot."),
            );
        }
    }
}
