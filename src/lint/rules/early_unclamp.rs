use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, groups};
use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::plan::Thermal;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "early-unclamp",
    class: Class::Notice,
    group: "set",
    summary: "The sheet is unclamped before the bend has surely set.",
    page: include_str!("early_unclamp.md"),
    check: Check::Recipe(check),
};

/// A given set time that is long enough at the nominal, but not in the worst case, on a heater that trials have
/// calibrated. At the nominal already, `short-set` tells; without trials the worst case says nothing of the bench.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let given = |bend: usize| match view.recipe.bends[bend].set {
        SetTime::Given(given) => Some(given),
        SetTime::Computed(_) | SetTime::Missing => None,
    };
    let fires = |bend: usize, thermal: &Thermal| {
        let (given, set) = (given(bend)?, thermal.window.set?);
        let early = thermal.calibrated && set.nominal <= given.value && given.value < set.high;
        early.then_some((given.value, given.span))
    };
    for group in groups(view, fires) {
        let Some(set) = group.thermal.window.set else { continue };
        let finding = group
            .finding(&RULE, format!("{} can be unclamped before the sheet has set", group.names()))
            .here("on a warm day, with thick sheet, the angle opens")
            .figure(figure("time until set", set, Some((group.time, "the set given here"))));
        report.push(if set.high.is_finite() {
            let time = format!("{:.0} s", set.high.ceil());
            group
                .places
                .iter()
                .fold(finding, |finding, place| finding.control_edit(format!("write `{time}`"), *place, time.clone()))
        } else {
            finding.help("In the worst case it never sets: cool the room, or take an arm that takes more heat away.")
        });
    }
}
