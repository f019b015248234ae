use lsp_types::{DocumentLink, DocumentLinkParams};

use crate::server::requests::{Refused, Snapshot};
use crate::text::Span;

/// `textDocument/documentLink`
pub fn answer(params: &DocumentLinkParams, snapshot: &Snapshot) -> Result<Vec<DocumentLink>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let targets = snapshot.loaded.uses.get(&document.file).into_iter().flatten();
    let link = |target: &crate::names::UseTarget| {
        let path = snapshot.loaded.paths.get(&target.file?)?;
        // Without the quotes.
        let inner =
            Span::new(target.line.span.file, target.line.span.start + 1, target.line.span.end.saturating_sub(1));
        Some(DocumentLink {
            range: document.lines.range(inner),
            target: Some(snapshot.uri(path)?),
            tooltip: Some(target.line.path.clone()),
            data: None,
        })
    };
    Ok(targets.filter_map(link).collect())
}
