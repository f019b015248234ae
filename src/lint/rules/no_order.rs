use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::model::Order;
use crate::plan::{DeadEnd, NoOrder, choice_words};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "no-order",
    class: Class::Notice,
    group: "order",
    summary: "No order of the bends can be made.",
    page: include_str!("no_order.md"),
    check: Check::Recipe(check),
};

/// So many ends of ways are told in the message; the picture shows more.
const MOST_TOLD: usize = 3;

/// Every order of the bends ends at an obstacle.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(NoOrder::None(ends, all)) = view.no_order else { return };
    let Order::Computed(span) = view.recipe.order else { return };
    let headline =
        format!("no order of the bends of `{}` can be made on `{}`", view.recipe.part.name, view.recipe.bench.name);
    let mut finding = RULE.finding(span, headline).here("every order was looked at, with either side clamped");
    for end in ends.iter().take(MOST_TOLD) {
        finding = finding.note(end_words(view, end));
    }
    match all.saturating_sub(MOST_TOLD) {
        0 => {}
        1 => finding = finding.note("There is one more way that ends like this."),
        more => finding = finding.note(format!("There are {more} more ways that end like this.")),
    }
    report.push(finding.help(
        "Look at `obstacles.svg`. What helps: a shallower arm, a lower or narrower clamp, a fence that is lower than the \
         sheet, another arm, longer legs, or a part that is glued of two.",
    ));
}

/// Where a way ends, in one sentence.
fn end_words(view: RecipeView<'_>, end: &DeadEnd) -> String {
    let made: Vec<String> =
        end.made.iter().map(|choice| format!("`{}`", view.recipe.part.bend_label(choice.bend))).collect();
    let after = if made.is_empty() { "To begin with".to_owned() } else { format!("After {}", made.join(", ")) };
    let blocked: Vec<String> = end
        .blocked
        .iter()
        .map(|(choice, obstacle, lay)| {
            format!("{}: {}", choice_words(view.recipe, *choice), obstacle.words(view.recipe, lay, choice.bend))
        })
        .collect();
    format!("{after}: {}.", blocked.join("; "))
}
