use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::names::{Decl, DeclKind};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "undocumented-part",
    class: Class::Hint,
    group: "library",
    summary: "A part has no doc comment.",
    page: include_str!("undocumented_part.md"),
    check: Check::Declaration(check),
};

/// A part without a doc comment: the next person does not know what it is for.
pub fn check(decl: &Decl<'_>, report: &mut Vec<Diagnostic>) {
    if decl.kind != DeclKind::Part || decl.entry.doc().is_some() {
        return;
    }
    report.push(
        RULE.finding(decl.name_span, format!("the part `{}` is not described", decl.name))
            .here("no doc comment above it")
            .help("Write what it is for above it: `## Dust cover for a field microscope.`"),
    );
}
