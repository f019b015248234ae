use crate::lint::rules::window::figure;
use crate::lint::run::RecipeView;
use crate::model::SetTime;
use crate::report::{Class, Diagnostic};

/// A given set time after which the bend is still soft.
pub fn check(view: RecipeView<'_>, report: &mut Vec<Diagnostic>) {
    for (index, thermal) in view.windows.iter().enumerate() {
        let SetTime::Given(given) = view.recipe.bends[index].set else { continue };
        let Some(set) = thermal.as_ref().and_then(|thermal| thermal.window.set) else { continue };
        if given.value >= set.nominal {
            continue;
        }
        let bend = view.recipe.part.bend_label(index);
        report.push(
            Diagnostic::rule(
                "short-set",
                Class::Caution,
                given.span,
                format!("bend `{bend}` is released hot and soft"),
            )
            .here("it opens again, and can burn a hand")
            .figure(figure("time until set", set, Some((given.value, "the set given here"))))
            .help("Hold longer, or write `set computed`."),
        );
    }
}
