//! What the rules about times share that several bends have from one place.

use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::text::Span;
use crate::types::all_of;

/// Bends that lack a time in one place: one finding serves them all.
pub struct Unsaid {
    /// Their names, in the order of the profile.
    pub bends: Vec<String>,
    /// Where their settings stand.
    pub place: Span,
    /// The computed time, s; none where there is none, or not one for all.
    pub computed: Option<f64>,
}

impl Unsaid {
    /// The place just before the closing brace of their settings.
    pub fn end(&self) -> Span {
        Span { start: self.place.end.saturating_sub(1), end: self.place.end.saturating_sub(1), ..self.place }
    }
}

/// The bends for which `missing` gives something, by place; what it gives is the computed time, if any.
pub fn unsaid(view: RecipeView<'_>, missing: impl Fn(usize) -> Option<Option<f64>>) -> Vec<Unsaid> {
    let mut groups: Vec<Unsaid> = Vec::new();
    for (index, settings) in view.recipe.bends.iter().enumerate() {
        let Some(computed) = missing(index) else { continue };
        let bend = view.recipe.part.bend_label(index);
        match groups.iter_mut().find(|group| group.place == settings.span) {
            Some(group) => {
                group.bends.push(bend);
                group.computed = group.computed.filter(|time| computed == Some(*time));
            }
            None => groups.push(Unsaid { bends: vec![bend], place: settings.span, computed }),
        }
    }
    groups
}

/// The names of all bends whose heat stands where that of this one stands.
pub fn heated_at(view: RecipeView<'_>, bend: usize) -> Vec<String> {
    let place = |heat: &Heat| match heat {
        Heat::Stages(stages) => Some(stages.span),
        Heat::Computed(span) => Some(*span),
        Heat::Missing => None,
    };
    let own = view.recipe.bends.get(bend).and_then(|settings| place(&settings.heat));
    let bends = view.recipe.bends.iter().enumerate().filter(|(_, settings)| place(&settings.heat) == own);
    bends.map(|(index, _)| view.recipe.part.bend_label(index)).collect()
}

/// ``bend `lip` ``, ``bends `front` and `back` ``.
pub fn names(bends: &[String]) -> String {
    let names: Vec<String> = bends.iter().map(|bend| format!("`{bend}`")).collect();
    format!("{} {}", if names.len() == 1 { "bend" } else { "bends" }, all_of(&names))
}
