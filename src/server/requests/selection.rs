use lsp_types::{Position, SelectionRange, SelectionRangeParams};

use crate::library::editor::selections;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/selectionRange`
pub fn answer(params: &SelectionRangeParams, snapshot: &Snapshot) -> Result<Vec<SelectionRange>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let grown = |position: &Position| {
        let spans = selections(&document.view, document.file, document.byte(*position));
        // Each holds the larger one around it; the whole text is the last.
        let nested = spans.iter().rev().fold(None, |parent, span| {
            Some(SelectionRange { range: document.lines.range(*span), parent: parent.map(Box::new) })
        });
        nested.unwrap_or_else(|| SelectionRange { range: lsp_types::Range::new(*position, *position), parent: None })
    };
    Ok(params.positions.iter().map(grown).collect())
}
