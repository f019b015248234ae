use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::unsaid::unsaid;
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
    check: Check::Recipe(check),
};

/// A bend without a set time: released too early, the angle opens again and the hot sheet can burn.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let missing = |index: usize| (view.recipe.bends[index].set == SetTime::Missing).then(|| computed(view, index));
    report.extend(unsaid(view, &RULE, ("set", "120 s"), missing));
}

/// The computed time, s, where it is one number.
fn computed(view: RecipeView<'_>, index: usize) -> Option<f64> {
    let thermal = view.windows.get(index)?.as_ref().filter(|thermal| !thermal.from_memory)?;
    thermal.window.hold
}
