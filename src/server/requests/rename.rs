use lsp_server::ErrorCode;
use lsp_types::{PrepareRenameResponse, RenameParams, TextDocumentPositionParams, WorkspaceEdit};

use crate::library::editor::{renamable, rename};
use crate::report::Change;
use crate::server::requests::edit::workspace_edit;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/prepareRename`
pub fn prepare(
    params: &TextDocumentPositionParams,
    snapshot: &Snapshot,
) -> Result<Option<PrepareRenameResponse>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let mark = renamable(&document.view, document.file, document.byte(params.position));
    Ok(mark.map(|mark| PrepareRenameResponse::Range(document.lines.range(mark.span))))
}

/// `textDocument/rename`
pub fn answer(params: &RenameParams, snapshot: &Snapshot) -> Result<Option<WorkspaceEdit>, Refused> {
    let at = &params.text_document_position;
    let document = snapshot.document(&at.text_document.uri)?;
    let spans = rename(&document.view, document.file, document.byte(at.position), &params.new_name)
        .map_err(|why| Refused { code: ErrorCode::RequestFailed, why })?;
    let changes: Vec<Change> = spans.into_iter().map(|span| Change { span, text: params.new_name.clone() }).collect();
    Ok(workspace_edit(snapshot, &changes))
}
