use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::unsaid::names;
use crate::lint::run::RecipeView;
use crate::plan::BendPlan;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "fence-out-of-reach",
    class: Class::Notice,
    group: "part",
    summary: "The fence cannot be set where the bend needs it.",
    page: include_str!("fence_out_of_reach.md"),
    check: Check::Recipe(check),
};

/// The fence cannot be set at the distance that a bend needs.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    let reach = view.recipe.bench.fence.reach;
    let (low, high) = reach.value;
    let beyond = |fence: f64| fence < low - 1e-9 || fence > high + 1e-9;
    let mut told = Vec::new();
    for (index, bend) in plan.bends.iter().enumerate() {
        let place = view.recipe.bends[index].span;
        if !beyond(bend.fence) || told.contains(&place) {
            continue;
        }
        told.push(place);
        let here = |other: &(usize, &BendPlan)| view.recipe.bends[other.0].span == place && beyond(other.1.fence);
        let wrong: Vec<(usize, &BendPlan)> = plan.bends.iter().enumerate().filter(here).collect();
        let labels: Vec<String> = wrong.iter().map(|(index, _)| view.recipe.part.bend_label(*index)).collect();
        let verb = if labels.len() == 1 { "needs" } else { "need" };
        let finding = RULE
            .finding(place, format!("the fence cannot be set where {} {verb} it", names(&labels)))
            .here("these settings")
            .also(reach.span, "the fence's reach")
            .help("Push the other end against the fence (`fence front` or `fence back`), or bend in another order.");
        report.push(wrong.iter().zip(&labels).fold(finding, |finding, ((_, bend), label)| {
            let limit = if bend.fence < low { low } else { high };
            let name = format!("fence for `{label}`");
            finding.figure(figure(&name, Known::exact(bend.fence), "mm", Some((limit, "the bench's fence"))))
        }));
    }
}
