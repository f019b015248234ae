//! What to show about the thing under the pointer, in Markdown.

use std::fmt::Write;
use std::sync::Arc;

use crate::emit::{BendNote, RecipeNote, page_of, plain_doc};
use crate::library::editor::around::{Around, around};
use crate::library::editor::marks::{Mark, Meaning, parameters};
use crate::library::editor::quantity::both_systems;
use crate::library::editor::view::{View, touches};
use crate::names::{Decl, DeclId, DeclKind};
use crate::text::{FileId, Span};
use crate::types::schema::{EntrySchema, Many, Presence, declaration};
use crate::types::{FUNCTIONS, usage};

/// What to show, and the place it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// Markdown.
    pub text: String,
    /// The bytes it is about.
    pub span: Span,
}

/// What to show about the byte `at` of a file. `notes` are the figures of what was planned, where they are known.
pub fn hover(view: &View<'_>, file: FileId, at: u32, notes: &[Arc<RecipeNote>]) -> Option<Hover> {
    let around = around(view, file, at);
    if let Some(mark) = view.mark_at(file, at)
        && let Some(text) = named(view, &mark, notes)
    {
        return Some(Hover { text, span: mark.span });
    }
    head(view, &around, at, notes).or_else(|| both_systems(view, &around, at)).or_else(|| used(view, file, at))
}

fn named(view: &View<'_>, mark: &Mark, notes: &[Arc<RecipeNote>]) -> Option<String> {
    match &mark.meaning {
        Meaning::Decl(id) => Some(declared(view, view.names.decl(*id), notes)),
        Meaning::Parameter(part, name) => {
            let part = view.names.decl(*part);
            let (_, kind) = parameters(part).into_iter().find(|found| view.slice(found.0) == name)?;
            let kind = kind.map_or("", |kind| view.slice(kind));
            Some(format!("parameter `{name}: {kind}` of part `{}`", part.name))
        }
        Meaning::Bend(part, name) => {
            let part = view.names.decl(*part);
            Some(format!("bend `{name}` of part `{}`\n\n{}", part.name, bends(view, part.id, name, notes)))
        }
        Meaning::Arm(bench, name) => Some(format!("arm `{name}` of bench `{}`", view.names.decl(*bench).name)),
        Meaning::Rule(name) => page_of(name).ok(),
        Meaning::Function(name) => {
            let (_, usage, meaning) = FUNCTIONS.iter().find(|function| function.0 == name)?;
            Some(format!("`{usage}`: {meaning}"))
        }
        Meaning::Prefix(file, name) => {
            let target = view
                .loaded
                .uses
                .get(file)?
                .iter()
                .find(|target| target.line.alias.is_some_and(|alias| view.slice(alias) == name))?;
            Some(format!("`{name}` stands for `{}`", target.line.path))
        }
        Meaning::Word => None,
    }
}

/// A declaration: what it is, what its doc comment says, and what follows from it.
fn declared(view: &View<'_>, decl: &Decl<'_>, notes: &[Arc<RecipeNote>]) -> String {
    let mut text = format!("**{} `{}`**", decl.kind.word(), decl.name);
    let place = view.loaded.files.get(decl.file).path();
    let _ = if decl.catalogue { write!(text, ", of the catalogue") } else { write!(text, ", in `{place}`") };
    if let Some(doc) = decl.entry.doc() {
        let _ = write!(text, "\n\n{}", plain_doc(view.slice(doc)));
    }
    if decl.kind == DeclKind::Let || decl.catalogue {
        let _ = write!(text, "\n\n```withy\n{}\n```", view.slice(decl.entry.span()));
    }
    if let Some(note) = notes.iter().find(|note| note.recipe == decl.id) {
        let _ = write!(text, "\n\n{}", recipe(note));
    }
    text
}

/// The figures of a recipe.
fn recipe(note: &RecipeNote) -> String {
    let mut text = format!("| | |\n|---|---|\n| blank | {} |\n| cycle | {} |\n", note.blank, note.cycle);
    for current in &note.currents {
        let _ = writeln!(text, "| peak current | {current} |");
    }
    let bends: Vec<&BendNote> = note.bends.iter().collect();
    let _ = write!(text, "\n{}", table(&bends));
    text
}

/// The figures of bends, in the words of the step table.
fn table(bends: &[&BendNote]) -> String {
    if bends.is_empty() {
        return String::new();
    }
    let mut text = String::from(
        "| bend | heat | window | proved | margin | verdict | set | line power | current | wire |\n\
         |---|---|---|---|---|---|---|---|---|---|\n",
    );
    for bend in bends {
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            bend.label,
            bend.heat,
            bend.window,
            bend.proved,
            bend.margin,
            bend.verdict,
            bend.set,
            bend.line_power,
            bend.current,
            bend.wire
        );
    }
    text.push_str("\nEstimates until trial strips on the actual bench confirm them.\n");
    text
}

/// A bend of a part in each recipe that makes it.
fn bends(view: &View<'_>, part: DeclId, name: &str, notes: &[Arc<RecipeNote>]) -> String {
    let makes = |note: &&Arc<RecipeNote>| {
        let own = view.part_of(view.names.decl(note.recipe));
        own.is_some_and(|own| view.originals(own).contains(&part))
    };
    let mut text = String::new();
    for note in notes.iter().filter(makes) {
        let own: Vec<&BendNote> = note.bends.iter().filter(|bend| bend.label == name).collect();
        if !own.is_empty() {
            let _ = write!(text, "In recipe `{}`:\n\n{}\n", note.name, table(&own));
        }
    }
    text
}

/// The word at the head of a declaration or entry.
fn head(view: &View<'_>, around: &Around<'_, '_>, at: u32, notes: &[Arc<RecipeNote>]) -> Option<Hover> {
    let level = around.innermost()?;
    let span = level.entry.head().filter(|head| touches(*head, at))?;
    let Some(schema) = level.schema else {
        let kind = around.kind.filter(|_| around.levels.len() == 1)?;
        let meaning = declaration(kind).map_or("A named expression.", |block| block.meaning);
        return Some(Hover { text: format!("**{}**: {meaning}", kind.word()), span });
    };
    let mut text = entry(schema);
    if let Some(decl) = around.decl.filter(|decl| decl.kind == DeclKind::Recipe)
        && ["bend", "every", "heat", "set"].contains(&schema.word)
    {
        // The settings that stand here: a bend's own, or those for every bend that has none of its own.
        let here = around
            .levels
            .iter()
            .rev()
            .find(|level| level.schema.is_some_and(|schema| matches!(schema.word, "bend" | "every")));
        let note = notes.iter().find(|note| note.recipe == decl.id);
        let own = |bend: &&BendNote| {
            here.is_some_and(|here| {
                let word = here.entry.args().first().map_or("", |arg| view.slice(arg.span()));
                word == bend.label || here.schema.is_some_and(|schema| schema.word == "every")
            })
        };
        let bends: Vec<&BendNote> = note.into_iter().flat_map(|note| &note.bends).filter(own).collect();
        let _ = write!(text, "\n\n{}", table(&bends));
    }
    Some(Hover { text, span })
}

/// What the schema says of an entry.
pub(super) fn entry(schema: &EntrySchema) -> String {
    let mut text = format!("```withy\n{}\n```\n{}", usage(schema), schema.meaning);
    match schema.presence {
        Presence::Required => text.push_str("\n\nMust be there"),
        Presence::Optional(otherwise) => {
            let _ = write!(text, "\n\nCan be left out: {otherwise}");
        }
    }
    if !schema.instead_of.is_empty() {
        let _ = write!(text, "; or `{}` instead", schema.instead_of.join("`, `"));
    }
    text.push_str(match schema.many {
        Many::Once => ".",
        Many::Keyed => "; once for each first word.",
        Many::Any => "; as often as wanted.",
    });
    text
}

/// The file that a `use` brings in.
fn used(view: &View<'_>, file: FileId, at: u32) -> Option<Hover> {
    let (place, used) = view.used_at(file, at)?;
    let names: Vec<String> = view.decls(used).map(|decl| format!("{} `{}`", decl.kind.word(), decl.name)).collect();
    let text = format!("`{}` declares {}.", view.loaded.files.get(used).path(), names.join(", "));
    Some(Hover { text, span: place })
}
