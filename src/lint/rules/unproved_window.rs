use crate::lint::rules::window::{figure, remedy, words};
use crate::lint::run::RecipeView;
use crate::physics::window::Verdict;
use crate::report::{Class, Diagnostic};

/// The window is open at the nominal, but not over everything that is unknown: the time is a starting point.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, thermal) in view.windows.iter().enumerate() {
        let Some(thermal) = thermal.as_ref().filter(|thermal| thermal.window.verdict == Verdict::Nominal) else {
            continue;
        };
        let settings = &view.recipe.bends[index];
        let bend = view.recipe.part.bend_label(index);
        let window = &thermal.window;
        let finding = Diagnostic::rule(
            "unproved-window",
            Class::Notice,
            settings.span,
            format!("the window of bend `{bend}` is open at the nominal only"),
        )
        .here("the time is a starting point for trial strips")
        .figure(figure("heat time until ready", window.ready, None))
        .figure(figure("heat time until blisters", window.over, None));
        report.push(match window.closings.first() {
            Some(closing) => {
                finding.note(format!("What closes it most: {}.", words(closing.unknown))).help(remedy(closing.unknown))
            }
            None => finding,
        });
    }
}
