use crate::lint::rules::window::figure;
use crate::lint::run::RecipeView;
use crate::physics::window::{Change, Opening, Verdict};
use crate::report::{Class, Diagnostic};
use crate::units::{Kind, preferred_unit, show_rounded};

/// No heat time is both long enough for the bend and short enough for the sheet, even at the nominal.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, thermal) in view.windows.iter().enumerate() {
        let Some(thermal) = thermal.as_ref().filter(|thermal| thermal.window.verdict == Verdict::None) else {
            continue;
        };
        let settings = &view.recipe.bends[index];
        let bend = view.recipe.part.bend_label(index);
        let finding = Diagnostic::rule(
            "no-heat-window",
            Class::Notice,
            settings.span,
            format!("no heat time is right for bend `{bend}`"),
        )
        .here("the face blisters before the bend is soft all through")
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
