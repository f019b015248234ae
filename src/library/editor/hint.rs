//! What is shown between the words of a text: figures that follow from it.

use std::sync::Arc;

use crate::emit::{BendNote, RecipeNote};
use crate::library::editor::view::View;
use crate::syntax::Entry;
use crate::text::{FileId, Span};

/// Kinds of hints.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HintKind {
    /// A computed time.
    Time,
    /// The length of the blank.
    Blank,
    /// The current of a hot heater.
    Current,
}

/// A hint.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hint {
    /// Behind what it stands.
    pub behind: Span,
    /// What it says.
    pub text: String,
    /// What it tells.
    pub kind: HintKind,
}

/// The hints of a file, in order.
pub fn hints(view: &View<'_>, file: FileId, notes: &[Arc<RecipeNote>]) -> Vec<Hint> {
    let mut found = Vec::new();
    for note in notes.iter().filter(|note| note.span.file == file) {
        found.push(Hint { behind: note.span, text: format!("blank {}", note.blank_length), kind: HintKind::Blank });
        let heats = note.bends.iter().filter_map(|bend| Some((bend.heat_computed?, bend, bend.heat.as_str())));
        let sets = note.bends.iter().filter_map(|bend| Some((bend.set_computed?, bend, bend.set.as_str())));
        found.extend(gathered(heats, HintKind::Time));
        found.extend(gathered(sets, HintKind::Time));
        let decl = view.names.decl(note.recipe);
        let entries = decl.entry.inner().iter().collect::<Vec<_>>();
        let arms = note
            .bends
            .iter()
            .filter_map(|bend| Some((arm_of(view, &entries, &bend.label)?, bend, bend.hot_current.as_str())));
        found.extend(gathered(arms, HintKind::Current));
    }
    found.sort_by_key(|hint| hint.behind);
    found
}

/// One hint for each place: where bends differ, each with its name.
fn gathered<'n>(all: impl Iterator<Item = (Span, &'n BendNote, &'n str)>, kind: HintKind) -> Vec<Hint> {
    let mut places: Vec<(Span, Vec<(&str, &str)>)> = Vec::new();
    for (place, bend, text) in all {
        let row = (bend.label.as_str(), text);
        match places.iter_mut().find(|known| known.0 == place) {
            Some(known) => known.1.push(row),
            None => places.push((place, vec![row])),
        }
    }
    let hint = |(behind, rows): (Span, Vec<(&str, &str)>)| {
        let first = rows.first().map_or("", |row| row.1);
        let text = if rows.iter().all(|row| row.1 == first) {
            first.to_owned()
        } else {
            rows.iter().map(|(label, text)| format!("{label} {text}")).collect::<Vec<_>>().join(", ")
        };
        Hint { behind, text, kind }
    };
    places.into_iter().map(hint).collect()
}

/// The arm that a bend is made on, where it is written: in its own settings, else in those for every bend.
fn arm_of(view: &View<'_>, entries: &[&Entry], label: &str) -> Option<Span> {
    let word = |entry: &Entry| entry.head().map_or("", |head| view.slice(head));
    let first = |entry: &Entry| entry.args().first().map_or("", |arg| view.slice(arg.span()));
    let arm = |settings: &&Entry| {
        let mut inner = settings.inner().iter();
        inner.find(|entry| word(entry) == "on").and_then(|entry| entry.args().first()).map(crate::syntax::Arg::span)
    };
    let own = entries.iter().find(|entry| word(entry) == "bend" && first(entry) == label).and_then(arm);
    own.or_else(|| entries.iter().find(|entry| word(entry) == "every").and_then(arm))
}
