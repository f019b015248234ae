use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-set-time",
    class: Class::Warning,
    group: "set",
    summary: "A bend has no set time.",
    page: include_str!("missing_set_time.md"),
    check: Some(Check::Recipe(check)),
};

/// A bend without a set time: released too early, the angle opens again and the hot sheet can burn.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, settings) in
        view.recipe.bends.iter().enumerate().filter(|(_, settings)| settings.set == SetTime::Missing)
    {
        let bend = view.recipe.part.bend_label(index);
        report.push(
            RULE.finding(settings.span, format!("bend `{bend}` of `{}` has no set time", view.recipe.name))
                .here("no `set` here, nor in `every bend`")
                .help("Write `set computed`, or a time from a trial strip: `set 120 s`."),
        );
    }
}
