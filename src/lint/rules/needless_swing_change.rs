use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::better::{comparison, order_text, times};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "needless-swing-change",
    class: Class::Hint,
    group: "order",
    summary: "Another order changes the swing less often.",
    page: include_str!("needless_swing_change.md"),
    check: Check::Recipe(check),
};

/// Another order that can be made, with no more turn-overs, sets the stops of the arms less often.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(given) = comparison(view) else { return };
    let best = given.best.counts;
    // An order with needless turn-overs is told by that rule: the better order mends both.
    if best.turn_overs != given.turn_overs || best.swing_changes >= given.swing_changes {
        return;
    }
    let text = order_text(view.recipe, &given.best.choices);
    let headline = format!(
        "the stop of an arm is set anew {}, and need be {}",
        times(given.swing_changes),
        times(best.swing_changes)
    );
    report.push(
        RULE.finding(given.span, headline)
            .here("in this order")
            .note("Only the cross-section is looked at: whether a long side tips or sags while it is soft is for you to judge.")
            .edit(format!("write `{text}`"), given.span, text),
    );
}
