use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::unsaid::unsaid;
use crate::lint::run::RecipeView;
use crate::model::{Heat, Level};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-heat-time",
    class: Class::Warning,
    group: "heat",
    summary: "A bend has no heat time.",
    page: include_str!("missing_heat_time.md"),
    check: Check::Recipe(check),
};

/// A bend without a heat time: a controller cannot make it, and a person guesses.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let missing = |index: usize| (view.recipe.bends[index].heat == Heat::Missing).then(|| computed(view, index));
    report.extend(unsaid(view, &RULE, ("heat", "150 s"), missing));
}

/// The computed time, s, where it is one number.
fn computed(view: RecipeView<'_>, index: usize) -> Option<f64> {
    let thermal = view.windows.get(index)?.as_ref().filter(|thermal| !thermal.from_memory)?;
    match thermal.heat.as_deref()? {
        [Level { time, share }] if *share >= 1.0 => Some(*time),
        _ => None,
    }
}
