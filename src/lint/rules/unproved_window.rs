use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::lint::rules::window::{figure, given_heat, groups, remedy, words};
use crate::lint::run::RecipeView;
use crate::physics::window::{Closing, Verdict};
use crate::plan::unknown_entry;
use crate::report::{Class, Diagnostic};
use crate::text::Span;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "unproved-window",
    class: Class::Notice,
    group: "heat",
    summary: "The window is open at the nominal only.",
    page: include_str!("unproved_window.md"),
    check: Check::Recipe(check),
};

/// How many of the unknowns that close a window are named.
const NAMED: usize = 3;

/// The window is open at the nominal, but not over everything that is unknown: the time is a starting point. Where
/// nothing is known of a material's heat, a given time is not even that.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    let fires = |bend: usize, thermal: &crate::plan::Thermal| {
        (thermal.window.verdict == Verdict::Nominal).then(|| (0.0, view.recipe.bends[bend].span))
    };
    for group in groups(view, fires) {
        let window = &group.thermal.window;
        let finding = group
            .finding(&RULE, format!("the window of {} is open at the nominal only", group.names()))
            .here("the time is a starting point for trial strips")
            .figure(figure("heat time until ready", window.ready, None))
            .figure(figure("heat time until blisters", window.over, None));
        let finding = if group.thermal.from_memory {
            let material = &view.recipe.part.sheet.material.name;
            finding.note(format!("The thermal data of `{material}` are only from memory: they prove nothing."))
        } else {
            finding
        };
        report.push(match window.closings.first() {
            Some(closing) => finding.note(closed_by(&window.closings)).help(remedy(closing.unknown)),
            None => finding,
        });
    }
    report.extend(unchecked(view));
}

/// The unknowns that take most from the window, in words.
fn closed_by(closings: &[Closing]) -> String {
    let each = |closing: &Closing| {
        let later = if closing.ready_later.is_finite() {
            format!("ready up to {:.0} s later", closing.ready_later)
        } else {
            "perhaps never ready".to_owned()
        };
        format!("{} ({later}, blisters up to {:.0} s earlier)", words(closing.unknown), closing.over_earlier)
    };
    let named: Vec<String> = closings.iter().take(NAMED).map(each).collect();
    format!("What closes it most: {}.", named.join("; "))
}

/// One finding for all given times that nothing is known against.
fn unchecked(view: RecipeView<'_>) -> Option<Diagnostic> {
    let material = &view.recipe.part.sheet.material;
    let entry = unknown_entry(material)?;
    let places: Vec<Span> = (0..view.recipe.bends.len()).filter_map(|bend| Some(given_heat(view, bend)?.1)).collect();
    let finding = RULE
        .finding(
            *places.first()?,
            format!("no heat time can be checked for `{}`: its `{entry}` is not known", material.name),
        )
        .here("too short or too long: nothing tells but trial strips")
        .also(view.recipe.part.sheet.thickness.span, "this sheet is made of it")
        .help(format!("Start trial strips short, watch the face, or add `{entry}` to a material of your own."));
    Some(if material.corrosive_fumes {
        finding.note("Overheated, it gives off hydrogen chloride, which attacks lungs and metal: draw the air off.")
    } else {
        finding
    })
}
