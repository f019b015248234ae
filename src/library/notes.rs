use crate::emit::{RecipeNote, recipe_note};
use crate::library::check::{Made, Plan};
use crate::library::compile::units;
use crate::library::load::Loaded;
use crate::text::FileId;

/// The figures of a recipe, for showing beside its text; none for a batch.
pub fn note(loaded: &Loaded, made: &Made, plan: &Plan) -> Option<RecipeNote> {
    match plan {
        Plan::Recipe(plan) => Some(recipe_note(plan, made.span, units(&loaded.files, plan))),
        Plan::Batch(_) => None,
    }
}

/// The files in which a plan is spoken of: that of the recipe or batch, and that of a recipe's part.
pub fn files_of(made: &Made, plan: &Plan) -> [FileId; 2] {
    match plan {
        Plan::Recipe(plan) => [made.span.file, plan.recipe.part.span.file],
        Plan::Batch(_) => [made.span.file; 2],
    }
}
