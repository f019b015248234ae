use std::cmp::Ordering;

use crate::report::Diagnostic;
use crate::text::Files;

/// The findings in their fixed order, whatever order they were found in: by file, start, class (errors first,
/// then the worst class), name and headline. Of findings that are the same in everything one is kept.
pub fn sorted(mut diagnostics: Vec<Diagnostic>, files: &Files) -> Vec<Diagnostic> {
    diagnostics.sort_by(|a, b| order(a, b, files));
    diagnostics.dedup_by(|a, b| order(a, b, files) == Ordering::Equal);
    diagnostics
}

fn order(a: &Diagnostic, b: &Diagnostic, files: &Files) -> Ordering {
    let (at, bt) = (a.primary(), b.primary());
    let paths = || files.get(at.file).path().cmp(files.get(bt.file).path());
    paths()
        .then_with(|| at.start.cmp(&bt.start))
        .then_with(|| a.class().cmp(&b.class()))
        .then_with(|| a.name().cmp(b.name()))
        .then_with(|| a.headline.cmp(&b.headline))
        // The rest rarely matters and has no natural order; the printed form holds every field, and unlike
        // comparison it finds a figure that is not a number equal to itself.
        .then_with(|| format!("{a:?}").cmp(&format!("{b:?}")))
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
