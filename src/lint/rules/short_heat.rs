use crate::lint::rules::window::{figure, given_heats};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// A given heat that leaves the bend too cold, at the nominal or, on a calibrated heater, in the worst case.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for given in given_heats(view) {
        let ready = given.thermal.window.ready;
        let limit = if given.thermal.calibrated { ready.high } else { ready.nominal };
        if given.time >= limit {
            continue;
        }
        report.push(
            Diagnostic::rule(
                "short-heat",
                Class::Notice,
                given.place,
                format!("bend `{}` is bent too cold", given.bend),
            )
            .here("the bend is poor, or keeps stress that crazes later")
            .figure(figure("heat time until ready", ready, Some((given.time, "the heat given here"))))
            .help("Heat longer, or write `heat computed`."),
        );
    }
}
