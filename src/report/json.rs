//! Findings for programs; `grammar/findings.schema.json` is the published description.
//!
//! Within a version of the schema fields are only ever added. Helps have a field of their own, beside notes.

use serde::Serialize;

use crate::report::place::Place as Position;
use crate::report::{Counts, Diagnostic, Subject};
use crate::text::Files;

/// The name of the schema and its version.
pub const SCHEMA: &str = "withy:findings:1";

/// The findings as one JSON document, indented by two spaces.
pub fn render(diagnostics: &[Diagnostic], files: &Files) -> String {
    let findings = diagnostics.iter().map(|diagnostic| finding(diagnostic, files)).collect();
    let document = Document { schema: SCHEMA, findings, counts: Counts::of(diagnostics) };
    // Writing text and numbers to memory cannot fail.
    serde_json::to_string_pretty(&document).map(|text| text + "\n").unwrap_or_default()
}

/// A whole report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Document<'a> {
    /// Always [`SCHEMA`].
    pub schema: &'static str,
    /// The findings in the order they are reported in.
    pub findings: Vec<Finding<'a>>,
    /// How many there are of each kind.
    pub counts: Counts,
}

/// One finding; it has either `rule` or `error`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding<'a> {
    /// The rule's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<&'static str>,
    /// The error's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<&'static str>,
    /// The signal word, or `error`.
    pub class: &'static str,
    /// One sentence.
    pub headline: &'a str,
    /// The places that matter; the primary one first.
    pub places: Vec<Place<'a>>,
    /// Computed figures and their limits.
    pub figures: Vec<Figure<'a>>,
    /// What else to know.
    pub notes: &'a [String],
    /// What to do.
    pub helps: &'a [String],
    /// Mechanical mends.
    pub edits: Vec<Edit<'a>>,
    /// Why the source accepts the finding, if it does.
    pub accepted: Option<Accepted<'a>>,
    /// Whether a baseline knows the finding.
    pub known: bool,
}

/// Bytes of a file with what is said about them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Place<'a> {
    /// The file's name.
    pub file: &'a str,
    /// Offset of the first byte.
    pub start: usize,
    /// Offset just past the last byte.
    pub end: usize,
    /// Line of the start, from 1.
    pub line: usize,
    /// Column of the start in characters, from 1.
    pub column: usize,
    /// A short remark; may be empty.
    pub label: &'a str,
    /// Whether this is the place of the fault itself.
    pub primary: bool,
}

/// A computed figure; a number that is not finite is null.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure<'a> {
    /// What the figure is.
    pub name: &'a str,
    /// Nominal value.
    pub value: Option<f64>,
    /// Lowest value over what is known.
    pub low: Option<f64>,
    /// Highest value over what is known.
    pub high: Option<f64>,
    /// The unit of all four numbers, as written in the language.
    pub unit: &'a str,
    /// The limit the value is held against.
    pub limit: Option<f64>,
    /// Where the limit comes from.
    pub limit_source: Option<&'a str>,
}

/// A mend.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Edit<'a> {
    /// What it does.
    pub title: &'a str,
    /// Whether it changes a time, a power, a temperature or a current.
    pub changes_control: bool,
    /// Replacements that do not overlap.
    pub changes: Vec<Change<'a>>,
}

/// The bytes `start..end` of `file` become `text`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change<'a> {
    /// The file's name.
    pub file: &'a str,
    /// Offset of the first byte that goes.
    pub start: u32,
    /// Offset just past the last byte that goes.
    pub end: u32,
    /// The new text.
    pub text: &'a str,
}

/// The author's reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Accepted<'a> {
    /// The reason.
    pub because: &'a str,
    /// ISO 8601 date after which the acceptance is stale.
    pub until: Option<&'a str>,
}

/// One finding in its published shape.
pub fn finding<'a>(diagnostic: &'a Diagnostic, files: &'a Files) -> Finding<'a> {
    let (rule, error) = match diagnostic.subject {
        Subject::Rule(name, _) => (Some(name), None),
        Subject::Error(name) => (None, Some(name)),
    };
    Finding {
        rule,
        error,
        class: diagnostic.word(),
        headline: &diagnostic.headline,
        places: diagnostic.labels.iter().map(|label| place(label, files)).collect(),
        figures: diagnostic.figures.iter().map(figure).collect(),
        notes: &diagnostic.notes,
        helps: &diagnostic.helps,
        edits: diagnostic.edits.iter().map(|given| edit(given, files)).collect(),
        accepted: diagnostic
            .accepted
            .as_ref()
            .map(|accepted| Accepted { because: &accepted.because, until: accepted.until.as_deref() }),
        known: diagnostic.known,
    }
}

fn place<'a>(label: &'a crate::report::Label, files: &'a Files) -> Place<'a> {
    let Position { path, start, end, line, column } = Position::of(label.span, files);
    Place { file: path, start, end, line, column, label: &label.text, primary: label.primary }
}

fn figure(figure: &crate::report::Figure) -> Figure<'_> {
    let finite = |n: f64| n.is_finite().then_some(n);
    Figure {
        name: &figure.name,
        value: finite(figure.value),
        low: finite(figure.low),
        high: finite(figure.high),
        unit: &figure.unit,
        limit: figure.limit.and_then(finite),
        limit_source: figure.limit_source.as_deref(),
    }
}

fn edit<'a>(edit: &'a crate::report::Edit, files: &'a Files) -> Edit<'a> {
    let changes = edit.changes.iter().map(|change| Change {
        file: files.get(change.span.file).path(),
        start: change.span.start,
        end: change.span.end,
        text: &change.text,
    });
    Edit { title: &edit.title, changes_control: edit.changes_control, changes: changes.collect() }
}
