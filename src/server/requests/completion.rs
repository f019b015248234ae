use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionList, CompletionParams, CompletionResponse, CompletionTextEdit,
    Documentation, MarkupContent, MarkupKind, TextEdit,
};

use crate::library::editor::{Offer, Sort, complete};
use crate::names::DeclKind;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/completion`
pub fn answer(params: &CompletionParams, snapshot: &Snapshot) -> Result<CompletionResponse, Refused> {
    let at = &params.text_document_position;
    let document = snapshot.document(&at.text_document.uri)?;
    let (offers, span) = complete(&document.view, document.file, document.byte(at.position));
    let range = document.lines.range(span);
    let item = |(place, offer): (usize, Offer)| CompletionItem {
        kind: Some(kind(offer.sort)),
        detail: (!offer.detail.is_empty()).then_some(offer.detail),
        documentation: (!offer.about.is_empty())
            .then_some(Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value: offer.about })),
        // In the order in which they were offered: what is missing comes first.
        sort_text: Some(format!("{place:04}")),
        filter_text: Some(offer.label.clone()),
        label: offer.label,
        text_edit: Some(CompletionTextEdit::Edit(TextEdit { range, new_text: offer.insert })),
        ..CompletionItem::default()
    };
    let items = offers.into_iter().enumerate().map(item).collect();
    Ok(CompletionResponse::List(CompletionList { is_incomplete: false, items }))
}

fn kind(sort: Sort) -> CompletionItemKind {
    match sort {
        Sort::Word => CompletionItemKind::KEYWORD,
        Sort::Name(DeclKind::Let) => CompletionItemKind::CONSTANT,
        Sort::Name(DeclKind::Part) => CompletionItemKind::CLASS,
        Sort::Name(DeclKind::Recipe) | Sort::Function => CompletionItemKind::FUNCTION,
        Sort::Name(_) => CompletionItemKind::STRUCT,
        Sort::Local => CompletionItemKind::VARIABLE,
        Sort::Unit => CompletionItemKind::UNIT,
        Sort::Rule => CompletionItemKind::REFERENCE,
        Sort::Figure => CompletionItemKind::PROPERTY,
        Sort::File => CompletionItemKind::FILE,
    }
}
