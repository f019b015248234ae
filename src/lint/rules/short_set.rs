use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, groups, instead};
use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "short-set",
    class: Class::Caution,
    group: "set",
    summary: "The bend is released hot and soft.",
    page: include_str!("short_set.md"),
    check: Check::Recipe(check),
};

/// A given set time after which the bend is still soft.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let given = |bend: usize| match view.recipe.bends[bend].set {
        SetTime::Given(given) => Some(given),
        SetTime::Computed(_) | SetTime::Missing => None,
    };
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        let (given, set) = (given(bend)?, thermal.window.set?);
        (given.value < set.nominal).then_some((given.value, given.span))
    };
    for group in groups(view, fires) {
        let Some(set) = group.thermal.window.set else { continue };
        report.push(
            group
                .finding(&RULE, format!("{} {} released hot and soft", group.names(), group.are()))
                .here("it opens again, and can burn a hand")
                .figure(figure("time until set", set, Some((group.time, "the set given here"))))
                .help(format!("Hold longer, or write {}.", instead(group.thermal, "set"))),
        );
    }
}
