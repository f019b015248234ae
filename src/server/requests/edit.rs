use std::collections::BTreeMap;

use lsp_types::{
    DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, TextEdit, Uri, WorkspaceEdit,
};

use crate::report::Change;
use crate::server::requests::Snapshot;
use crate::text::FileId;

/// Changes as the client makes them, file by file; none where a file has no place, such as the catalogue.
pub fn workspace_edit(snapshot: &Snapshot, changes: &[Change]) -> Option<WorkspaceEdit> {
    let mut files: BTreeMap<FileId, Vec<&Change>> = BTreeMap::new();
    for change in changes {
        files.entry(change.span.file).or_default().push(change);
    }
    let mut edits: Vec<(Uri, Vec<TextEdit>)> = Vec::new();
    for (file, changes) in files {
        let uri = snapshot.uri(snapshot.loaded.paths.get(&file)?)?;
        let lines = snapshot.lines(&snapshot.loaded, file);
        let edit = |change: &&Change| TextEdit { range: lines.range(change.span), new_text: change.text.clone() };
        edits.push((uri, changes.iter().map(edit).collect()));
    }
    if !snapshot.client.takes_document_changes {
        // The protocol's library has the URIs as keys, though they hold a cell.
        #[expect(clippy::mutable_key_type, reason = "nothing changes what a URI is")]
        let changes = edits.into_iter().collect();
        return Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() });
    }
    let edits = edits.into_iter().map(|(uri, edits)| TextDocumentEdit {
        text_document: OptionalVersionedTextDocumentIdentifier { uri, version: None },
        edits: edits.into_iter().map(OneOf::Left).collect(),
    });
    let changes = DocumentChanges::Edits(edits.collect());
    Some(WorkspaceEdit { document_changes: Some(changes), ..WorkspaceEdit::default() })
}
