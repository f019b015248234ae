use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, groups, remedy, words};
use crate::lint::run::RecipeView;
use crate::physics::window::Verdict;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "unproved-window",
    class: Class::Notice,
    group: "heat",
    summary: "The window is open at the nominal only.",
    page: include_str!("unproved_window.md"),
    check: Some(Check::Recipe(check)),
};

/// The window is open at the nominal, but not over everything that is unknown: the time is a starting point.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        (thermal.window.verdict == Verdict::Nominal).then(|| (0.0, view.recipe.bends[bend].span))
    };
    for group in groups(view, fires) {
        let window = &group.thermal.window;
        let finding = group
            .finding(&RULE, format!("the window of {} is open at the nominal only", group.names()))
            .here("the time is a starting point for trial strips")
            .figure(figure("heat time until ready", window.ready, None))
            .figure(figure("heat time until blisters", window.over, None));
        report.push(match window.closings.first() {
            Some(closing) => {
                finding.note(format!("What closes it most: {}.", words(closing.unknown))).help(remedy(closing.unknown))
            }
            None => finding,
        });
    }
}
