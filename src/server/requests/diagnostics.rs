use std::collections::BTreeMap;

use lsp_types::{DocumentDiagnosticParams, Uri, WorkspaceDiagnosticParams};
use serde::Serialize;

use crate::server::convert::{Lines, Shown, WrittenPlace, WrittenUri, diagnostic};
use crate::server::placed::Placed;
use crate::server::requests::{Refused, Snapshot};
use crate::text::{FileId, Span};

/// What a client is told of one file: the protocol's `DocumentDiagnosticReport`.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Report<'s> {
    #[serde(rename_all = "camelCase")]
    Full {
        #[serde(skip_serializing_if = "Option::is_none")]
        result_id: Option<&'s str>,
        items: Vec<Shown<'s>>,
    },
    #[serde(rename_all = "camelCase")]
    Unchanged { result_id: &'s str },
}

/// The same among the files of a workspace.
#[derive(Debug, Serialize)]
pub struct ReportOf<'s> {
    uri: Uri,
    version: Option<i32>,
    #[serde(flatten)]
    report: Report<'s>,
}

/// The protocol's `WorkspaceDiagnosticReport`.
#[derive(Debug, Serialize)]
pub struct Reports<'s> {
    items: Vec<ReportOf<'s>>,
}

/// `textDocument/diagnostic`
pub fn document<'s>(params: &DocumentDiagnosticParams, snapshot: &'s Snapshot) -> Result<Report<'s>, Refused> {
    let file = snapshot.document(&params.text_document.uri)?.file;
    let items = converted(snapshot, file, snapshot.findings_in(file));
    Ok(Report::Full { result_id: snapshot.state.as_deref(), items })
}

/// `workspace/diagnostic`
#[expect(clippy::unnecessary_wraps, reason = "all requests are answered in one way")]
pub fn workspace<'s>(params: &WorkspaceDiagnosticParams, snapshot: &'s Snapshot) -> Result<Reports<'s>, Refused> {
    let state = snapshot.state.as_deref();
    let is_known = |uri: &Uri| {
        let before = params.previous_result_ids.iter().find(|before| before.uri == *uri);
        before.is_some_and(|before| state == Some(before.value.as_str()))
    };
    let items = snapshot.loaded.paths.iter().filter_map(|(file, path)| {
        let uri = snapshot.uri(path)?;
        let report = match state {
            Some(result_id) if is_known(&uri) => Report::Unchanged { result_id },
            result_id => {
                let items = converted(snapshot, *file, snapshot.findings_in(*file));
                Report::Full { result_id, items }
            }
        };
        Some(ReportOf { uri, version: None, report })
    });
    Ok(Reports { items: items.collect() })
}

/// Findings of one file as the protocol has them.
pub fn converted<'s>(snapshot: &'s Snapshot, file: FileId, findings: &'s [Placed]) -> Vec<Shown<'s>> {
    let lines = snapshot.lines(&snapshot.loaded, file);
    // Many findings speak of one bench: its lines are counted once.
    let mut others: BTreeMap<FileId, Option<(WrittenUri, Lines<'s>)>> = BTreeMap::new();
    let mut place = |span: Span| {
        let known = others.entry(span.file).or_insert_with(|| {
            let uri = WrittenUri::new(&snapshot.uri(snapshot.loaded.paths.get(&span.file)?)?)?;
            Some((uri, snapshot.lines(&snapshot.loaded, span.file)))
        });
        known.as_ref().map(|(uri, lines)| WrittenPlace { uri: uri.clone(), range: lines.range(span) })
    };
    findings.iter().filter_map(|finding| diagnostic(finding, &lines, &mut place, &snapshot.pages)).collect()
}
