//! What can be asked: one file for each request.

mod code_actions;
mod completion;
mod definition;
mod diagnostics;
mod edit;
mod folding;
mod formatting;
mod highlight;
mod hints;
mod hover;
mod links;
mod references;
mod rename;
mod selection;
mod signature;
mod snapshot;
mod symbols;
mod tokens;
mod workspace_symbols;

use lsp_server::ErrorCode;
use lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CompletionOptions, DiagnosticOptions,
    DiagnosticServerCapabilities, DocumentLinkOptions, FoldingRangeProviderCapability, HoverProviderCapability, OneOf,
    RenameOptions, SaveOptions, SelectionRangeProviderCapability, SemanticTokensFullOptions, SemanticTokensOptions,
    SemanticTokensServerCapabilities, ServerCapabilities, SignatureHelpOptions, TextDocumentSyncCapability,
    TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions, WorkDoneProgressOptions,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use serde_json::value::{RawValue, to_raw_value};

use crate::server::client::Client;

pub use diagnostics::converted;
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

/// Reads parameters and writes the answer as it goes out.
type Answerer = fn(Value, &Snapshot) -> Result<Box<RawValue>, Refused>;

/// One request: its method, what it needs, and who answers it.
struct Row {
    method: &'static str,
    needs: Needs,
    answer: Answerer,
}

/// Every request.
const ROWS: &[Row] = &[
    row("textDocument/diagnostic", Needs::Texts, |p, s| with(p, s, diagnostics::document)),
    row("workspace/diagnostic", Needs::Texts, |p, s| with(p, s, diagnostics::workspace)),
    row("textDocument/codeAction", Needs::Figures, |p, s| with(p, s, code_actions::answer)),
    row("textDocument/completion", Needs::Texts, |p, s| with(p, s, completion::answer)),
    row("textDocument/definition", Needs::Texts, |p, s| with(p, s, definition::answer)),
    row("textDocument/documentHighlight", Needs::Texts, |p, s| with(p, s, highlight::answer)),
    row("textDocument/documentLink", Needs::Texts, |p, s| with(p, s, links::answer)),
    row("textDocument/inlayHint", Needs::Figures, |p, s| with(p, s, hints::answer)),
    row("textDocument/prepareRename", Needs::Texts, |p, s| with(p, s, rename::prepare)),
    row("textDocument/references", Needs::Texts, |p, s| with(p, s, references::answer)),
    row("textDocument/rename", Needs::Texts, |p, s| with(p, s, rename::answer)),
    row("textDocument/semanticTokens/full", Needs::Texts, |p, s| with(p, s, tokens::full)),
    row("textDocument/semanticTokens/range", Needs::Texts, |p, s| with(p, s, tokens::range)),
    row("textDocument/signatureHelp", Needs::Texts, |p, s| with(p, s, signature::answer)),
    row("textDocument/hover", Needs::Figures, |p, s| with(p, s, hover::answer)),
    row("textDocument/formatting", Needs::Texts, |p, s| with(p, s, formatting::whole)),
    row("textDocument/rangeFormatting", Needs::Texts, |p, s| with(p, s, formatting::range)),
    row("textDocument/documentSymbol", Needs::Texts, |p, s| with(p, s, symbols::answer)),
    row("textDocument/foldingRange", Needs::Texts, |p, s| with(p, s, folding::answer)),
    row("textDocument/selectionRange", Needs::Texts, |p, s| with(p, s, selection::answer)),
    row("workspace/symbol", Needs::Texts, |p, s| with(p, s, workspace_symbols::answer)),
];

const fn row(method: &'static str, needs: Needs, answer: Answerer) -> Row {
    Row { method, needs, answer }
}

/// What a request needs; none if nobody answers it.
pub fn needs(method: &str) -> Option<Needs> {
    ROWS.iter().find(|row| row.method == method).map(|row| row.needs)
}

/// The answer to a request.
pub fn answer(method: &str, params: Value, snapshot: &Snapshot) -> Result<Box<RawValue>, Refused> {
    match ROWS.iter().find(|row| row.method == method) {
        Some(row) => (row.answer)(params, snapshot),
        None => Err(Refused { code: ErrorCode::MethodNotFound, why: format!("there is no `{method}`") }),
    }
}

/// Reads the parameters, asks, and writes the answer.
fn with<'s, P: DeserializeOwned, R: Serialize>(
    params: Value,
    snapshot: &'s Snapshot,
    answer: impl Fn(&P, &'s Snapshot) -> Result<R, Refused>,
) -> Result<Box<RawValue>, Refused> {
    let params = serde_json::from_value(params)
        .map_err(|error| Refused { code: ErrorCode::InvalidParams, why: error.to_string() })?;
    to_raw_value(&answer(&params, snapshot)?)
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
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some([" ", ".", "\"", "/"].map(str::to_owned).to_vec()),
            ..CompletionOptions::default()
        }),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![
                CodeActionKind::QUICKFIX,
                CodeActionKind::REFACTOR_REWRITE,
                CodeActionKind::SOURCE_FIX_ALL,
            ]),
            ..CodeActionOptions::default()
        })),
        definition_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        }),
        inlay_hint_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: WorkDoneProgressOptions::default(),
        })),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            SemanticTokensOptions {
                legend: tokens::legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Bool(true)),
                work_done_progress_options: WorkDoneProgressOptions::default(),
            },
        )),
        signature_help_provider: Some(SignatureHelpOptions {
            trigger_characters: Some(["(", ","].map(str::to_owned).to_vec()),
            ..SignatureHelpOptions::default()
        }),
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
