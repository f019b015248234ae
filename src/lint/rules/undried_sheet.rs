use crate::lint::registry::Rule;
use crate::lint::rules::Check;
use crate::model::{Batch, Storage};
use crate::report::{Class, Diagnostic};

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "undried-sheet",
    class: Class::Notice,
    group: "heat",
    summary: "Damp sheet is heated.",
    page: include_str!("undried_sheet.md"),
    check: Check::Batch(check),
};

/// A run from a lot that was stored damp: it blisters lower, and by how much nobody has published.
pub fn check(batch: &Batch, report: &mut Vec<Diagnostic>) {
    for run in &batch.runs {
        let Some(lot) = run.lot.as_ref().filter(|lot| lot.stored == Some(Storage::Damp)) else { continue };
        let finding = RULE
            .finding(run.span, format!("`{}` was stored damp, and is heated as it is", lot.name))
            .here("damp sheet blisters lower")
            .note("Times are computed with a ceiling that is 20 K lower: our guess, no published figure.")
            .help("Dry it (24 h at 80 degC for most acrylic, by one advice; the sheet maker knows better) and write `stored dry`.");
        report.push(match lot.measured.first() {
            Some(measured) => finding.also(measured.span, "this lot"),
            None => finding,
        });
    }
}
