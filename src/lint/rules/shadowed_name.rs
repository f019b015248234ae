use crate::lint::registry::Rule;
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "shadowed-name",
    class: Class::Hint,
    group: "library",
    summary: "A name hides one of the catalogue.",
    page: include_str!("shadowed_name.md"),
    check: Check::Library(check),
};

/// A declaration with the name of one that ships with the compiler: a reader takes one for the other.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    let (shipped, own): (Vec<_>, Vec<_>) = library.names.decls().iter().partition(|decl| decl.catalogue);
    for decl in own {
        if !shipped.iter().any(|other| other.name == decl.name) {
            continue;
        }
        let finding = RULE
            .finding(decl.name_span, format!("`{}` hides the one of the catalogue", decl.name))
            .here("from here on it means this one")
            .help(format!("Give it a name of its own: `our_{}`.", decl.name));
        report.push((Some(decl.id), finding));
    }
}
