use crate::emit::{RecipeNote, recipe_note};
use crate::library::check::{Checked, Plan};
use crate::library::compile::units;
use crate::library::load::Loaded;

/// The figures of every recipe that has a plan, for showing beside its text.
pub fn notes(loaded: &Loaded, checked: &Checked) -> Vec<RecipeNote> {
    let note = |made: &crate::library::Made| match &made.plan {
        Some(Plan::Recipe(plan)) => Some(recipe_note(plan, made.span, units(&loaded.files, plan))),
        Some(Plan::Batch(_)) | None => None,
    };
    checked.made.iter().filter_map(note).collect()
}
