use crate::lint::registry::Rule;
use crate::lint::rules::walk::words;
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::names::{DeclKind, Source, declared};
use crate::report::Class;
use crate::syntax::{Arg, Entry};
use std::collections::BTreeSet;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "unused-name",
    class: Class::Hint,
    group: "library",
    summary: "Nothing uses a declaration, or what a `use` brings in.",
    page: include_str!("unused_name.md"),
    check: Check::Library(check),
};

/// Declarations that nothing uses in a file from which nobody takes anything, and `use` lines from which nothing is taken.
///
/// Other files are only seen where they were loaded: so a file that holds no recipe and no batch is taken for a shelf, and
/// what lies on it unused is not reported.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    for source in library.sources.iter().filter(|source| !source.catalogue) {
        let own: Vec<_> = library.names.decls().iter().filter(|decl| decl.file == source.file).collect();
        if own.is_empty() || library.broken.contains(&source.file) {
            continue;
        }
        let used = words(source.tree, library.files);
        idle_uses(library, source, &used, report);
        let made = |kind| matches!(kind, DeclKind::Recipe | DeclKind::Batch);
        let taken_from =
            library.sources.iter().any(|other| other.uses.iter().any(|target| target.file == Some(source.file)));
        if taken_from || !own.iter().any(|decl| made(decl.kind)) {
            continue;
        }
        for decl in own.iter().filter(|decl| !made(decl.kind) && !used.contains(decl.name.as_str())) {
            let finding = RULE
                .finding(decl.name_span, format!("nothing uses `{}`", decl.name))
                .here("declared here, and never named again")
                .help("Remove it, or move it to a file that others use.");
            report.push((Some(decl.id), finding));
        }
    }
}

/// `use` lines from which this file takes nothing.
fn idle_uses(library: LibraryView<'_, '_>, source: &Source<'_>, used: &BTreeSet<&str>, report: &mut Owned) {
    for target in source.uses {
        let line = &target.line;
        let target = target.file.and_then(|file| library.sources.iter().find(|other| other.file == file));
        let Some(target) = target else { continue };
        let text = library.files.get(target.file).text();
        let taken = match &line.alias {
            Some(alias) => used.contains(library.files.slice(*alias)),
            None => declared(target.tree, text).any(|(_, name)| used.contains(name)),
        };
        if !taken {
            let entry = source.tree.entries.iter().find(|entry| entry.args().first().map(Arg::span) == Some(line.span));
            let finding = RULE
                .finding(line.span, "nothing of this file is used here")
                .here("so this line only makes the reader look");
            let whole = entry.map_or(line.span, Entry::span);
            report.push((None, finding.edit("remove this line", whole, "")));
        }
    }
}
