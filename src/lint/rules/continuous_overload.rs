use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::supply_overload::{drawn, figure};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "continuous-overload",
    class: Class::Caution,
    group: "supply",
    summary: "More is drawn than the supply can give for long.",
    page: include_str!("continuous_overload.md"),
    check: Check::Recipe(check),
};

/// More is drawn for minutes than the supply can give for more than a few seconds; overload itself has its own rule.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (supply, drawn) in drawn(view) {
        let limit = supply.rated.value.low() * supply.continuous;
        if drawn.high() <= limit || drawn.high() > supply.rated.value.low() {
            continue;
        }
        report.push(
            RULE.finding(
                view.recipe.span,
                format!("`{}` draws more from `{}` than it can give for long", view.recipe.name, supply.name),
            )
            .here("the heaters of this recipe")
            .also(supply.rated.span, "the rating, of which a share may be drawn for long")
            .figure(figure(&drawn, limit, "rating × continuous share"))
            .note("80 % of the rating is common practice for long loads.")
            .help("Use a stronger supply, a thinner or longer wire, or heat one line after the other."),
        );
    }
}
