use lsp_types::{DocumentSymbol, DocumentSymbolParams, DocumentSymbolResponse, SymbolKind};

use crate::library::editor::{Item, outline};
use crate::names::DeclKind;
use crate::server::convert::Lines;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/documentSymbol`
pub fn answer(params: &DocumentSymbolParams, snapshot: &Snapshot) -> Result<DocumentSymbolResponse, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let items = outline(&document.view, document.file);
    Ok(DocumentSymbolResponse::Nested(items.iter().map(|item| symbol(item, &document.lines)).collect()))
}

#[expect(deprecated, reason = "the protocol's own structure has a field that it advises against, and no default")]
fn symbol(item: &Item, lines: &Lines<'_>) -> DocumentSymbol {
    let children: Vec<DocumentSymbol> = item.items.iter().map(|item| symbol(item, lines)).collect();
    DocumentSymbol {
        name: item.name.clone(),
        detail: (!item.detail.is_empty()).then(|| item.detail.clone()),
        kind: kind(item.kind),
        tags: None,
        deprecated: None,
        range: lines.range(item.span),
        selection_range: lines.range(item.name_span),
        children: (!children.is_empty()).then_some(children),
    }
}

/// The protocol knows no recipes: of what it knows, what its icons suit best.
pub fn kind(kind: Option<DeclKind>) -> SymbolKind {
    match kind {
        None => SymbolKind::FIELD,
        Some(DeclKind::Let) => SymbolKind::CONSTANT,
        Some(DeclKind::Part) => SymbolKind::CLASS,
        Some(DeclKind::Recipe) => SymbolKind::FUNCTION,
        Some(DeclKind::Batch) => SymbolKind::EVENT,
        Some(DeclKind::Bench) => SymbolKind::MODULE,
        Some(
            DeclKind::Alloy
            | DeclKind::Controller
            | DeclKind::Heater
            | DeclKind::Lot
            | DeclKind::Material
            | DeclKind::Metal
            | DeclKind::Sheet
            | DeclKind::Supply
            | DeclKind::Wire,
        ) => SymbolKind::STRUCT,
    }
}
