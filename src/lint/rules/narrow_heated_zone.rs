use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::model::Radius;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "narrow-heated-zone",
    class: Class::Notice,
    group: "heat",
    summary: "The heated zone is narrower than the bend needs.",
    page: include_str!("narrow_heated_zone.md"),
    check: Check::Recipe(check),
};

/// A channel that is narrower than the bend needs: than the arc of the bend, or than the least width of the heated zone.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let sheet = &view.recipe.part.sheet;
    let Some(blank) = view.blank() else { return };
    let mut told = Vec::new();
    for (index, (settings, line)) in view.recipe.bends.iter().zip(&blank.lines).enumerate() {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        let least = sheet.material.heated_width.as_ref().map_or(0.0, |width| width.value.low());
        let width = least * sheet.thickness.value.nominal();
        // The arc of a free bend is what was softened: it fits by itself.
        let free = view.recipe.part.bends[index].radius == Radius::Free;
        let arc = if free { 0.0 } else { line.arc.nominal() };
        let (needed, why) = if arc > width {
            (arc, "the length of the bend's arc")
        } else {
            (width, "`heated_width` of the material, the least")
        };
        let channel = Known::from(&heater.channel.value);
        if channel.nominal >= needed * (1.0 - 1e-9) || told.contains(&(heater.id, why)) {
            continue;
        }
        told.push((heater.id, why));
        let bend = view.recipe.part.bend_label(index);
        report.push(
            RULE.finding(settings.span, format!("`{}` heats a narrower zone than bend `{bend}` needs", heater.name))
                .here("this bend")
                .also(heater.channel.span, "the opening through which the sheet is heated")
                .figure(figure("opening of the channel", channel, "mm", Some((needed, why))))
                .help("Widen the channel, or bend with a smaller radius where the sheet stands it."),
        );
    }
}
