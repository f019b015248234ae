use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::report::{Class, Diagnostic};

/// Computed times on a heater that no trial strip has calibrated for this sheet.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for (index, thermal) in view.windows.iter().enumerate() {
        let heater = &view.recipe.bench.arms[view.recipe.bends[index].arm].heater;
        let computed = matches!(view.recipe.bends[index].heat, Heat::Computed(_));
        let uncalibrated = thermal.as_ref().is_some_and(|thermal| !thermal.calibrated);
        if !computed || !uncalibrated || told.contains(&heater.id) {
            continue;
        }
        told.push(heater.id);
        let sheet = &view.recipe.part.sheet.name;
        report.push(
            Diagnostic::rule(
                "uncalibrated-heater",
                Class::Notice,
                view.recipe.span,
                format!("times are computed on `{}`, which was not calibrated for `{sheet}`", heater.name),
            )
            .here("this recipe asks for computed times")
            .also(heater.length.span, "this heater has no `calibrated` for that sheet")
            .note("What reaches the sheet is then only known to 40 % (our own wide bounds, no published source).")
            .help("Bend trial strips and write what they show: `calibrated { factor …, sheet …, on …, trials … }`."),
        );
    }
}
