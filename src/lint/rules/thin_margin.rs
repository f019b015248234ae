use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::shown::figure;
use crate::lint::rules::window::{given_heat, groups, total};
use crate::lint::run::RecipeView;
use crate::physics::window::{Verdict, Window};
use crate::plan::Thermal;
use crate::report::{Class, Diagnostic};
use crate::units::Known;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "thin-margin",
    class: Class::Notice,
    group: "heat",
    summary: "The heat time is close to an end of its window.",
    page: include_str!("thin_margin.md"),
    check: Check::Recipe(check),
};

/// A window narrower than this is no comfort, s: the times themselves are computed to half a second at either end
/// (`tests/physics_thermal.rs`), and no hand on a stop watch is better.
const LEAST: f64 = 1.0;

/// A window that is open for less than a second, over everything that is known where it is proved, else at the nominal; or
/// a given time within half of that from its end. A time outside has rules of its own.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &Thermal| {
        let (from, to) = ends(&thermal.window)?;
        let narrow = to - from < LEAST;
        let (time, place, thin) = match given_heat(view, bend) {
            Some((time, place)) => (time, place, narrow || (time - from).min(to - time) < 0.5 * LEAST),
            None => (total(thermal.heat.as_ref()?), view.recipe.bends[bend].span, narrow),
        };
        (thin && from <= time && time <= to).then_some((time, place))
    };
    for group in groups(view, fires) {
        let window = &group.thermal.window;
        let Some((from, to)) = ends(window) else { continue };
        let over = match window.verdict {
            Verdict::Proved => "over everything that is known",
            _ => "at the nominal",
        };
        let nominal = window.over.nominal - window.ready.nominal;
        let width = Known::between(nominal, to - from, window.over.high - window.ready.low);
        report.push(
            group
                .finding(&RULE, format!("the heat of {} is right by a second or less", group.names()))
                .here(format!("the window is open from {from:.1} s to {to:.1} s {over}"))
                .figure(figure(
                    "width of the window",
                    width,
                    "s",
                    Some((LEAST, "what the times themselves are good for")),
                ))
                .figure(figure("heat time", Known::exact(group.time), "s", None))
                .help(
                    "Widen the window: heat less strongly for longer, or from both faces, or narrow what is not known: \
                     `withy figures` tells what closes it most.",
                ),
        );
    }
}

/// The ends of the window as far as it is open.
fn ends(window: &Window) -> Option<(f64, f64)> {
    match window.verdict {
        Verdict::Proved => Some((window.ready.high, window.over.low)),
        Verdict::Nominal => Some((window.ready.nominal, window.over.nominal)),
        Verdict::None => None,
    }
}
