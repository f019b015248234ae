use crate::lint::rules::window::{figure, given_heats};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// A given heat that blisters the sheet: at the nominal already, or, on a calibrated heater, in the worst case. On a
/// heater that is not calibrated the worst case is so wide that it says nothing of the bench: `unproved-window` tells.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for given in given_heats(view) {
        let over = given.thermal.window.over;
        let limit = if given.thermal.calibrated { over.low } else { over.nominal };
        if given.time < limit {
            continue;
        }
        report.push(
            Diagnostic::rule(
                "overlong-heat",
                Class::Warning,
                given.place,
                format!("bend `{}` is heated until the sheet blisters", given.bend),
            )
            .here("blisters and fumes; longer still, fire")
            .figure(figure("heat time until blisters", over, Some((given.time, "the heat given here"))))
            .help(match given.thermal.window.ready.nominal {
                ready if ready.is_finite() && ready < over.nominal => {
                    format!("The window opens at {ready:.0} s. Write `heat computed`, or a time inside it.")
                }
                _ => "No time is right at this power: heat less strongly, from both faces, or a thinner sheet."
                    .to_owned(),
            }),
        );
    }
}
