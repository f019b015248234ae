use lsp_types::{DocumentFormattingParams, DocumentRangeFormattingParams, TextEdit, Uri};

use crate::library::{Stretch, formatted, stretches};
use crate::server::requests::{Refused, Snapshot};
use crate::text::Span;

/// `textDocument/formatting`
pub fn whole(params: &DocumentFormattingParams, snapshot: &Snapshot) -> Result<Vec<TextEdit>, Refused> {
    edits(snapshot, &params.text_document.uri, |_| true)
}

/// `textDocument/rangeFormatting`
pub fn range(params: &DocumentRangeFormattingParams, snapshot: &Snapshot) -> Result<Vec<TextEdit>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let wanted = document.lines.span(document.file, params.range);
    edits(snapshot, &params.text_document.uri, |span| span.start <= wanted.end && wanted.start <= span.end)
}

/// The stretches of lines that change, as far as they are wanted.
fn edits(snapshot: &Snapshot, uri: &Uri, wanted: impl Fn(Span) -> bool) -> Result<Vec<TextEdit>, Refused> {
    let document = snapshot.document(uri)?;
    let text = document.view.text(document.file);
    let Some(new) = formatted("", text).text else { return Ok(Vec::new()) };
    let span = |stretch: &Stretch| Span::new(document.file, stretch.start, stretch.end);
    let changed = stretches(text, &new).into_iter().filter(|stretch| wanted(span(stretch)));
    Ok(changed
        .map(|stretch| TextEdit { range: document.lines.range(span(&stretch)), new_text: stretch.text })
        .collect())
}
