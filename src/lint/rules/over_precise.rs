use crate::lint::registry::Rule;
use crate::lint::rules::walk::{Tolerated, tolerated};
use crate::lint::rules::{Check, Owned};
use crate::lint::run::LibraryView;
use crate::report::Class;

/// The rule; its page stands beside it.
pub const RULE: Rule = Rule {
    name: "over-precise",
    class: Class::Hint,
    group: "library",
    summary: "A figure has more digits than what is known supports.",
    page: include_str!("over_precise.md"),
    check: Check::Library(check),
};

/// Last digits below this share of the tolerance say nothing (our own choice).
const SHARE: f64 = 0.05;

/// A value whose last digit is far below its own tolerance.
pub fn check(library: LibraryView<'_, '_>, report: &mut Owned) {
    for decl in library.names.decls().iter().filter(|decl| !decl.catalogue) {
        for found in tolerated(decl.entry, library.files) {
            let Some(decimals) = decimals(found.number).filter(|decimals| *decimals > 0) else { continue };
            let step = |decimals: usize| (0..decimals).fold(1.0, |step, _| step / 10.0);
            if step(decimals) >= SHARE * found.tolerance {
                continue;
            }
            let kept = (0..decimals).rev().find(|kept| step(*kept) >= SHARE * found.tolerance).unwrap_or(0);
            let Ok(value) = found.number.replace('_', "").parse::<f64>() else { continue };
            let shorter = format!("{value:.kept$}");
            let finding = RULE
                .finding(found.span, format!("`{}` has more digits than what is known supports", found.number))
                .here("its last digits are far below its tolerance")
                .note("A last digit below a twentieth of the tolerance says nothing (our own choice).");
            let title = format!("write `{shorter}`");
            let finding = if controls(&found) {
                finding.control_edit(title, found.span, shorter)
            } else {
                finding.edit(title, found.span, shorter)
            };
            report.push((Some(decl.id), finding));
        }
    }
}

/// Whether the value is a time, a power, a temperature or a current.
fn controls(found: &Tolerated<'_>) -> bool {
    let words = ["s", "ms", "min", "h", "W", "kW", "mW", "degC", "degF", "K", "A", "mA"];
    found.unit.split(['/', '*', ' ']).next().is_some_and(|word| words.contains(&word))
}

/// How many digits stand behind the point of a plain number.
fn decimals(number: &str) -> Option<usize> {
    let plain = number.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b'_');
    plain.then(|| number.split_once('.').map_or(0, |(_, behind)| behind.len()))
}
