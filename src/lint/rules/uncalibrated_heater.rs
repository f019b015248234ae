use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "uncalibrated-heater",
    class: Class::Notice,
    group: "library",
    summary: "A heater was not calibrated by trial strips.",
    page: include_str!("uncalibrated_heater.md"),
    check: Check::Recipe(check),
};

/// A heater that no trial strip has calibrated for the recipe's sheet.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for settings in &view.recipe.bends {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        let calibrated = heater.calibration.as_ref().is_some_and(|trials| trials.sheet == view.recipe.part.sheet.id);
        if calibrated || told.contains(&heater.id) {
            continue;
        }
        told.push(heater.id);
        let sheet = &view.recipe.part.sheet.name;
        report.push(
            RULE.finding(view.recipe.span, format!("the heater `{}` was not calibrated for `{sheet}`", heater.name))
                .here("this recipe heats with it")
                .also(heater.length.span, "this heater has no `calibrated` for that sheet")
                .note("What reaches the sheet is then only known to 40 % (our own wide bounds, no published source).")
                .help(
                    "Bend trial strips and write what they show: `calibrated { factor …, sheet …, on …, trials … }`.",
                ),
        );
    }
}
