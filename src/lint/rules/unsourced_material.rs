use crate::lint::registry::Rule;
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::names::DeclKind;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "unsourced-material",
    class: Class::Notice,
    group: "library",
    summary: "A material's values have no source.",
    page: include_str!("unsourced_material.md"),
    check: Check::Library(check),
};

/// Entries that are no figures and need no source.
const NO_FIGURES: [&str; 3] = ["computed_times", "fumes", "accept"];

/// A material, alloy or metal of one's own whose entries do not say where their values come from.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    for decl in library.names.decls().iter().filter(|decl| !decl.catalogue) {
        if !matches!(decl.kind, DeclKind::Material | DeclKind::Alloy | DeclKind::Metal) {
            continue;
        }
        let entries = decl.entry.inner().iter();
        let headed: Vec<_> = entries.filter_map(|entry| Some((library.files.slice(entry.head()?), entry))).collect();
        let told = |word: &str| headed.iter().any(|(head, entry)| *head == word && entry.doc().is_some());
        let silent: Vec<_> = headed.iter().filter(|(head, _)| !NO_FIGURES.contains(head) && !told(head)).collect();
        let Some((_, first)) = silent.first() else { continue };
        let finding = RULE
            .finding(first.line(), format!("nothing says from where {} in `{}`", if silent.len() == 1 { "a value comes" } else { "values come" }, decl.name))
            .here("no doc comment above it")
            .help("Write the source above each value: `## Maker's data sheet.`, `## Measured: …`, or honestly `## From memory.`");
        let finding = silent
            .iter()
            .skip(1)
            .take(4)
            .fold(finding, |finding, (_, entry)| finding.also(entry.line(), "nor above this"));
        report.push((Some(decl.id), finding));
    }
}
