use lsp_types::{Location, ReferenceParams};

use crate::server::requests::{Refused, Snapshot};

/// `textDocument/references`
pub fn answer(params: &ReferenceParams, snapshot: &Snapshot) -> Result<Vec<Location>, Refused> {
    let at = &params.text_document_position;
    let document = snapshot.document(&at.text_document.uri)?;
    let Some(mark) = document.view.mark_at(document.file, document.byte(at.position)) else { return Ok(Vec::new()) };
    if !mark.meaning.is_name() {
        return Ok(Vec::new());
    }
    let uses = document.view.uses_of(&mark.meaning).into_iter();
    let uses = uses.filter(|mark| params.context.include_declaration || !mark.declares);
    Ok(uses.filter_map(|mark| snapshot.location(mark.span)).collect())
}
