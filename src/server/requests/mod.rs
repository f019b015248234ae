//! What can be asked: one file for each request.

mod diagnostics;
mod folding;
mod formatting;
mod hover;
mod selection;
mod snapshot;
mod symbols;
mod workspace_symbols;

use lsp_server::ErrorCode;
use lsp_types::{
    DiagnosticOptions, DiagnosticServerCapabilities, FoldingRangeProviderCapability, HoverProviderCapability, OneOf,
    SaveOptions, SelectionRangeProviderCapability, ServerCapabilities, TextDocumentSyncCapability,
    TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::server::client::Client;

pub use diagnostics::found_in;
pub use snapshot::Snapshot;

/// Why there is no answer.
#[derive(Clone, Debug)]
pub struct Refused {
    /// The protocol's number for it.
    pub code: ErrorCode,
    /// In words.
    pub why: String,
}

/// What an answer needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// The texts.
    Texts,
    /// What was computed from them, too.
    Figures,
}

/// One request: its method, what it needs, and who answers it.
struct Row {
    method: &'static str,
    needs: Needs,
    answer: fn(Value, &Snapshot) -> Result<Value, Refused>,
}

/// Every request.
const ROWS: &[Row] = &[
    row("textDocument/diagnostic", Needs::Texts, |p, s| with(p, s, diagnostics::document)),
    row("workspace/diagnostic", Needs::Texts, |p, s| with(p, s, diagnostics::workspace)),
    row("textDocument/hover", Needs::Figures, |p, s| with(p, s, hover::answer)),
    row("textDocument/formatting", Needs::Texts, |p, s| with(p, s, formatting::whole)),
    row("textDocument/rangeFormatting", Needs::Texts, |p, s| with(p, s, formatting::range)),
    row("textDocument/documentSymbol", Needs::Texts, |p, s| with(p, s, symbols::answer)),
    row("textDocument/foldingRange", Needs::Texts, |p, s| with(p, s, folding::answer)),
    row("textDocument/selectionRange", Needs::Texts, |p, s| with(p, s, selection::answer)),
    row("workspace/symbol", Needs::Texts, |p, s| with(p, s, workspace_symbols::answer)),
];

const fn row(method: &'static str, needs: Needs, answer: fn(Value, &Snapshot) -> Result<Value, Refused>) -> Row {
    Row { method, needs, answer }
}

/// What a request needs; none if nobody answers it.
pub fn needs(method: &str) -> Option<Needs> {
    ROWS.iter().find(|row| row.method == method).map(|row| row.needs)
}

/// The answer to a request.
pub fn answer(method: &str, params: Value, snapshot: &Snapshot) -> Result<Value, Refused> {
    match ROWS.iter().find(|row| row.method == method) {
        Some(row) => (row.answer)(params, snapshot),
        None => Err(Refused { code: ErrorCode::MethodNotFound, why: format!("there is no `{method}`") }),
    }
}

/// Reads the parameters, asks, and writes the answer.
fn with<P: DeserializeOwned, R: Serialize>(
    params: Value,
    snapshot: &Snapshot,
    answer: impl Fn(&P, &Snapshot) -> Result<R, Refused>,
) -> Result<Value, Refused> {
    let params = serde_json::from_value(params)
        .map_err(|error| Refused { code: ErrorCode::InvalidParams, why: error.to_string() })?;
    serde_json::to_value(answer(&params, snapshot)?)
        .map_err(|error| Refused { code: ErrorCode::InternalError, why: error.to_string() })
}

/// What the server tells the client that it can do.
pub fn capabilities(client: &Client) -> ServerCapabilities {
    ServerCapabilities {
        position_encoding: Some(client.encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        diagnostic_provider: Some(DiagnosticServerCapabilities::Options(DiagnosticOptions {
            identifier: None,
            // A bench that changes has findings in the recipes that use it.
            inter_file_dependencies: true,
            workspace_diagnostics: true,
            ..DiagnosticOptions::default()
        })),
        ..ServerCapabilities::default()
    }
}
