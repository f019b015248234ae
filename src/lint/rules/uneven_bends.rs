use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::run::RecipeView;
use crate::model::{Heat, Radius};
use crate::report::{Class, Diagnostic};
use crate::text::Span;
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "uneven-bends",
    class: Class::Notice,
    group: "heat",
    summary: "Like bends get unlike heat.",
    page: include_str!("uneven_bends.md"),
    check: Check::Recipe(check),
};

/// How much the heat of like bends may differ, as a share (our own choice; the supply itself is seldom better known).
const SHARE: f64 = 0.05;

/// Like bends: the first of them, and its heat in seconds at full power.
struct Kind {
    /// The arm, and angle, radius and transfer bit for bit.
    key: (usize, [u64; 3]),
    first: usize,
    heat: f64,
    place: Span,
}

/// Bends of one angle, radius and transfer on one arm whose given heats differ.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let recipe = view.recipe;
    let mut kinds: Vec<Kind> = Vec::new();
    for (index, (settings, bend)) in recipe.bends.iter().zip(&recipe.part.bends).enumerate() {
        let Heat::Stages(stages) = &settings.heat else { continue };
        let radius = if let Radius::Formed(radius) = bend.radius { radius } else { -1.0 };
        let key = (settings.arm, [bend.angle.value, radius, settings.transfer].map(f64::to_bits));
        let heat: f64 = stages.value.iter().map(|stage| stage.time * stage.share).sum();
        let Some(Kind { first, heat: other, place, .. }) = kinds.iter().find(|kind| kind.key == key) else {
            kinds.push(Kind { key, first: index, heat, place: stages.span });
            continue;
        };
        if (heat - other).abs() <= SHARE * other {
            continue;
        }
        let (one, two) = (recipe.part.bend_label(*first), recipe.part.bend_label(index));
        report.push(
            RULE.finding(stages.span, format!("bends `{one}` and `{two}` are alike, but get unlike heat"))
                .here("this heat")
                .also(*place, "and this one")
                .figure(figure(
                    "heat, as seconds at full power",
                    Known::exact(heat),
                    "s",
                    Some((*other, "the heat of the other bend, give or take 5 %; our own choice")),
                ))
                .help("Give both the same heat, or say in a comment why they differ."),
        );
    }
}
