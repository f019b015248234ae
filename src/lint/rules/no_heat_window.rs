use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, groups};
use crate::lint::run::RecipeView;
use crate::physics::window::{Change, Opening, Verdict};
use crate::report::{Class, Diagnostic};
use crate::units::{Kind, preferred_unit, show_rounded};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "no-heat-window",
    class: Class::Notice,
    group: "heat",
    summary: "No heat time is both long and short enough.",
    page: include_str!("no_heat_window.md"),
    check: Check::Recipe(check),
};

/// No heat time is both long enough for the bend and short enough for the sheet, even at the nominal.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        (thermal.window.verdict == Verdict::None).then(|| (0.0, view.recipe.bends[bend].span))
    };
    for group in groups(view, fires) {
        let thermal = group.thermal;
        let finding = group
            .finding(&RULE, format!("no heat time is right for {}", group.names()))
            .here(if thermal.window.ready.nominal.is_finite() {
                "the face blisters before the bend is soft all through"
            } else if thermal.window.over.nominal.is_finite() {
                "the face blisters, and the bend never gets soft all through"
            } else {
                "the bend never gets warm enough at this power"
            })
            .figure(figure("heat time until ready", thermal.window.ready, None))
            .figure(figure("heat time until blisters", thermal.window.over, None));
        let finding = thermal.openings.iter().fold(finding, |finding, opening| finding.help(opening_text(opening)));
        report.push(if thermal.openings.is_empty() {
            finding.help("Heat less strongly for longer, from both faces, with a wider channel, or a thinner sheet.")
        } else {
            finding
        });
    }
}

fn opening_text(opening: &Opening) -> String {
    let length = |metres: f64| {
        preferred_unit(Kind::Length, false).map_or_else(String::new, |unit| show_rounded(metres, &unit, 3))
    };
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let change = match &opening.change {
        Change::Level(share) => format!("heat at {}", percent(*share)),
        Change::Staged(_) => "heat in stages: `heat computed` finds them".to_owned(),
        Change::Channel(width) => format!("a channel of {}", length(*width)),
        Change::BothFaces(share) => format!("a second line on the other face, both at {}", percent(*share)),
        Change::Thickness(thickness) => format!("sheet of {}", length(*thickness)),
    };
    let over = if opening.over.is_finite() { format!("{:.0} s", opening.over) } else { "no end in sight".to_owned() };
    format!("It would open with {change}: from {:.0} s to {over}.", opening.ready)
}
