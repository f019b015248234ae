use lsp_types::{GotoDefinitionParams, GotoDefinitionResponse, Location};

use crate::server::requests::{Refused, Snapshot};
use crate::text::Span;

/// `textDocument/definition`
pub fn answer(params: &GotoDefinitionParams, snapshot: &Snapshot) -> Result<Option<GotoDefinitionResponse>, Refused> {
    let at = &params.text_document_position_params;
    let document = snapshot.document(&at.text_document.uri)?;
    let byte = document.byte(at.position);
    let span = match document.view.mark_at(document.file, byte) {
        Some(mark) => document.view.definition(&mark.meaning),
        // The text of a `use` leads to the file's first byte.
        None => document.view.used_at(document.file, byte).map(|(_, file)| Span::new(file, 0, 0)),
    };
    let location: Option<Location> = span.and_then(|span| snapshot.location(span));
    Ok(location.map(GotoDefinitionResponse::Scalar))
}
