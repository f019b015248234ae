//! Another name for something, everywhere.

use crate::library::editor::marks::{Mark, Meaning};
use crate::library::editor::view::View;
use crate::names::{Found, is_good_name};
use crate::syntax::{Kind, TokenTable};
use crate::text::{FileId, Span};

/// The name at a place, if it can be another.
pub fn renamable(view: &View<'_>, file: FileId, at: u32) -> Option<Mark> {
    let mark = view.mark_at(file, at)?;
    let own = match &mark.meaning {
        Meaning::Decl(id) => !view.names.decl(*id).catalogue,
        Meaning::Parameter(..) | Meaning::Bend(..) | Meaning::Arm(..) | Meaning::Prefix(..) => true,
        Meaning::Rule(_) | Meaning::Word | Meaning::Function(_) => false,
    };
    own.then_some(mark)
}

/// Where the new name has to be written; a sentence that says why it cannot be, otherwise.
pub fn rename(view: &View<'_>, file: FileId, at: u32, name: &str) -> Result<Vec<Span>, String> {
    let Some(mark) = renamable(view, file, at) else {
        return Err("no name that can be changed stands here".to_owned());
    };
    let table = TokenTable::new(file, name);
    if !is_good_name(name) || table.kinds() != [Kind::Word] {
        return Err(format!(
            "`{name}` cannot be a name: names are lower-case letters, digits and `_`, and no word of the language"
        ));
    }
    let uses = view.uses_of(&mark.meaning);
    let taken = match &mark.meaning {
        Meaning::Decl(id) => {
            let own = view.names.decl(*id).file;
            let files = uses.iter().map(|mark| mark.span.file).chain([own]);
            files.into_iter().any(|file| !matches!(view.names.find(file, &[name]), Found::Missing))
        }
        Meaning::Bend(owner, _) | Meaning::Arm(owner, _) => {
            let names = view.local_names(view.names.decl(*owner));
            names.into_iter().any(|span| view.slice(span) == name)
        }
        Meaning::Parameter(owner, _) => {
            let part = view.names.decl(*owner);
            let parameters = crate::library::editor::marks::parameters(part);
            parameters.into_iter().any(|parameter| view.slice(parameter.0) == name)
                || !matches!(view.names.find(part.file, &[name]), Found::Missing)
        }
        Meaning::Prefix(file, _) => {
            let targets = view.loaded.uses.get(file).into_iter().flatten();
            targets.filter_map(|target| target.line.alias).any(|alias| view.slice(alias) == name)
        }
        Meaning::Rule(_) | Meaning::Word | Meaning::Function(_) => true,
    };
    if taken {
        return Err(format!("`{name}` already means something where this name is used"));
    }
    Ok(uses.into_iter().map(|mark| mark.span).collect())
}
