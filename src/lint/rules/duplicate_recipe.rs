use crate::lint::registry::Rule;
use crate::lint::rules::walk::{entry_words, plain_text};
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::names::DeclKind;
use crate::report::Class;
use std::collections::BTreeMap;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "duplicate-recipe",
    class: Class::Hint,
    group: "library",
    summary: "Two recipes say the same.",
    page: include_str!("duplicate_recipe.md"),
    check: Check::Library(check),
};

/// Two recipes that differ in nothing but name and comments: one day only one of them is mended.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    let mut seen: BTreeMap<String, Vec<&crate::names::Decl<'_>>> = BTreeMap::new();
    for decl in library.names.decls().iter().filter(|decl| decl.kind == DeclKind::Recipe && !decl.entry.broken()) {
        let after_name = crate::text::Span { start: decl.name_span.end, ..decl.entry.span() };
        let alike = seen.entry(plain_text(library.files.slice(after_name))).or_default();
        let means = |decl: &crate::names::Decl<'_>, word: &str| format!("{:?}", library.names.find(decl.file, &[word]));
        let words = entry_words(decl.entry, library.files);
        let same = |other: &&&crate::names::Decl<'_>| words.iter().all(|word| means(decl, word) == means(other, word));
        if let Some(other) = alike.iter().find(same) {
            let finding = RULE
                .finding(decl.name_span, format!("`{}` and `{}` say the same", other.name, decl.name))
                .here("this recipe")
                .also(other.name_span, "and this one")
                .help("Keep one of them, or say in what they differ.");
            report.push((Some(decl.id), finding));
        }
        alike.push(decl);
    }
}
