use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::better::millimetres_figure;
use crate::lint::run::RecipeView;
use crate::plan::end_word;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "leg-too-short",
    class: Class::Notice,
    group: "part",
    summary: "The side to be clamped is too short for the clamp.",
    page: include_str!("leg_too_short.md"),
    check: Check::Recipe(check),
};

/// The side that lies on the base does not reach far enough under the clamp.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    let clamp = &view.recipe.bench.clamp;
    for pose in &plan.handling.poses {
        let Some(lacks) = pose.lay.short_of_grip else { continue };
        let label = view.recipe.part.bend_label(pose.bend);
        let needed = clamp.inset.value.nominal() + clamp.grip.value.nominal();
        let headline = format!("bend `{label}`: the side to be clamped is too short for the clamp's grip");
        let mut finding = RULE
            .finding(view.recipe.bends[pose.bend].span, headline)
            .here(format!("the {} of the profile is clamped for this bend", end_word(pose.side)))
            .also(view.recipe.part.bends[pose.bend].span, "the bend")
            .also(clamp.grip.span, "the least leg that must lie under the bar");
        let source = "the bench's clamp: its inset and its grip";
        if let Some(figure) = millimetres_figure("flat side behind the bend line", needed - lacks, needed, source) {
            finding = finding.figure(figure);
        }
        report.push(
            finding.help("Clamp the other side (`fence front`, `fence back`), or make this bend before its neighbour."),
        );
    }
}
