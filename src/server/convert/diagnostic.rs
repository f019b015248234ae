use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use lsp_types::{DiagnosticSeverity, DiagnosticTag, Range, Uri};
use serde::{Serialize, Serializer};
use serde_json::value::{RawValue, to_raw_value};

use crate::library::rule_page;
use crate::report::Class;
use crate::server::convert::{Lines, uri_of};
use crate::server::placed::Placed;
use crate::text::Span;

/// The name under which findings are shown.
const SOURCE: &str = "withy";

/// A folder in which the pages of rules lie as files, so that an editor can open them.
#[derive(Clone, Debug, Default)]
pub struct Pages {
    folder: Option<PathBuf>,
    /// What has been looked for, since the disk is not to be asked again for each finding at each keystroke.
    known: Arc<Mutex<BTreeMap<String, Option<WrittenUri>>>>,
}

impl Pages {
    /// In this folder; none at all without one.
    pub fn new(folder: Option<PathBuf>) -> Self {
        Self { folder, known: Arc::default() }
    }

    /// The page of a rule. That it cannot be written is no fault: its text is shown elsewhere too.
    fn page(&self, rule: &str) -> Option<WrittenUri> {
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(page) = known.get(rule) {
            return page.clone();
        }
        let page = self.written(rule);
        known.insert(rule.to_owned(), page.clone());
        page
    }

    fn written(&self, rule: &str) -> Option<WrittenUri> {
        let folder = self.folder.as_ref()?;
        let path = folder.join(format!("{rule}.md"));
        if !path.is_file() {
            write(folder, &path, &rule_page(rule).ok()?)?;
        }
        WrittenUri::new(&uri_of(&path)?)
    }
}

/// Puts a page in place whole, so that two servers at once do no harm.
fn write(folder: &Path, path: &Path, text: &str) -> Option<()> {
    std::fs::create_dir_all(folder).ok()?;
    let file = tempfile::NamedTempFile::new_in(folder).ok()?;
    std::fs::write(file.path(), text).ok()?;
    file.persist(path).ok().map(drop)
}

/// A finding as the protocol has it: its `Diagnostic`, but that the message is written already. `place` gives the URI
/// and range of a span in whatever file. None where the place of the finding is gone.
pub fn diagnostic<'f>(
    finding: &'f Placed,
    lines: &Lines<'_>,
    place: &mut dyn FnMut(Span) -> Option<WrittenPlace>,
    pages: &Pages,
) -> Option<Shown<'f>> {
    let subject = finding.subject();
    let name = subject.name();
    let related = |(span, message): (Span, &'f str)| Some(Related { location: place(span)?, message });
    let related: Vec<Related<'f>> = finding.others().filter_map(related).collect();
    let page = subject.class().is_some().then(|| pages.page(name)).flatten();
    // Where it lies in no file, the page comes along.
    let text = if page.is_none() { rule_page(name).ok() } else { None };
    Some(Shown {
        range: lines.range(finding.primary()?),
        severity: severity(subject.class()),
        code: name,
        code_description: page.map(|href| PageOf { href }),
        source: SOURCE,
        message: finding.message(),
        related_information: (!related.is_empty()).then_some(related),
        // What nobody uses is shown faded.
        tags: (name == "unused-name").then_some([DiagnosticTag::UNNECESSARY]),
        data: Data { class: subject.word(), page: text },
    })
}

/// A finding as it is written for a client.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Shown<'f> {
    range: Range,
    severity: DiagnosticSeverity,
    code: &'f str,
    #[serde(skip_serializing_if = "Option::is_none")]
    code_description: Option<PageOf>,
    source: &'f str,
    message: &'f RawValue,
    #[serde(skip_serializing_if = "Option::is_none")]
    related_information: Option<Vec<Related<'f>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tags: Option<[DiagnosticTag; 1]>,
    data: Data<'f>,
}

/// Another place that a finding speaks of.
#[derive(Debug, Serialize)]
struct Related<'f> {
    location: WrittenPlace,
    message: &'f str,
}

/// The protocol's `Location`.
#[derive(Debug, Serialize)]
pub struct WrittenPlace {
    /// Which file.
    pub uri: WrittenUri,
    /// Where in it.
    pub range: Range,
}

/// The protocol's `CodeDescription`.
#[derive(Debug, Serialize)]
struct PageOf {
    href: WrittenUri,
}

/// A URI as it is written in JSON, since hundreds of findings speak of the same few files.
#[derive(Clone, Debug)]
pub struct WrittenUri(Arc<RawValue>);

impl WrittenUri {
    /// Writes it; none if it cannot be written, which does not happen.
    pub fn new(uri: &Uri) -> Option<Self> {
        to_raw_value(uri).ok().map(|written| Self(Arc::from(written)))
    }
}

impl Serialize for WrittenUri {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.0.as_ref().serialize(serializer)
    }
}

/// What comes along for this server's own clients.
#[derive(Debug, Serialize)]
struct Data<'f> {
    class: &'f str,
    #[serde(skip_serializing_if = "Option::is_none")]
    page: Option<String>,
}

fn severity(class: Option<Class>) -> DiagnosticSeverity {
    match class {
        None | Some(Class::Danger) => DiagnosticSeverity::ERROR,
        Some(Class::Warning | Class::Caution) => DiagnosticSeverity::WARNING,
        Some(Class::Notice) => DiagnosticSeverity::INFORMATION,
        Some(Class::Hint) => DiagnosticSeverity::HINT,
    }
}
