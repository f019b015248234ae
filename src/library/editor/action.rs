//! What can be done about a place: mends that findings offer, accepting one, writing a computed time, other units.

use std::sync::Arc;

use crate::emit::{BendNote, RecipeNote};
use crate::library::editor::around::around;
use crate::library::editor::quantity::{converted, written};
use crate::library::editor::view::View;
use crate::library::mend::{apart, with_line_ends_of};
use crate::report::{Change, Class, Diagnostic, Edit};
use crate::text::{FileId, Span};

/// Something that can be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Action {
    /// What is changed. An edit that changes a time, a power, a temperature or a current is one among others that a
    /// person chooses by its title; it is never part of all mends at once.
    pub edit: Edit,
    /// The finding that it is about, by its number among all.
    pub finding: Option<usize>,
    /// Whether it mends that finding.
    pub mends: bool,
}

/// What can be done about the bytes of `range`.
pub fn actions(view: &View<'_>, range: Span, findings: &[Diagnostic], notes: &[Arc<RecipeNote>]) -> Vec<Action> {
    let mut found = Vec::new();
    for (number, finding) in findings.iter().enumerate() {
        let here = finding.labels.iter().any(|label| overlaps(label.span, range));
        if !finding.is_open() || !here {
            continue;
        }
        found.extend(finding.edits.iter().map(|edit| Action {
            edit: edit.clone(),
            finding: Some(number),
            mends: true,
        }));
        if let Some(edit) = acceptance(view, finding) {
            found.push(Action { edit, finding: Some(number), mends: false });
        }
    }
    let computed = notes.iter().filter(|note| note.span.file == range.file).flat_map(|note| times(view, note, range));
    found.extend(computed.map(|edit| Action { edit, finding: None, mends: false }));
    found.extend(other_units(view, range).into_iter().map(|edit| Action { edit, finding: None, mends: false }));
    for action in &mut found {
        action.edit = in_their_files(view, &action.edit);
    }
    found
}

/// Every mend of a file that leaves times, powers, temperatures and currents alone and leaves no choice.
pub fn mend_all(view: &View<'_>, file: FileId, findings: &[Diagnostic]) -> Option<Edit> {
    let single =
        findings.iter().filter(|finding| finding.is_open()).filter_map(|finding| match finding.edits.as_slice() {
            [edit] if !edit.changes_control && edit.changes.iter().all(|change| change.span.file == file) => {
                Some(edit.clone())
            }
            _ => None,
        });
    let edits = apart(&single.collect::<Vec<_>>());
    let changes: Vec<Change> = edits.into_iter().flat_map(|edit| edit.changes).collect();
    let edit = Edit { title: "make every harmless mend".to_owned(), changes_control: false, changes };
    (!edit.changes.is_empty()).then(|| in_their_files(view, &edit))
}

fn overlaps(span: Span, range: Span) -> bool {
    span.file == range.file && span.start <= range.end && range.start <= span.end
}

/// The edit with the line ends of the texts that it is made in.
fn in_their_files(view: &View<'_>, edit: &Edit) -> Edit {
    let file = edit.changes.first().map(|change| change.span.file);
    file.map_or_else(|| edit.clone(), |file| with_line_ends_of(view.text(file), edit))
}

/// `accept RULE because ""` in the innermost block around a finding that takes it. The reason is left for the author:
/// without one it is an error.
fn acceptance(view: &View<'_>, finding: &Diagnostic) -> Option<Edit> {
    let class = finding.class().filter(|class| *class != Class::Danger)?;
    let place = finding.primary();
    let around = around(view, place.file, place.start);
    let level = around.levels.iter().rev().find(|level| {
        let takes = level.inside.is_some_and(|block| block.entry("accept").is_some());
        takes && level.entry.block().is_some_and(|block| block.closed)
    })?;
    let line = format!("accept {} because \"\"", finding.name());
    let change = append(view, level.entry.block()?, &line)?;
    let title = format!("accept `{}` ({}), with a reason of your own", finding.name(), class.word());
    Some(Edit { title, changes_control: false, changes: vec![change] })
}

/// Writes an entry at the end of a block, in the way that the others are written.
fn append(view: &View<'_>, block: &crate::syntax::Block, entry: &str) -> Option<Change> {
    let text = view.text(block.span.file);
    let Some(last) = block.entries.last() else {
        let at = Span::new(block.span.file, block.span.start + 1, block.span.end.saturating_sub(1));
        return Some(Change { span: at, text: format!(" {entry} ") });
    };
    let whole = text.get(block.span.range())?;
    if !whole.contains('\n') {
        return Some(Change { span: last.span().after(), text: format!(", {entry}") });
    }
    // Behind whatever else stands on the line of the last entry, such as its comment.
    let line = text.get(..last.span().start as usize)?.rsplit('\n').next()?;
    let indent: String = line.chars().take_while(|c| c.is_whitespace()).collect();
    let rest = text.get(last.span().end as usize..block.span.end as usize)?;
    let Some((behind, _)) = rest.split_once('\n') else {
        return Some(Change { span: last.span().after(), text: format!("\n{indent}{entry}\n") });
    };
    let at = last.span().end + u32::try_from(behind.trim_end_matches('\r').len()).ok()?;
    Some(Change { span: Span::new(block.span.file, at, at), text: format!("\n{indent}{entry}") })
}

/// A time of a bend: where `computed` stands, and what was computed.
type TimeOf = fn(&BendNote) -> (Option<Span>, &str);

/// The computed heat and set times whose `computed` lies in the range, written as figures.
fn times(view: &View<'_>, note: &RecipeNote, range: Span) -> Vec<Edit> {
    let mut found = Vec::new();
    let kinds: [(&str, TimeOf); 2] =
        [("heat", |bend| (bend.heat_computed, &bend.heat)), ("set", |bend| (bend.set_computed, &bend.set))];
    for (word, of) in kinds {
        let mut places: Vec<Span> = note.bends.iter().filter_map(|bend| of(bend).0).collect();
        places.dedup();
        for place in places {
            let line = line_of(view, place);
            if !overlaps(line, range) {
                continue;
            }
            let bends: Vec<&BendNote> = note.bends.iter().filter(|bend| of(bend).0 == Some(place)).collect();
            found.extend(written_times(view, word, place, &bends, &|bend| of(bend).1.to_owned()));
        }
    }
    found
}

/// The line on which a place stands.
fn line_of(view: &View<'_>, place: Span) -> Span {
    let text = view.text(place.file);
    let before = text.get(..place.start as usize).unwrap_or("").rsplit('\n').next().unwrap_or("").len();
    let after = text.get(place.end as usize..).unwrap_or("").split('\n').next().unwrap_or("").len();
    let small = |length: usize| u32::try_from(length).unwrap_or(0);
    Span::new(place.file, place.start - small(before), place.end + small(after))
}

fn written_times(
    view: &View<'_>,
    word: &str,
    place: Span,
    bends: &[&BendNote],
    time: &dyn Fn(&BendNote) -> String,
) -> Option<Edit> {
    let (first, others) = bends.split_first()?;
    let own = time(first);
    if others.iter().all(|bend| time(bend) == own) {
        let changes = vec![Change { span: place, text: own.clone() }];
        return Some(Edit {
            title: format!("write the computed time: `{word} {own}`"),
            changes_control: true,
            changes,
        });
    }
    // Each bend has its own: in its own settings, else in new ones behind those for all.
    let every = around(view, place.file, place.start);
    let settings = every.levels.iter().rev().find(|level| level.schema.is_some_and(|schema| schema.word == "every"))?;
    let recipe = every.levels.first()?.entry.block()?;
    let mut changes = Vec::new();
    for bend in bends {
        let entry = format!("{word} {}", time(bend));
        let block = recipe.entries.iter().find(|entry| {
            let head = entry.head().map_or("", |head| view.slice(head));
            head == "bend" && entry.args().first().is_some_and(|arg| view.slice(arg.span()) == bend.label)
        });
        changes.push(match block.and_then(|entry| entry.block()) {
            Some(block) => append(view, block, &entry)?,
            None => {
                Change { span: settings.entry.span().after(), text: format!("\n  bend {} {{ {entry} }}", bend.label) }
            }
        });
    }
    Some(Edit {
        title: format!("write the computed `{word}` of each bend"),
        changes_control: true,
        changes: joined(changes),
    })
}

/// Insertions at one place become one, since their order counts.
fn joined(changes: Vec<Change>) -> Vec<Change> {
    let mut joined: Vec<Change> = Vec::new();
    for change in changes {
        match joined.iter_mut().find(|known| known.span == change.span) {
            Some(known) => known.text.push_str(&change.text),
            None => joined.push(change),
        }
    }
    joined
}

/// The quantity at the range in the other system of units.
fn other_units(view: &View<'_>, range: Span) -> Option<Edit> {
    let around = around(view, range.file, range.start);
    let written = written(view, &around, range.start).filter(|written| written.literal)?;
    let (text, same) = converted(&written)?;
    let how = if same { "the same" } else { "rounded" };
    let changes = vec![Change { span: written.span, text: text.clone() }];
    // To write a value in another unit leaves what is done as it was, if it is the same value.
    Some(Edit { title: format!("write `{text}` ({how})"), changes_control: !same, changes })
}
