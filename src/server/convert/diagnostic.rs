use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use lsp_types::{
    CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, Location,
    NumberOrString, Uri,
};
use serde_json::json;

use crate::library::rule_page;
use crate::report::{self, Class, message};
use crate::server::convert::{Lines, uri_of};
use crate::text::Span;

/// The name under which findings are shown.
const SOURCE: &str = "withy";

/// A folder in which the pages of rules lie as files, so that an editor can open them.
#[derive(Clone, Debug, Default)]
pub struct Pages {
    folder: Option<PathBuf>,
    /// What has been looked for, since the disk is not to be asked again for each finding at each keystroke.
    known: Arc<Mutex<BTreeMap<String, Option<Uri>>>>,
}

impl Pages {
    /// In this folder; none at all without one.
    pub fn new(folder: Option<PathBuf>) -> Self {
        Self { folder, known: Arc::default() }
    }

    /// The page of a rule. That it cannot be written is no fault: its text is shown elsewhere too.
    fn page(&self, rule: &str) -> Option<Uri> {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(page) = known.get(rule) {
            return page.clone();
        }
        let page = self.written(rule);
        known.insert(rule.to_owned(), page.clone());
        page
    }

    fn written(&self, rule: &str) -> Option<Uri> {
        let folder = self.folder.as_ref()?;
        let path = folder.join(format!("{rule}.md"));
        if !path.is_file() {
            write(folder, &path, &rule_page(rule).ok()?)?;
        }
        uri_of(&path)
    }
}

/// Puts a page in place whole, so that two servers at once do no harm.
fn write(folder: &Path, path: &Path, text: &str) -> Option<()> {
    std::fs::create_dir_all(folder).ok()?;
    let file = tempfile::NamedTempFile::new_in(folder).ok()?;
    std::fs::write(file.path(), text).ok()?;
    file.persist(path).ok().map(drop)
}

/// A finding as the protocol has it. `place` gives the URI and range of a span in whatever file.
pub fn diagnostic(
    finding: &report::Diagnostic,
    lines: &Lines<'_>,
    place: &dyn Fn(Span) -> Option<Location>,
    pages: &Pages,
) -> Diagnostic {
    let name = finding.name();
    let related: Vec<DiagnosticRelatedInformation> = finding
        .labels
        .iter()
        .skip(1)
        .filter_map(|label| {
            Some(DiagnosticRelatedInformation { location: place(label.span)?, message: label.text.clone() })
        })
        .collect();
    let page = (!finding.is_error()).then(|| pages.page(name)).flatten();
    let mut data = json!({ "class": finding.word() });
    if page.is_none()
        && let Ok(text) = rule_page(name)
    {
        // Where it lies in no file, the page comes along.
        data["page"] = text.into();
    }
    Diagnostic {
        range: lines.range(finding.primary()),
        severity: Some(severity(finding.class())),
        code: Some(NumberOrString::String(name.to_owned())),
        code_description: page.map(|href| CodeDescription { href }),
        source: Some(SOURCE.to_owned()),
        message: message(finding),
        related_information: (!related.is_empty()).then_some(related),
        // What nobody uses is shown faded.
        tags: (name == "unused-name").then(|| vec![DiagnosticTag::UNNECESSARY]),
        data: Some(data),
    }
}

fn severity(class: Option<Class>) -> DiagnosticSeverity {
    match class {
        None | Some(Class::Danger) => DiagnosticSeverity::ERROR,
        Some(Class::Warning | Class::Caution) => DiagnosticSeverity::WARNING,
        Some(Class::Notice) => DiagnosticSeverity::INFORMATION,
        Some(Class::Hint) => DiagnosticSeverity::HINT,
    }
}
