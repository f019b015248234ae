use crate::format::format;
use crate::report::Diagnostic;
use crate::syntax::parse;
use crate::text::{FileId, Files, SourceFile};

/// What formatting made of a text.
#[derive(Debug)]
pub struct Formatted {
    /// The text in the one style; none where something would be lost.
    pub text: Option<String>,
    /// Faults of syntax, around which the text was formatted, or why it was not.
    pub findings: Vec<Diagnostic>,
    /// The text by its name, for showing findings.
    pub files: Files,
}

/// A text in the one style.
pub fn formatted(name: &str, text: &str) -> Formatted {
    let mut files = Files::new();
    let id: FileId = files.add(SourceFile::new(name, text));
    let parsed = parse(id, text);
    let mut findings = parsed.faults.clone();
    let text = match format(id, text, &parsed) {
        Ok(text) => Some(text),
        Err(refusal) => {
            findings.push(refusal.finding());
            None
        }
    };
    Formatted { text, findings, files }
}
