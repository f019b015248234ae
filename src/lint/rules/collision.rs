use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::better::{millimetres_figure, order_text};
use crate::lint::run::RecipeView;
use crate::model::Order;
use crate::physics::collide::{GRAZING, Thing, Touch};
use crate::plan::{LaidIn, RecipePlan, touch_words};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "collision",
    class: Class::Caution,
    group: "order",
    summary: "The sheet hits the bench or itself.",
    page: include_str!("collision.md"),
    check: Check::Recipe(check),
};

/// The sheet hits the bench or itself as it is laid in or while the arm swings, or comes so close that nobody can say.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    for pose in &plan.handling.poses {
        // One finding a bend: what stands in the base as it is laid in goes on to hit more.
        let first = pose.touches.iter().min_by(|a, b| place(a).total_cmp(&place(b)));
        if let Some(touch) = first {
            let words = touch_words(view.recipe, &pose.lay, pose.bend, touch);
            report.push(finding(view, plan, pose, touch, &words));
        }
        if let Some((other, touches)) = &pose.with
            && let Some(touch) = touches.iter().find(|touch| touch.collides).or(touches.first())
        {
            let other = view.recipe.part.bend_label(*other);
            let verb = if touch.collides { "hits" } else { "grazes" };
            let words = format!("what it swings {verb} what `{other}` swings at the same time, or its clamp");
            report.push(finding(view, plan, pose, touch, &words));
        }
    }
}

/// Collisions before what only grazes, and then as they come in the swing.
fn place(touch: &Touch) -> f64 {
    if touch.collides { touch.angle } else { 10.0 + touch.angle }
}

fn finding(view: RecipeView<'_>, plan: &RecipePlan, pose: &LaidIn, touch: &Touch, words: &str) -> Diagnostic {
    let recipe = view.recipe;
    let label = recipe.part.bend_label(pose.bend);
    let headline = format!("bend `{label}`: {words}");
    let mut finding = RULE
        .finding(recipe.bends[pose.bend].span, headline)
        .here("how this bend is made")
        .also(recipe.part.bends[pose.bend].span, "the bend");
    let source = "closer than this, bench, sheet and hands are not known (common practice)";
    if let Some(figure) = millimetres_figure("gap; below 0 an overlap", touch.gap, GRAZING, source) {
        finding = finding.figure(figure);
    }
    if let (Order::Given(given), true) = (&recipe.order, touch.collides) {
        if let Some(best) = &plan.handling.best {
            let text = order_text(recipe, &best.choices);
            let title = format!("make the bends in an order that can be made: `{text}`");
            return finding.also(given.span, "the order").edit(title, given.span, text);
        }
        if plan.handling.order.len() > 1 {
            finding = finding.also(given.span, "the order").note("No other order of single bends can be made either.");
        }
    }
    if touch.first == Thing::Fence || touch.second == Thing::Fence {
        finding = match recipe.bench.fence.height.as_ref().map(|given| given.span) {
            Some(height) => finding.also(height, "the height of the fence"),
            None => finding.note("The bench says no `height` of its fence: it is supposed to be 15 mm."),
        };
        finding = finding.help("A fence that is lower than the sheet (`height` in `fence`) goes under the clamp.");
    }
    finding
        .help("Look at `poses.svg`, and clamp the other side (`fence front`, `fence back`) or bend in another order.")
}
