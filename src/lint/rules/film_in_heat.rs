use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "film-in-heat",
    class: Class::Caution,
    group: "heat",
    summary: "Protective film is left in the heated zone.",
    page: include_str!("film_in_heat.md"),
    check: Check::Recipe(check),
};

/// Protective film that is left on while the sheet is heated.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(place) = view.recipe.film_left else { return };
    report.push(
        RULE.finding(place, format!("`{}` heats the sheet with its film on", view.recipe.name))
            .here("film melts onto the face, shrinks, and can catch fire on the wire")
            .help("Peel it at least as far as the channel is wide, and the rest after the bend.")
            .edit("write `peeled`", place, "peeled"),
    );
}
