use lsp_types::{InlayHint, InlayHintKind, InlayHintLabel, InlayHintParams};

use crate::library::editor::{HintKind, hints};
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/inlayHint`
pub fn answer(params: &InlayHintParams, snapshot: &Snapshot) -> Result<Vec<InlayHint>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let range = document.lines.span(document.file, params.range);
    let wishes = snapshot.client.wishes.hints;
    let wanted = |kind| match kind {
        HintKind::Time => wishes.times,
        HintKind::Blank => wishes.blank,
        HintKind::Current => wishes.current,
    };
    let found = hints(&document.view, document.file, &snapshot.notes).into_iter();
    let here = found.filter(|hint| wanted(hint.kind) && range.start <= hint.behind.end && hint.behind.end <= range.end);
    let hint = |hint: crate::library::editor::Hint| InlayHint {
        position: document.lines.position(hint.behind.end),
        label: InlayHintLabel::String(hint.text),
        kind: Some(InlayHintKind::TYPE),
        text_edits: None,
        tooltip: None,
        padding_left: Some(true),
        padding_right: None,
        data: None,
    };
    Ok(here.map(hint).collect())
}
