use lsp_types::{
    SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensLegend,
    SemanticTokensParams, SemanticTokensRangeParams,
};

use crate::library::editor::{Colour, colours};
use crate::server::requests::snapshot::Document;
use crate::server::requests::{Refused, Snapshot};
use crate::text::Span;

/// What the numbers of the answer stand for; the colours in the order of [`number`].
pub fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: vec![
            SemanticTokenType::COMMENT,
            SemanticTokenType::KEYWORD,
            SemanticTokenType::PROPERTY,
            SemanticTokenType::ENUM_MEMBER,
            SemanticTokenType::CLASS,
            SemanticTokenType::VARIABLE,
            SemanticTokenType::PARAMETER,
            SemanticTokenType::NAMESPACE,
            SemanticTokenType::FUNCTION,
            SemanticTokenType::DECORATOR,
            SemanticTokenType::NUMBER,
            SemanticTokenType::TYPE,
            SemanticTokenType::STRING,
        ],
        token_modifiers: vec![SemanticTokenModifier::DECLARATION, SemanticTokenModifier::DOCUMENTATION],
    }
}

fn number(colour: Colour) -> u32 {
    match colour {
        Colour::Comment | Colour::Doc => 0,
        Colour::Keyword => 1,
        Colour::Entry => 2,
        Colour::Word => 3,
        Colour::Name => 4,
        Colour::Value | Colour::Local => 5,
        Colour::Parameter => 6,
        Colour::Prefix => 7,
        Colour::Function => 8,
        Colour::Rule => 9,
        Colour::Number => 10,
        Colour::Unit => 11,
        Colour::Text => 12,
    }
}

/// `textDocument/semanticTokens/full`
pub fn full(params: &SemanticTokensParams, snapshot: &Snapshot) -> Result<SemanticTokens, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    Ok(tokens(&document, |_| true))
}

/// `textDocument/semanticTokens/range`
pub fn range(params: &SemanticTokensRangeParams, snapshot: &Snapshot) -> Result<SemanticTokens, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let wanted = document.lines.span(document.file, params.range);
    Ok(tokens(&document, |span| span.start < wanted.end && wanted.start < span.end))
}

/// Each place is told from the one before it.
fn tokens(document: &Document<'_>, wanted: impl Fn(Span) -> bool) -> SemanticTokens {
    let mut before = lsp_types::Position::default();
    let mut data = Vec::new();
    for coloured in colours(&document.view, document.file).into_iter().filter(|coloured| wanted(coloured.span)) {
        let range = document.lines.range(coloured.span);
        if range.start.line != range.end.line {
            continue;
        }
        let delta_line = range.start.line - before.line;
        let from = if delta_line == 0 { before.character } else { 0 };
        data.push(SemanticToken {
            delta_line,
            delta_start: range.start.character - from,
            length: range.end.character - range.start.character,
            token_type: number(coloured.colour),
            token_modifiers_bitset: u32::from(coloured.declares) | u32::from(coloured.colour == Colour::Doc) << 1,
        });
        before = range.start;
    }
    SemanticTokens { result_id: None, data }
}
