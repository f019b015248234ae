use crate::lint::registry::Rule;
use crate::lint::rules::walk::units;
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::names::DeclKind;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "mixed-unit-systems",
    class: Class::Hint,
    group: "library",
    summary: "One declaration mixes inches and millimetres.",
    page: include_str!("mixed_unit_systems.md"),
    check: Check::Library(check),
};

const METRIC: [&str; 4] = ["mm", "cm", "m", "um"];
const INCH: [&str; 3] = ["in", "ft", "thou"];

/// A declaration with lengths in both systems: sooner or later one is taken for the other.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    for decl in library.names.decls().iter().filter(|decl| !decl.catalogue && decl.kind != DeclKind::Let) {
        let lengths = units(decl.entry, library.files);
        let of = |words: &[&str]| {
            lengths.iter().filter(|(word, _)| words.contains(word)).map(|(_, span)| *span).collect::<Vec<_>>()
        };
        let (metric, inch) = (of(&METRIC), of(&INCH));
        let (fewer, more, word) =
            if inch.len() <= metric.len() { (inch, metric, "inches") } else { (metric, inch, "millimetres") };
        let (Some(place), Some(other)) = (fewer.first(), more.first()) else { continue };
        let finding = RULE
            .finding(*place, format!("`{}` mixes inches and millimetres", decl.name))
            .here(format!("{word} here"))
            .also(*other, "the other system here")
            .help("Write all lengths of one declaration in one system: 1 in is 25.4 mm exactly.");
        report.push((Some(decl.id), finding));
    }
}
