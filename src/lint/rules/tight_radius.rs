use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::model::Radius;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "tight-radius",
    class: Class::Notice,
    group: "part",
    summary: "The inside radius is smaller than the sheet stands.",
    page: include_str!("tight_radius.md"),
    check: Check::Recipe(check),
};

/// An inside radius below the material's least.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let part = &view.recipe.part;
    let Some(least) = &part.sheet.material.least_radius else { return };
    let limit = least.value.nominal() * part.sheet.thickness.value.nominal();
    for (index, bend) in part.bends.iter().enumerate() {
        let radius = match bend.radius {
            Radius::Formed(radius) => radius,
            Radius::Free => match view.windows.get(index).and_then(Option::as_ref) {
                Some(thermal) => thermal.radius,
                None => continue,
            },
        };
        if radius >= limit * (1.0 - 1e-6) {
            continue;
        }
        let label = part.bend_label(index);
        let help = if bend.radius == Radius::Free {
            "Heat a wider zone, or bend over a former: `radius … mm`."
        } else {
            "Take a former with a larger radius, or thinner sheet."
        };
        report.push(
            RULE.finding(bend.span, format!("the inside radius of bend `{label}` is smaller than the sheet stands"))
                .here("stress and creases on the inside")
                .also(part.sheet.thickness.span, "the thickness")
                .figure(figure(
                    "inside radius",
                    Known::exact(radius),
                    "mm",
                    Some((limit, "`least_radius` of the material × thickness")),
                ))
                .help(help),
        );
    }
}
