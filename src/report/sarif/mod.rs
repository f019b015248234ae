//! Findings in SARIF 2.1.0, for services that gather them.

mod format;

use crate::report::place::Place;
use crate::report::{Class, Diagnostic, Edit, Label, RuleInfo, details, json};
use crate::text::{Files, Span};

use format::{
    ArtifactChange, ArtifactLocation, Configuration, Content, Driver, FilePlace, Finding, Fix, Location, Log, Message,
    Page, Properties, Region, Replacement, Rule, RuleProperties, Run, Suppression, Tool,
};

const SCHEMA: &str = "https://raw.githubusercontent.com/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json";

/// The findings as one SARIF log, indented by two spaces, with what is known about the rules.
pub fn render(diagnostics: &[Diagnostic], files: &Files, rules: &[RuleInfo]) -> String {
    let driver = Driver {
        name: env!("CARGO_PKG_NAME"),
        semantic_version: env!("CARGO_PKG_VERSION"),
        rules: rules.iter().map(rule).collect(),
    };
    let results = diagnostics.iter().map(|diagnostic| finding(diagnostic, files, rules)).collect();
    let run = Run { tool: Tool { driver }, results, column_kind: "unicodeCodePoints" };
    let log = Log { schema: SCHEMA, version: "2.1.0", runs: [run] };
    // Writing text and numbers to memory cannot fail.
    serde_json::to_string_pretty(&log).map(|text| text + "\n").unwrap_or_default()
}

fn rule<'a>(info: &RuleInfo<'a>) -> Rule<'a> {
    Rule {
        id: info.name,
        short_description: Page { text: info.summary, markdown: None },
        default_configuration: Configuration { level: level(Some(info.class)) },
        help: Page { text: info.help, markdown: Some(info.help) },
        properties: RuleProperties { class: info.class.word() },
    }
}

fn finding<'a>(diagnostic: &'a Diagnostic, files: &'a Files, rules: &[RuleInfo]) -> Finding<'a> {
    let others = diagnostic.labels.iter().skip(1).enumerate();
    let text = [vec![diagnostic.headline.clone()], details::lines(diagnostic)].concat().join("\n");
    let (control, free): (Vec<&Edit>, Vec<&Edit>) = diagnostic.edits.iter().partition(|edit| edit.changes_control);
    let shape = json::finding(diagnostic, files);
    Finding {
        rule_id: diagnostic.name(),
        rule_index: rules.iter().position(|rule| !diagnostic.is_error() && rule.name == diagnostic.name()),
        level: level(diagnostic.class()),
        message: Message::new(&text),
        locations: [location(None, diagnostic.primary(), diagnostic.labels.first(), files)],
        related_locations: others.map(|(id, label)| location(Some(id), label.span, Some(label), files)).collect(),
        suppressions: suppressions(diagnostic),
        // A service may offer to make all fixes at once; those that change a control are only named.
        fixes: free.into_iter().map(|edit| fix(edit, files)).collect(),
        properties: Properties {
            class: diagnostic.word(),
            figures: shape.figures,
            control_edits: control.into_iter().map(|edit| edit.title.as_str()).collect(),
        },
    }
}

/// The nearest of the standard's three levels.
fn level(class: Option<Class>) -> &'static str {
    match class {
        None | Some(Class::Danger) => "error",
        Some(Class::Warning | Class::Caution) => "warning",
        Some(Class::Notice | Class::Hint) => "note",
    }
}

fn location(id: Option<usize>, span: Span, label: Option<&Label>, files: &Files) -> Location {
    let message = label.filter(|label| !label.text.is_empty()).map(|label| Message::new(&label.text));
    let place = FilePlace { artifact_location: artifact(span, files), region: region(span, files) };
    Location { id, place, message }
}

fn region(span: Span, files: &Files) -> Region {
    let (start, end) = (Place::of(span, files), Place::after(span, files));
    Region { start_line: start.line, start_column: start.column, end_line: end.line, end_column: end.column }
}

/// The file's name as a relative reference of RFC 3986: everything but its unreserved characters and `/` as
/// percent-encoded bytes of UTF-8.
fn artifact(span: Span, files: &Files) -> ArtifactLocation {
    let kept = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte);
    let encoded = |byte: u8| if kept(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    let uri = files.get(span.file).path().bytes().map(encoded).collect();
    ArtifactLocation { uri }
}

fn suppressions(diagnostic: &Diagnostic) -> Vec<Suppression> {
    let suppression = |kind, reason: String| Suppression { kind, status: "accepted", justification: reason };
    let accepted = diagnostic.accepted.as_ref().map(|accepted| suppression("inSource", accepted.sentence()));
    let known = diagnostic.known.then(|| suppression("external", "known to the baseline".to_owned()));
    accepted.into_iter().chain(known).collect()
}

/// The changes of an edit, one entry for each file in the order of first mention.
fn fix<'a>(edit: &'a Edit, files: &Files) -> Fix<'a> {
    let mut by_file: Vec<(Span, Vec<Replacement<'a>>)> = Vec::new();
    for change in &edit.changes {
        let content = Content { text: &change.text };
        let replacement = Replacement { deleted_region: region(change.span, files), inserted_content: content };
        match by_file.iter_mut().find(|(span, _)| span.file == change.span.file) {
            Some((_, replacements)) => replacements.push(replacement),
            None => by_file.push((change.span, vec![replacement])),
        }
    }
    let changes = by_file
        .into_iter()
        .map(|(span, replacements)| ArtifactChange { artifact_location: artifact(span, files), replacements });
    Fix { description: Message::new(&edit.title), artifact_changes: changes.collect() }
}
