use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "bends-too-close",
    class: Class::Notice,
    group: "part",
    summary: "The heated zones of two bends overlap.",
    page: include_str!("bends_too_close.md"),
    check: Check::Recipe(check),
};

/// Two bend lines so close that the opening over which one is heated reaches into the arc of the other.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let Some(blank) = view.blank() else { return };
    let (recipe, bends) = (view.recipe, &view.recipe.part.bends);
    for (index, lines) in blank.lines.windows(2).enumerate() {
        let [one, two] = lines else { continue };
        let channel = |bend: usize| {
            recipe
                .bends
                .get(bend)
                .map_or(0.0, |settings| recipe.bench.arms[settings.arm].heater.channel.value.nominal())
        };
        let apart = two.from_start - one.from_start;
        let needed = (0.5 * (channel(index) + two.arc.nominal())).max(0.5 * (channel(index + 1) + one.arc.nominal()));
        if apart >= needed - 1e-9 {
            continue;
        }
        let [a, b] = [index, index + 1].map(|bend| recipe.part.bend_label(bend));
        report.push(
            RULE.finding(bends[index + 1].span, format!("bends `{a}` and `{b}` are too close together"))
                .here("heating one softens the other")
                .also(bends[index].span, "the other bend")
                .figure(figure(
                    "from bend line to bend line",
                    Known::exact(apart),
                    "mm",
                    Some((needed, "half of the channel and half of the other bend's arc")),
                ))
                .help("Move them apart, heat through a narrower channel, or make both at once."),
        );
    }
}
