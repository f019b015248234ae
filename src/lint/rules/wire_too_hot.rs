use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic, Figure};
use crate::units::{Unit, in_unit};

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
                Diagnostic::rule(
                    "wire-too-hot",
                    Class::Caution,
                    heater.supply.voltage.span,
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
