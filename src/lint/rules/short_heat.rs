use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, given_heat, groups, instead};
use crate::lint::run::RecipeView;
use crate::physics::window::Verdict;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "short-heat",
    class: Class::Notice,
    group: "heat",
    summary: "The bend is too cold: stress stays in it.",
    page: include_str!("short_heat.md"),
    check: Check::Recipe(check),
};

/// A given heat that leaves the bend too cold, at the nominal or, on a calibrated heater, in the worst case.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        let (time, place) = given_heat(view, bend)?;
        let ready = thermal.window.ready;
        // Without a window no time is long enough and short enough: `no-heat-window` tells.
        if thermal.window.verdict == Verdict::None {
            return None;
        }
        (time < if thermal.calibrated { ready.high } else { ready.nominal }).then_some((time, place))
    };
    for group in groups(view, fires) {
        let time = group.time;
        report.push(
            group
                .finding(&RULE, format!("{} {} bent too cold", group.names(), group.are()))
                .here("the bend is poor, or keeps stress that crazes later")
                .figure(figure(
                    "heat time until ready",
                    group.thermal.window.ready,
                    Some((time, "the heat given here")),
                ))
                .help(format!("Heat longer, or write {}.", instead(group.thermal, "heat"))),
        );
    }
}
