use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::figure;
use crate::lint::run::RecipeView;
use crate::model::FenceSide;
use crate::plan::LaidIn;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "hot-stack",
    class: Class::Notice,
    group: "set",
    summary: "The next clamp presses a zone that is still soft.",
    page: include_str!("hot_stack.md"),
    check: Check::Recipe(check),
};

/// The clamp for the next bend presses on the heated zone of the bend before, which has not set by then.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    let bench = &view.recipe.bench;
    for pair in plan.handling.poses.windows(2) {
        let [before, next] = pair else { continue };
        let Some(bend) = plan.bends.get(before.bend) else { continue };
        let Some(set) = bend.thermal.as_ref().and_then(|thermal| thermal.window.set) else { continue };
        let passed = bend.set + bench.handling.reposition;
        let together =
            plan.handling.order.iter().any(|group| group.contains(&before.bend) && group.contains(&next.bend));
        if together || passed >= set.nominal || !under_the_bar(view, before, next) {
            continue;
        }
        let [soft, clamped] = [before, next].map(|pose| view.recipe.part.bend_label(pose.bend));
        report.push(
            RULE.finding(
                view.recipe.bends[next.bend].span,
                format!("the clamp for bend `{clamped}` presses on bend `{soft}`, which is still soft"),
            )
            .here("how this bend is made")
            .also(view.recipe.bends[before.bend].span, "the bend before it")
            .figure(figure("time until set", set, Some((passed, "set and reposition of the bend before"))))
            .help(format!("Hold `{soft}` longer, or make a bend that is farther away first.")),
        );
    }
}

/// Whether the bar lies over what was heated for the bend before: the opening of its channel, or the arc where that is
/// longer.
fn under_the_bar(view: RecipeView<'_>, before: &LaidIn, next: &LaidIn) -> bool {
    let clamped = match next.side {
        FenceSide::Front => before.bend < next.bend,
        FenceSide::Back => before.bend > next.bend,
    };
    let Some(plan) = view.plan.filter(|_| clamped) else { return false };
    let (soft, line) = (&plan.blank.lines[before.bend], &plan.blank.lines[next.bend]);
    let opening = view.recipe.bench.arms[view.recipe.bends[before.bend].arm].heater.channel.value.nominal();
    let half = opening.max(soft.arc.nominal()) / 2.0;
    let apart = (soft.from_start - line.from_start).abs();
    let clamp = &view.recipe.bench.clamp;
    let from = clamp.inset.value.nominal();
    let to = from + clamp.depth.value.nominal();
    apart - half < to && apart + half > from
}
