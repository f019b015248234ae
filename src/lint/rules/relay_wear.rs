use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::unsaid::{heated_at, names};
use crate::lint::run::RecipeView;
use crate::model::{Heat, Level, Switch};
use crate::physics::supply::switchings;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "relay-wear",
    class: Class::Caution,
    group: "supply",
    summary: "Staged heat on a relay wears it out.",
    page: include_str!("relay_wear.md"),
    check: Check::Recipe(check),
};

/// Heat stages that make a relay switch more than once for a bend.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let mut told = Vec::new();
    for (index, settings) in view.recipe.bends.iter().enumerate() {
        let heater = &view.recipe.bench.arms[settings.arm].heater;
        if heater.switch != Switch::Relay {
            continue;
        }
        let (stages, place): (&[Level], _) = match &settings.heat {
            Heat::Stages(given) => (&given.value, given.span),
            Heat::Computed(span) => {
                let found = view.windows.get(index).and_then(|window| window.as_ref()?.heat.as_deref());
                (found.unwrap_or(&[]), *span)
            }
            Heat::Missing => continue,
        };
        let count = switchings(stages.iter().map(|stage| (stage.time, stage.share)));
        if count <= 1.0 || told.contains(&place) {
            continue;
        }
        told.push(place);
        let bends = names(&heated_at(view, index));
        report.push(
            RULE.finding(place, format!("the relay switches more than once for {bends}"))
                .here("these stages")
                .also(heater.length.span, "the relay switches this heater")
                .figure(figure(
                    "switched on",
                    Known::exact(count),
                    "",
                    Some((1.0, "once for each bend; common practice, no source")),
                ))
                .note("A contact that is worn out welds: then the line stays hot.")
                .help("Write one stage, or fit a solid-state switch: `switch solid_state`."),
        );
    }
}
