use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "one-face-too-thick",
    class: Class::Notice,
    group: "heat",
    summary: "The sheet is too thick to be heated from one face.",
    page: include_str!("one_face_too_thick.md"),
    check: Check::Recipe(check),
};

/// 3 mm and 1/8 in are one size to the trade: what is published for one holds for the other.
const ONE_SIZE: f64 = 1.06;

/// Sheet beyond the thickness up to which one face is heated, on a heater with one line.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let sheet = &view.recipe.part.sheet;
    let Some(limit) = &sheet.material.one_face_up_to else { return };
    let thickness = Known::from(&sheet.thickness.value);
    if thickness.nominal <= limit.value.nominal() * ONE_SIZE {
        return;
    }
    let mut told = Vec::new();
    for settings in &view.recipe.bends {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        if heater.lines.len() > 1 || told.contains(&heater.id) {
            continue;
        }
        told.push(heater.id);
        report.push(
            RULE.finding(view.recipe.span, format!("`{}` is too thick to be heated from one face", sheet.name))
                .here("this recipe heats it from one face")
                .also(sheet.thickness.span, "the thickness")
                .also(heater.length.span, "this heater has one line")
                .figure(figure("thickness", thickness, "mm", Some((limit.value.nominal(), "`one_face_up_to` of the material"))))
                .note("The face is hotter than the middle by flux × thickness / (2 × conductivity), however long it is heated.")
                .help("Heat both faces with a second line, or turn the sheet over half-way."),
        );
    }
}
