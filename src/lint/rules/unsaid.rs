//! What the rules about times share that several bends have from one place.

use crate::lint::registry::Rule;
use crate::lint::run::RecipeView;
use crate::model::Heat;
use crate::report::{Change, Diagnostic, Edit};
use crate::text::Span;
use crate::types::all_of;

/// Bends that lack a time, by where their settings stand.
struct Unsaid {
    /// Where their settings stand.
    place: Span,
    /// The place just behind the opening brace there; none without one.
    inside: Option<Span>,
    /// The computed time, s; none where there is none, or not one for all.
    computed: Option<f64>,
}

/// One finding for all bends of a recipe that have no `word`. `missing` tells them, each with its computed time, if any;
/// where all have one, an edit writes them.
pub fn unsaid(
    view: RecipeView<'_>,
    rule: &Rule,
    (word, sample): (&str, &str),
    missing: impl Fn(usize) -> Option<Option<f64>>,
) -> Option<Diagnostic> {
    let mut bends = Vec::new();
    let mut places: Vec<Unsaid> = Vec::new();
    for (index, settings) in view.recipe.bends.iter().enumerate() {
        let Some(computed) = missing(index) else { continue };
        bends.push(view.recipe.part.bend_label(index));
        match places.iter_mut().find(|known| known.place == settings.span) {
            Some(known) => known.computed = known.computed.filter(|time| computed == Some(*time)),
            None => places.push(Unsaid { place: settings.span, inside: settings.inside, computed }),
        }
    }
    let first = places.first()?;
    let (verb, it) = if bends.len() == 1 { ("has", "a time") } else { ("have", "times") };
    let mut finding = rule
        .finding(first.place, format!("{} of `{}` {verb} no {word} time", names(&bends), view.recipe.name))
        .here(format!("no `{word}` here, nor in `every bend`"));
    for other in places.iter().skip(1) {
        finding = finding.also(other.place, "nor here");
    }
    let change =
        |unsaid: &Unsaid| Some(Change { span: unsaid.inside?, text: format!(" {word} {:.0} s,", unsaid.computed?) });
    let changes: Option<Vec<Change>> = places.iter().map(change).collect();
    let Some(changes) = changes else {
        return Some(finding.help(format!("Write `{word} computed`, or {it} from a trial strip: `{word} {sample}`.")));
    };
    let title = match places.as_slice() {
        [Unsaid { computed: Some(time), .. }] => format!("write `{word} {time:.0} s`, as computed"),
        _ => format!("write each `{word}` as computed"),
    };
    finding.edits.push(Edit { title, changes_control: true, changes });
    Some(finding)
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
