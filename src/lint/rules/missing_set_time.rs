use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::report::{Class, Diagnostic};

/// A bend without a set time: released too early, the angle opens again and the hot sheet can burn.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, settings) in
        view.recipe.bends.iter().enumerate().filter(|(_, settings)| settings.set == SetTime::Missing)
    {
        let bend = view.recipe.part.bend_label(index);
        report.push(
            Diagnostic::rule(
                "missing-set-time",
                Class::Warning,
                settings.span,
                format!("bend `{bend}` of `{}` has no set time", view.recipe.name),
            )
            .here("no `set` here, nor in `every bend`")
            .help("Write `set computed`, or a time from a trial strip: `set 120 s`."),
        );
    }
}
