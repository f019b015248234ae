use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::unsaid::{heated_at, names};
use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::report::{Class, Diagnostic, Figure};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "heat-beyond-limit",
    class: Class::Warning,
    group: "heat",
    summary: "The heat is longer than the controller allows.",
    page: include_str!("heat_beyond_limit.md"),
    check: Check::Recipe(check),
};

/// A heat that the controller cuts off before it is done.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(limit) = view.recipe.bench.controller.as_ref().and_then(|controller| controller.heat_limit) else {
        return;
    };
    let mut told = Vec::new();
    for (index, settings) in view.recipe.bends.iter().enumerate() {
        let Heat::Stages(stages) = &settings.heat else { continue };
        let time: f64 = stages.value.iter().filter(|level| level.share > 0.0).map(|level| level.time).sum();
        if time <= limit.value || told.contains(&stages.span) {
            continue;
        }
        told.push(stages.span);
        let bends = names(&heated_at(view, index));
        let verb = if bends.starts_with("bends") { "heat" } else { "heats" };
        report.push(
            RULE.finding(stages.span, format!("{bends} {verb} longer than the controller allows"))
                .here("the controller cuts this off")
                .also(limit.span, "the controller's limit")
                .figure(Figure {
                    name: "heat time".to_owned(),
                    value: time,
                    low: time,
                    high: time,
                    unit: "s".to_owned(),
                    limit: Some(limit.value),
                    limit_source: Some("the controller's heat_limit".to_owned()),
                })
                .help("Heat stronger for a shorter time, or from both faces. Raising the limit weakens the guard."),
        );
    }
}
