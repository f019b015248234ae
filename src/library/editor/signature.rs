//! What a call takes: the parameters of a part, the arguments of a function.

use crate::library::editor::around::tokens_before;
use crate::library::editor::marks::parameters;
use crate::library::editor::view::View;
use crate::names::{DeclKind, Found};
use crate::syntax::{Arg, Kind};
use crate::text::{FileId, Span};
use crate::types::FUNCTIONS;

/// What a call takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signature {
    /// As it is written: `dust_cover(height: length = 140 mm)`.
    pub text: String,
    /// What it gives.
    pub about: String,
    /// The bytes of `text` that are each parameter.
    pub parameters: Vec<(u32, u32)>,
    /// The parameter that is being written.
    pub active: Option<u32>,
}

/// The call around the byte `at` of a file.
pub fn signature(view: &View<'_>, file: FileId, at: u32) -> Option<Signature> {
    let table = view.loaded.parsed.get(file.0 as usize)?.table(view.text(file));
    let kinds = table.kinds();
    let before = tokens_before(table, at);
    // The bracket that is open here, and what stands behind it.
    let (mut depth, mut commas) = (0_u32, 0_usize);
    let mut start = None;
    for index in (0..before).rev() {
        match kinds.get(index)? {
            Kind::CloseParen | Kind::CloseBracket => depth += 1,
            Kind::OpenParen | Kind::OpenBracket | Kind::IndexBracket | Kind::CallParen if depth > 0 => depth -= 1,
            Kind::CallParen => {
                start = Some(index);
                break;
            }
            Kind::Comma if depth == 0 => commas += 1,
            Kind::OpenBrace | Kind::CloseBrace => return None,
            _ => {}
        }
    }
    let start = start?;
    let name = view.slice(table.span(start.checked_sub(1)?));
    if let Some((_, usage, meaning)) = FUNCTIONS.iter().find(|function| function.0 == name) {
        let inner = usage.split_once('(').map_or("", |(_, rest)| rest.trim_end_matches(')'));
        let names: Vec<String> = inner.split(", ").map(str::to_owned).collect();
        let active = commas.min(names.len().saturating_sub(1));
        return Some(written(name, &names, meaning, active));
    }
    let Found::Decl(id) = view.names.find(file, &[name]) else { return None };
    let part = view.names.decl(id);
    if part.kind != DeclKind::Part {
        return None;
    }
    let source = |(name, _): &(Span, Option<Span>)| {
        let (_, arguments) = part.entry.args().first().and_then(Arg::expr)?.call()?;
        let own = arguments.iter().find(|argument| argument.name == Some(*name));
        own.map(|argument| view.slice(argument.span).to_owned())
    };
    let own = parameters(part);
    let names: Vec<String> = own.iter().filter_map(source).collect();
    // A parameter is given by its name, in whatever order.
    let begun = (start + 1..before).rev().take_while(|index| kinds.get(*index) != Some(&Kind::Comma)).last();
    let word = begun.map_or("", |index| view.slice(table.span(index)));
    let active = own.iter().position(|parameter| view.slice(parameter.0) == word).unwrap_or(commas);
    let about = part.entry.doc().map(|doc| crate::emit::plain_doc(view.slice(doc))).unwrap_or_default();
    Some(written(name, &names, &about, active))
}

fn written(name: &str, parameters: &[String], about: &str, active: usize) -> Signature {
    let mut text = format!("{name}(");
    let mut places = Vec::new();
    for (index, parameter) in parameters.iter().enumerate() {
        if index > 0 {
            text.push_str(", ");
        }
        let small = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
        let start = small(text.len());
        text.push_str(parameter);
        places.push((start, small(text.len())));
    }
    text.push(')');
    let active = (active < parameters.len()).then(|| u32::try_from(active).unwrap_or(0));
    Signature { text, about: about.to_owned(), parameters: places, active }
}
