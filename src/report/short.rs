//! One line for each finding.

use crate::report::Diagnostic;
use crate::report::place::Place;
use crate::report::plain::plain;
use crate::text::Files;

/// `path:line:column: class name: headline`, one line each; columns count characters.
pub fn render(diagnostics: &[Diagnostic], files: &Files) -> String {
    diagnostics.iter().map(|diagnostic| line(diagnostic, files)).collect()
}

fn line(diagnostic: &Diagnostic, files: &Files) -> String {
    let Place { path, line, column, .. } = Place::of(diagnostic.primary(), files);
    let accepted = match (&diagnostic.accepted, diagnostic.known) {
        (Some(_), _) => " (accepted)",
        (None, true) => " (known)",
        (None, false) => "",
    };
    let (word, name) = (diagnostic.word(), diagnostic.name());
    format!("{}:{line}:{column}: {word} {name}{accepted}: {}\n", plain(path), plain(&diagnostic.headline))
}
