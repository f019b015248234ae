use lsp_types::{DocumentHighlight, DocumentHighlightKind, DocumentHighlightParams};

use crate::server::requests::{Refused, Snapshot};

/// `textDocument/documentHighlight`
pub fn answer(params: &DocumentHighlightParams, snapshot: &Snapshot) -> Result<Vec<DocumentHighlight>, Refused> {
    let at = &params.text_document_position_params;
    let document = snapshot.document(&at.text_document.uri)?;
    let marks = document.view.marks(document.file);
    let byte = document.byte(at.position);
    let Some(own) = marks.iter().rev().find(|mark| mark.span.start <= byte && byte <= mark.span.end) else {
        return Ok(Vec::new());
    };
    let same = marks.iter().filter(|mark| own.meaning.is_name() && mark.meaning == own.meaning);
    let highlight = |mark: &crate::library::editor::Mark| DocumentHighlight {
        range: document.lines.range(mark.span),
        kind: Some(if mark.declares { DocumentHighlightKind::WRITE } else { DocumentHighlightKind::READ }),
    };
    Ok(same.map(highlight).collect())
}
