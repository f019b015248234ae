use std::cmp::Ordering;

use crate::report::Kept;
use crate::text::{Files, Span};

/// The findings in their fixed order, whatever order they were found in: by file, start, class (errors first,
/// then the worst class), name and headline. Of findings that are the same in everything one is kept.
pub fn sorted<F: Kept>(mut findings: Vec<F>, files: &Files) -> Vec<F> {
    findings.sort_unstable_by(|a, b| order(a, b, files));
    findings.dedup_by(|a, b| order(a, b, files) == Ordering::Equal);
    findings
}

fn order<F: Kept>(a: &F, b: &F, files: &Files) -> Ordering {
    let (at, bt) = (a.places().next(), b.places().next());
    let path = |place: Option<Span>| place.map(|place| files.get(place.file).path());
    let same_file = at.map(|place| place.file) == bt.map(|place| place.file);
    let paths = if same_file { Ordering::Equal } else { path(at).cmp(&path(bt)) };
    paths
        .then_with(|| at.map(|place| place.start).cmp(&bt.map(|place| place.start)))
        .then_with(|| a.subject().class().cmp(&b.subject().class()))
        .then_with(|| a.subject().name().cmp(b.subject().name()))
        .then_with(|| a.by_words(b))
}

#[cfg(test)]
mod tests {
    use super::sorted;
    use crate::report::{Class, Diagnostic, Figure};
    use crate::text::{Files, SourceFile, Span};

    #[test]
    fn the_order_is_fixed_and_duplicates_go() {
        let mut files = Files::new();
        let late = files.add(SourceFile::new("z.withy", "text"));
        let early = files.add(SourceFile::new("a.withy", "text"));
        let error = |file, start, headline: &str| Diagnostic::error("fault", Span::new(file, start, 4), headline);
        let rule = |class| Diagnostic::rule("a-rule", class, Span::new(early, 2, 4), "one");
        let unknown = Figure {
            name: "margin".to_owned(),
            value: f64::NAN,
            low: 0.0,
            high: 1.0,
            unit: "mm".to_owned(),
            limit: None,
            limit_source: None,
        };
        let wanted = vec![
            error(early, 0, "one").figure(unknown),
            error(early, 2, "one").note("with a note"),
            error(early, 2, "one"),
            error(early, 2, "two"),
            rule(Class::Danger),
            rule(Class::Hint),
            error(late, 0, "one"),
        ];
        let mut given: Vec<Diagnostic> = wanted.iter().rev().cloned().collect();
        given.extend(wanted.clone());
        assert_eq!(format!("{:?}", sorted(given, &files)), format!("{wanted:?}"));
    }
}
