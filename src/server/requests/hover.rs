use lsp_types::{Hover, HoverContents, HoverParams, MarkupContent, MarkupKind};

use crate::library::editor::hover;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/hover`
pub fn answer(params: &HoverParams, snapshot: &Snapshot) -> Result<Option<Hover>, Refused> {
    let at = &params.text_document_position_params;
    let document = snapshot.document(&at.text_document.uri)?;
    let found = hover(&document.view, document.file, document.byte(at.position), &snapshot.notes);
    Ok(found.map(|found| Hover {
        contents: HoverContents::Markup(MarkupContent { kind: MarkupKind::Markdown, value: found.text }),
        range: Some(document.lines.range(found.span)),
    }))
}
