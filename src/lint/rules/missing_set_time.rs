use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::unsaid::{names, unsaid};
use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "missing-set-time",
    class: Class::Warning,
    group: "set",
    summary: "A bend has no set time.",
    page: include_str!("missing_set_time.md"),
    check: Some(Check::Recipe(check)),
};

/// A bend without a set time: released too early, the angle opens again and the hot sheet can burn.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let missing = |index: usize| (view.recipe.bends[index].set == SetTime::Missing).then(|| computed(view, index));
    for group in unsaid(view, missing) {
        let (verb, it) = if group.bends.len() == 1 { ("has", "a time") } else { ("have", "times") };
        let finding = RULE
            .finding(group.place, format!("{} of `{}` {verb} no set time", names(&group.bends), view.recipe.name))
            .here("no `set` here, nor in `every bend`");
        report.push(match (group.computed, view.recipe.span == group.place) {
            (Some(time), false) => finding.control_edit(
                format!("write `set {time:.0} s`, as computed"),
                group.end(),
                format!("\n    set {time:.0} s\n  "),
            ),
            _ => finding.help(format!("Write `set computed`, or {it} from a trial strip: `set 120 s`.")),
        });
    }
}

/// The computed time, s, where it is one number.
fn computed(view: RecipeView<'_>, index: usize) -> Option<f64> {
    let thermal = view.windows.get(index)?.as_ref().filter(|thermal| !thermal.from_memory)?;
    thermal.window.hold
}
