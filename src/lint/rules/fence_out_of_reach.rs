use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic, Figure};
use crate::units::{Unit, in_unit};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "fence-out-of-reach",
    class: Class::Notice,
    group: "part",
    summary: "The fence cannot be set where the bend needs it.",
    page: include_str!("fence_out_of_reach.md"),
    check: Some(Check::Recipe(check)),
};

/// The fence cannot be set at the distance that a bend needs.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    let reach = view.recipe.bench.fence.reach;
    let (low, high) = reach.value;
    let Ok(mm) = Unit::parse("mm") else { return };
    for (index, bend) in plan.bends.iter().enumerate() {
        if bend.fence >= low - 1e-9 && bend.fence <= high + 1e-9 {
            continue;
        }
        let shown = |metres: f64| in_unit(metres, &mm);
        let label = view.recipe.part.bend_label(index);
        report.push(
            RULE.finding(
                view.recipe.bends[index].span,
                format!("the fence cannot be set where bend `{label}` needs it"),
            )
            .here("the settings of this bend")
            .also(reach.span, "the fence's reach")
            .figure(Figure {
                name: "fence distance".to_owned(),
                value: shown(bend.fence),
                low: shown(bend.fence),
                high: shown(bend.fence),
                unit: "mm".to_owned(),
                limit: Some(shown(if bend.fence < low { low } else { high })),
                limit_source: Some("the bench's fence".to_owned()),
            })
            .help("Push the other end against the fence (`fence front` or `fence back`), or bend in another order."),
        );
    }
}
