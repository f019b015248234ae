use lsp_types::{FoldingRange, FoldingRangeKind, FoldingRangeParams};

use crate::library::editor::folds;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/foldingRange`
pub fn answer(params: &FoldingRangeParams, snapshot: &Snapshot) -> Result<Vec<FoldingRange>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let fold = |fold: crate::library::editor::Fold| {
        let range = document.lines.range(fold.span);
        // The brace that closes a block stays in sight.
        let end = if fold.comment { range.end.line } else { range.end.line.saturating_sub(1) };
        (end > range.start.line).then(|| FoldingRange {
            start_line: range.start.line,
            end_line: end,
            kind: fold.comment.then_some(FoldingRangeKind::Comment),
            ..FoldingRange::default()
        })
    };
    Ok(folds(&document.view, document.file).into_iter().filter_map(fold).collect())
}
