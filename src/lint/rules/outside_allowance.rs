use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic, Figure};
use crate::units::{Unit, in_unit};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "outside-allowance",
    class: Class::Notice,
    group: "part",
    summary: "What is known of a leg exceeds what the drawing allows.",
    page: include_str!("outside_allowance.md"),
    check: Check::Recipe(check),
};

/// What is known of a leg, with the sheet as thick as it may be, exceeds what the drawing allows.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(plan) = view.plan else { return };
    let Ok(mm) = Unit::parse("mm") else { return };
    for (index, (leg, known)) in view.recipe.part.legs.iter().zip(&plan.blank.legs).enumerate() {
        let Some(allowed) = leg.allowed else { continue };
        let wanted = leg.length.value;
        let (below, above) = (wanted - known.low(), known.high() - wanted);
        if below <= allowed.below + 1e-9 && above <= allowed.above + 1e-9 {
            continue;
        }
        let limit = if below > allowed.below { wanted - allowed.below } else { wanted + allowed.above };
        report.push(
            RULE.finding(leg.length.span, format!("leg {} can come out beyond what the drawing allows", index + 1))
                .here("with the sheet as thick or as thin as it may be")
                .also(view.recipe.part.sheet.thickness.span, "this is what is known of the thickness")
                .figure(Figure {
                    name: format!("length of leg {}", index + 1),
                    value: in_unit(known.nominal(), &mm),
                    low: in_unit(known.low(), &mm),
                    high: in_unit(known.high(), &mm),
                    unit: "mm".to_owned(),
                    limit: Some(in_unit(limit, &mm)),
                    limit_source: Some("`within` on the leg".to_owned()),
                })
                .help("Measure the sheet and narrow its thickness, or run it from a measured lot; or allow more."),
        );
    }
}
