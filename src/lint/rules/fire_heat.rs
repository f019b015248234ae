use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, given_heat, groups, instead};
use crate::lint::run::RecipeView;
use crate::model::Material;
use crate::physics::window::Span;
use crate::plan::{Thermal, VOID_CELSIUS};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "fire-heat",
    class: Class::Danger,
    group: "heat",
    summary: "The worst case passes the temperature at which the sheet decomposes.",
    page: include_str!("fire_heat.md"),
    check: Check::Recipe(check),
};

/// A given heat after which the sheet decomposes at the nominal already: fumes, then fire. From the ceiling to the
/// temperature where decomposition begins at the earliest (220 degC, published for acrylic) it takes only so long. A
/// material that is known to stand more than that is left to `overlong-heat`: the model ends there.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let material = &view.recipe.part.sheet.material;
    let follows = if material.corrosive_fumes {
        "it gives off hydrogen chloride, which attacks lungs and metal"
    } else {
        "it gives off fumes that burn, then catches fire"
    };
    let given = |bend: usize, thermal: &Thermal| {
        let (time, place) = given_heat(view, bend)?;
        fires(material, thermal, time).then_some((time, place))
    };
    for group in groups(view, given) {
        let Some(span) = decomposes(group.thermal) else { continue };
        let headline = format!("{} {} heated until the sheet decomposes", group.names(), group.are());
        report.push(
            group
                .finding(&RULE, headline)
                .here(follows)
                .figure(figure("heat time until it decomposes", span, Some((group.time, "the heat given here"))))
                .help(format!(
                    "Write {}, inside the window that `withy compile` prints.",
                    instead(group.thermal, "heat")
                )),
        );
    }
}

/// Whether a heat of this time (s) decomposes the sheet at the nominal.
pub fn fires(material: &Material, thermal: &Thermal, time: f64) -> bool {
    let stands_more = material.decomposes.as_ref().is_some_and(|given| given.value.low() > VOID_CELSIUS + 273.15);
    !stands_more && decomposes(thermal).is_some_and(|begins| time >= begins.nominal)
}

/// The heat time at which decomposition begins, s; its bounds move with those of the ceiling.
fn decomposes(thermal: &Thermal) -> Option<Span> {
    let after = thermal.window.void_after?;
    let over = thermal.window.over;
    over.nominal.is_finite().then_some(Span {
        nominal: over.nominal + after,
        low: over.low + after,
        high: over.high + after,
    })
}
