use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-heat-time",
    class: Class::Warning,
    group: "heat",
    summary: "A bend has no heat time.",
    page: include_str!("missing_heat_time.md"),
    check: Some(Check::Recipe(check)),
};

/// A bend without a heat time: a controller cannot make it, and a person guesses.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, settings) in view.recipe.bends.iter().enumerate().filter(|(_, settings)| settings.heat == Heat::Missing)
    {
        let bend = view.recipe.part.bend_label(index);
        report.push(
            RULE.finding(settings.span, format!("bend `{bend}` of `{}` has no heat time", view.recipe.name))
                .here("no `heat` here, nor in `every bend`")
                .help("Write `heat computed`, or a time from a trial strip: `heat 150 s`."),
        );
    }
}
