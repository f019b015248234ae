use crate::lint::registry::Rule;
use crate::lint::rules::window::{figure, given_heat, groups};
use crate::lint::rules::{Check, fire_heat};
use crate::lint::run::RecipeView;
use crate::plan::Thermal;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "overlong-heat",
    class: Class::Warning,
    group: "heat",
    summary: "The worst case passes the ceiling: blisters and fumes.",
    page: include_str!("overlong_heat.md"),
    check: Check::Recipe(check),
};

/// A given heat that blisters the sheet: at the nominal already, or, on a calibrated heater, in the worst case. On a
/// heater that is not calibrated the worst case is so wide that it says nothing of the bench: `unproved-window` tells.
/// Sheet whose fumes are corrosive must never be overheated, so that its worst case counts on every heater.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let corrosive = view.recipe.part.sheet.material.corrosive_fumes;
    let fires = |bend: usize, thermal: &Thermal| {
        let (time, place) = given_heat(view, bend)?;
        let over = thermal.window.over;
        // Where the sheet decomposes, `fire-heat` tells.
        if fire_heat::fires(&view.recipe.part.sheet.material, thermal, time) {
            return None;
        }
        (time >= if thermal.calibrated || corrosive { over.low } else { over.nominal }).then_some((time, place))
    };
    for group in groups(view, fires) {
        let time = group.time;
        let window = &group.thermal.window;
        let verb = if time >= window.over.nominal { group.are() } else { "can be" };
        let (until, follows) = if corrosive {
            ("gives off corrosive fumes", "hydrogen chloride: it attacks lungs and metal")
        } else {
            ("blisters", "blisters and fumes; longer still, fire")
        };
        let finding = group
            .finding(&RULE, format!("{} {verb} heated until the sheet {until}", group.names()))
            .here(follows)
            .figure(figure("heat time until blisters", window.over, Some((time, "the heat given here"))))
            .help(what_to_do(group.thermal));
        report.push(if corrosive {
            finding.help("Draw the air off at the line, and have the maker's safety data sheet at the bench.")
        } else {
            finding
        });
    }
}

fn what_to_do(thermal: &Thermal) -> String {
    let (ready, over) = (thermal.window.ready.nominal, thermal.window.over.nominal);
    if !(ready.is_finite() && ready < over) {
        return "No time is right at this power: heat less strongly, from both faces, or a thinner sheet.".to_owned();
    }
    if thermal.from_memory {
        return format!("As far as is known the window opens at {ready:.0} s: start trial strips below it.");
    }
    format!("The window opens at {ready:.0} s. Write `heat computed`, or a time inside it.")
}
