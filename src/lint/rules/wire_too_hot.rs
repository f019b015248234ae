use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic, Figure};
use crate::units::{Unit, in_unit};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "wire-too-hot",
    class: Class::Caution,
    group: "wire",
    summary: "The wire runs hotter than its alloy stands.",
    page: include_str!("wire_too_hot.md"),
    check: Check::Recipe(check),
};

/// A wire that runs hotter than its alloy stands, at the nominal, when it is hot and steady.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Ok(scale) = Unit::parse("degC") else { return };
    let mut told = Vec::new();
    for (settings, electric) in view.recipe.bends.iter().zip(view.electric) {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        let Some(electric) = electric.as_ref().filter(|_| !told.contains(&heater.id)) else { continue };
        for (line, hot) in heater.lines.iter().zip(&electric.lines) {
            let alloy = &line.wire.alloy;
            let limit = alloy.limit.value.nominal();
            if hot.temperature <= limit || told.contains(&heater.id) {
                continue;
            }
            told.push(heater.id);
            let shown = in_unit(hot.temperature, &scale);
            report.push(
                RULE.finding(heater.supply.voltage.span,
                    format!("the wire of `{}` runs hotter than its alloy stands", heater.name),
                )
                .here("at this voltage")
                .also(heater.length.span, "this heater")
                .figure(Figure {
                    name: "wire temperature".to_owned(),
                    value: shown,
                    low: shown,
                    high: shown,
                    unit: "degC".to_owned(),
                    limit: Some(in_unit(limit, &scale)),
                    limit_source: Some(format!("the limit of `{}`", alloy.name)),
                })
                .help("Lower the voltage, or take a longer or thicker wire; 6.5 W/in is the usual first setting for 3 mm."),
            );
        }
    }
}
