use crate::report::{Counts, Diagnostic};

/// The closing line of a run that checked `files` files, without a line break.
pub fn summary(diagnostics: &[Diagnostic], files: usize) -> String {
    let counts = Counts::of(diagnostics);
    let kinds = [
        (counts.error, "error"),
        (counts.danger, "danger"),
        (counts.warning, "warning"),
        (counts.caution, "caution"),
        (counts.notice, "notice"),
        (counts.hint, "hint"),
    ];
    let found: Vec<String> = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, word)| number(*n, word)).collect();
    let found = if found.is_empty() { "no findings".to_owned() } else { found.join(", ") };
    let accepted = if counts.accepted > 0 { format!("; {} accepted", counts.accepted) } else { String::new() };
    let known = if counts.known > 0 { format!("; {} known to the baseline", counts.known) } else { String::new() };
    format!("{found} in {}{accepted}{known}", number(files, "file"))
}

fn number(n: usize, word: &str) -> String {
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

#[cfg(test)]
mod tests {
    use super::summary;
    use crate::report::{Acceptance, Class, Diagnostic};
    use crate::text::{FileId, Span};

    #[test]
    fn the_closing_line_counts_with_right_plurals() {
        let span = Span::new(FileId(0), 0, 0);
        let error = Diagnostic::error("unknown-name", span, "");
        let rule = |class| Diagnostic::rule("some-rule", class, span, "");
        let mut accepted = rule(Class::Warning);
        accepted.accepted = Some(Acceptance { because: "planned".to_owned(), until: None });

        assert_eq!(summary(&[], 4), "no findings in 4 files");
        assert_eq!(summary(&[], 1), "no findings in 1 file");
        assert_eq!(summary(std::slice::from_ref(&accepted), 0), "no findings in 0 files; 1 accepted");
        let mut known = rule(Class::Notice);
        known.known = true;
        assert_eq!(
            summary(&[accepted.clone(), known], 2),
            "no findings in 2 files; 1 accepted; 1 known to the baseline"
        );
        let all = [
            rule(Class::Hint),
            error.clone(),
            rule(Class::Notice),
            accepted,
            error,
            rule(Class::Notice),
            rule(Class::Danger),
            rule(Class::Caution),
            rule(Class::Warning),
        ];
        assert_eq!(
            summary(&all, 4),
            "2 errors, 1 danger, 1 warning, 1 caution, 2 notices, 1 hint in 4 files; 1 accepted"
        );
    }
}
