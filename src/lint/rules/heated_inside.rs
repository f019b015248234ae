use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::BenchUse;
use crate::model::LinePlace;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "heated-inside",
    class: Class::Notice,
    group: "heat",
    summary: "The one heated face ends up inside the bend.",
    page: include_str!("heated_inside.md"),
    check: Check::Bench(check),
};

/// A heater with one line, above the sheet: arms only swing up, so that the upper face becomes the inside of the bend.
pub fn check(bench: BenchUse<'_>, report: &mut Vec<Diagnostic>) {
    for heater in bench.heaters() {
        let [line] = heater.lines.as_slice() else { continue };
        if line.place == LinePlace::Below {
            continue;
        }
        report.push(
            RULE.finding(line.gap.span, format!("`{}` heats the face that ends up inside the bend", heater.name))
                .here("the only line lies above the sheet, and arms swing up")
                .also(heater.length.span, "this heater")
                .note("The outside of a bend is stretched, so it should be the hotter face; and a line above gives up less heat.")
                .help("Put the line below, or a second one there."),
        );
    }
}
