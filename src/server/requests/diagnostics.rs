use std::collections::BTreeMap;

use lsp_types::{
    Diagnostic, DocumentDiagnosticParams, DocumentDiagnosticReport, DocumentDiagnosticReportResult,
    FullDocumentDiagnosticReport, RelatedFullDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Uri,
    WorkspaceDiagnosticParams, WorkspaceDiagnosticReport, WorkspaceDiagnosticReportResult,
    WorkspaceDocumentDiagnosticReport, WorkspaceFullDocumentDiagnosticReport,
    WorkspaceUnchangedDocumentDiagnosticReport,
};

use crate::report;
use crate::server::convert::diagnostic;
use crate::server::requests::{Refused, Snapshot};
use crate::text::FileId;

/// `textDocument/diagnostic`
pub fn document(
    params: &DocumentDiagnosticParams,
    snapshot: &Snapshot,
) -> Result<DocumentDiagnosticReportResult, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let items = of_file(snapshot, document.file);
    let report = RelatedFullDocumentDiagnosticReport {
        related_documents: None,
        full_document_diagnostic_report: FullDocumentDiagnosticReport { result_id: snapshot.state.clone(), items },
    };
    Ok(DocumentDiagnosticReportResult::Report(DocumentDiagnosticReport::Full(report)))
}

/// `workspace/diagnostic`
#[expect(clippy::unnecessary_wraps, reason = "all requests are answered in one way")]
pub fn workspace(
    params: &WorkspaceDiagnosticParams,
    snapshot: &Snapshot,
) -> Result<WorkspaceDiagnosticReportResult, Refused> {
    let found = open_findings(snapshot);
    let known = |uri: &Uri| {
        let before = params.previous_result_ids.iter().find(|before| before.uri == *uri);
        before.and_then(|before| snapshot.state.clone().filter(|state| *state == before.value))
    };
    let items = snapshot.loaded.paths.iter().filter_map(|(file, path)| {
        let uri = snapshot.uri(path)?;
        if let Some(result_id) = known(&uri) {
            let same = UnchangedDocumentDiagnosticReport { result_id };
            return Some(WorkspaceDocumentDiagnosticReport::Unchanged(WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version: None,
                unchanged_document_diagnostic_report: same,
            }));
        }
        let items = found.get(file).map(|findings| converted(snapshot, *file, findings)).unwrap_or_default();
        let report = FullDocumentDiagnosticReport { result_id: snapshot.state.clone(), items };
        Some(WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
            uri,
            version: None,
            full_document_diagnostic_report: report,
        }))
    });
    Ok(WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items: items.collect() }))
}

/// What is open in each file that has findings.
pub fn open_findings(snapshot: &Snapshot) -> BTreeMap<FileId, Vec<&report::Diagnostic>> {
    let mut files: BTreeMap<FileId, Vec<&report::Diagnostic>> = BTreeMap::new();
    for finding in snapshot.findings.iter().filter(|finding| finding.is_open()) {
        files.entry(finding.primary().file).or_default().push(finding);
    }
    files
}

fn of_file(snapshot: &Snapshot, file: FileId) -> Vec<Diagnostic> {
    let own = snapshot.findings.iter().filter(|finding| finding.is_open() && finding.primary().file == file);
    converted(snapshot, file, &own.collect::<Vec<_>>())
}

/// Findings of one file as the protocol has them.
pub fn converted(snapshot: &Snapshot, file: FileId, findings: &[&report::Diagnostic]) -> Vec<Diagnostic> {
    let lines = snapshot.lines(&snapshot.loaded, file);
    let place = |span| snapshot.location(span);
    findings.iter().map(|finding| diagnostic(finding, &lines, &place, &snapshot.pages)).collect()
}
