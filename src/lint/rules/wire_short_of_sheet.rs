use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::physics::coupling::edge_factor;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "wire-short-of-sheet",
    class: Class::Notice,
    group: "wire",
    summary: "The wire does not pass the sheet's edges far enough.",
    page: include_str!("wire_short_of_sheet.md"),
    check: Check::Recipe(check),
};

/// Least heat at the sheet's edge, as a share of the middle's (our own choice).
const LEAST: f64 = 0.95;

/// A wire that ends so near the sheet's edge that the edge gets markedly less than the middle.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    let width = &view.recipe.part.width;
    for settings in &view.recipe.bends {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        if told.contains(&heater.id) {
            continue;
        }
        told.push(heater.id);
        let share = |length: f64, gap: f64| edge_factor(0.5 * (length - width.value), gap);
        let length = &heater.length.value;
        let worst = heater.lines.iter().max_by(|a, b| a.gap.value.high().total_cmp(&b.gap.value.high()));
        let Some(gap) = worst.map(|line| &line.gap.value) else { continue };
        let known = Known::between(
            share(length.nominal(), gap.nominal()),
            share(length.low(), gap.high()),
            share(length.high(), gap.low()),
        );
        if known.low >= LEAST {
            continue;
        }
        let past = Known::between(
            0.5 * (length.nominal() - width.value),
            0.5 * (length.low() - width.value),
            0.5 * (length.high() - width.value),
        );
        report.push(
            RULE.finding(
                view.recipe.span,
                format!("the ends of the bend lines on `{}` get less heat than the middle", heater.name),
            )
            .here("this recipe heats with it")
            .also(width.span, "the bend lines are so long")
            .also(heater.length.span, "and the wire so long")
            .figure(figure("heat at the sheet's edge", known, "%", Some((LEAST, "of the middle's; our own choice"))))
            .figure(figure("wire beyond the sheet's edge", past, "mm", None))
            .help("Take a longer wire: it should pass the sheet by twice the gap at either end."),
        );
    }
}
