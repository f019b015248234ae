use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::physics::window::Unknown;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "cold-start",
    class: Class::Notice,
    group: "heat",
    summary: "The shield is still warming up: first and later parts differ.",
    page: include_str!("cold_start.md"),
    check: Check::Recipe(check),
};

/// How much the heat that a part needs may differ between the first and the later ones, as a share of it (our own choice).
const SHARE: f64 = 0.02;

/// A line that starts cold: its shield warms up over the first parts, which get less heat than the later ones.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for (settings, thermal) in view.recipe.bends.iter().zip(view.windows) {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        let (Some(thermal), None) = (thermal, heater.warm_up) else { continue };
        let window = &thermal.window;
        let limit = SHARE * window.ready.nominal;
        let closing = window.closings.iter().find(|closing| closing.unknown == Unknown::ShieldRise);
        let Some(taken) = closing.map(crate::physics::window::Closing::taken) else { continue };
        if !limit.is_finite() || taken <= limit || told.contains(&heater.id) {
            continue;
        }
        told.push(heater.id);
        let finding = RULE
            .finding(
                view.recipe.span,
                format!("the first parts on `{}` get less heat than the later ones", heater.name),
            )
            .here("the shield is still warming up")
            .also(heater.length.span, "this heater has no `warm_up`")
            .figure(figure(
                "difference of heat that is right",
                Known::exact(taken),
                "s",
                Some((limit, "2 % of the heat; our own choice")),
            ));
        report.push(finding.control_edit("write `warm_up 3 min`", heater.length.span.after(), "\n  warm_up 3 min"));
    }
}
