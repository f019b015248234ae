use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::better::{comparison, order_text, times};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "needless-turn-over",
    class: Class::Hint,
    group: "order",
    summary: "Another order turns the sheet over less often.",
    page: include_str!("needless_turn_over.md"),
    check: Check::Recipe(check),
};

/// Another order that can be made turns the sheet over less often.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(given) = comparison(view) else { return };
    let best = given.best.counts.turn_overs;
    if best >= given.turn_overs {
        return;
    }
    let text = order_text(view.recipe, &given.best.choices);
    let headline = format!("the sheet is turned over {}, and need be {}", times(given.turn_overs), times(best));
    report.push(
        RULE.finding(given.span, headline)
            .here("in this order")
            .note("Only the cross-section is looked at: whether a long side tips or sags while it is soft is for you to judge.")
            .edit(format!("write `{text}`"), given.span, text),
    );
}
