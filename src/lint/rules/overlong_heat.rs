use crate::lint::registry::Rule;
use crate::lint::rules::window::{figure, given_heat, groups};
use crate::lint::rules::{Check, fire_heat};
use crate::lint::run::RecipeView;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "overlong-heat",
    class: Class::Warning,
    group: "heat",
    summary: "The worst case passes the ceiling: blisters and fumes.",
    page: include_str!("overlong_heat.md"),
    check: Some(Check::Recipe(check)),
};

/// A given heat that blisters the sheet: at the nominal already, or, on a calibrated heater, in the worst case. On a
/// heater that is not calibrated the worst case is so wide that it says nothing of the bench: `unproved-window` tells.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        let (time, place) = given_heat(view, bend)?;
        let over = thermal.window.over;
        // Where the sheet decomposes, `fire-heat` tells.
        if fire_heat::fires(thermal, time) {
            return None;
        }
        (time >= if thermal.calibrated { over.low } else { over.nominal }).then_some((time, place))
    };
    for group in groups(view, fires) {
        let time = group.time;
        let window = &group.thermal.window;
        report.push(
            group
                .finding(&RULE, format!("{} {} heated until the sheet blisters", group.names(), group.are()))
                .here("blisters and fumes; longer still, fire")
                .figure(figure("heat time until blisters", window.over, Some((time, "the heat given here"))))
                .help(match window.ready.nominal {
                    ready if ready.is_finite() && ready < window.over.nominal => {
                        format!("The window opens at {ready:.0} s. Write `heat computed`, or a time inside it.")
                    }
                    _ => "No time is right at this power: heat less strongly, from both faces, or a thinner sheet."
                        .to_owned(),
                }),
        );
    }
}
