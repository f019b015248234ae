use crate::names::{Decl, DeclKind};
use crate::report::{Class, Diagnostic};

/// A part without a doc comment: the next person does not know what it is for.
pub fn check(decl: &Decl<'_>, report: &mut Vec<Diagnostic>) {
    if decl.kind != DeclKind::Part || decl.entry.doc.is_some() {
        return;
    }
    report.push(
        Diagnostic::rule(
            "undocumented-part",
            Class::Hint,
            decl.name_span,
            format!("the part `{}` is not described", decl.name),
        )
        .here("no doc comment above it")
        .help("Write what it is for above it: `## Dust cover for a field microscope.`"),
    );
}
