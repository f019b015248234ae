use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::window::groups;
use crate::lint::run::RecipeView;
use crate::physics::window::Unknown;
use crate::plan::Thermal;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "slow-transfer",
    class: Class::Notice,
    group: "heat",
    summary: "The sheet cools too far between heat and bend.",
    page: include_str!("slow_transfer.md"),
    check: Check::Recipe(check),
};

/// The transfer that is usual, s (common practice, no source; it holds where a recipe gives none).
const USUAL: f64 = 3.0;

/// A transfer that takes more than half of the window that there would be without it.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &Thermal| {
        let (cost, width) = cost(thermal)?;
        // The usual transfer is not slow: a window that it closes is too narrow for other reasons.
        let slow = view.recipe.bends[bend].transfer > USUAL;
        (slow && cost >= width && cost + width > 0.0)
            .then(|| (view.recipe.bends[bend].transfer, view.recipe.bends[bend].span))
    };
    for group in groups(view, fires) {
        let Some((cost, width)) = cost(group.thermal) else { continue };
        let half = 0.5 * (cost + width);
        report.push(
            group
                .finding(&RULE, format!("the transfer takes most of the window of {}", group.names()))
                .here(format!("{:.1} s may pass from heater off to bend finished", group.time))
                .figure(figure(
                    "window lost to the transfer",
                    Known::exact(cost),
                    "s",
                    Some((half, "half of the window without it; our own choice")),
                ))
                .help(
                    "Bend faster and write it: `transfer 2 s`. An arm at the hinge needs no more than a few seconds.",
                ),
        );
    }
}

/// What the usual transfer takes from the window, and what is left of it, both at the nominal, s.
///
/// The nominal transfer is three quarters of the longest; the last quarter alone makes the bend ready so much later, and
/// cooling goes evenly over so short a time.
fn cost(thermal: &Thermal) -> Option<(f64, f64)> {
    let window = &thermal.window;
    let last = window.closings.iter().find(|closing| closing.unknown == Unknown::Transfer)?.ready_later;
    let width = window.over.nominal - window.ready.nominal;
    (last.is_finite() && width.is_finite()).then_some((3.0 * last, width))
}
