//! What fits at a place: entries that are still missing first, then whatever the schema takes there.

use crate::library::editor::around::{around, tokens_before};
use crate::library::editor::follow::follow;
use crate::library::editor::hover::entry;
use crate::library::editor::offer::{Offer, Offers};
use crate::library::editor::view::View;
use crate::names::DeclKind;
use crate::syntax::{Entry, Kind as Token, parse};
use crate::text::{FileId, Files, SourceFile, Span};
use crate::types::schema::{BlockSchema, Many, Part, Presence, declaration};
use crate::types::usage;

/// What fits at the byte `at` of a file, and the bytes that it replaces.
pub fn complete(view: &View<'_>, file: FileId, at: u32) -> (Vec<Offer>, Span) {
    let (prefix, is_text) = prefix(view, file, at);
    let mut offers = Offers::new(view, file);
    if is_text {
        offers.files();
        return (offers.done(), prefix);
    }
    match before(view, file, prefix.start) {
        Before::Entry(entry) => behind(view, &mut offers, entry, prefix.start),
        Before::Nothing => heads(view, &mut offers, prefix.start),
    }
    (offers.done(), prefix)
}

/// The word that is being written, or the text in quotes of a `use`; whether it is such a text.
fn prefix(view: &View<'_>, file: FileId, at: u32) -> (Span, bool) {
    let text = view.text(file).get(..at as usize).unwrap_or("");
    let line = text.rsplit('\n').next().unwrap_or("");
    let quotes = line.matches('"').count();
    let begins = |start: usize| Span::new(file, u32::try_from(text.len() - line.len() + start).unwrap_or(at), at);
    if quotes % 2 == 1 && line.trim_start().starts_with("use") {
        return (begins(line.rfind('"').map_or(0, |quote| quote + 1)), true);
    }
    // The names of rules have hyphens, and only they.
    let hyphens = line.trim_start().starts_with("accept ");
    let is_part = |c: char| c.is_alphanumeric() || c == '_' || (hyphens && c == '-');
    let start = line.trim_end_matches(is_part).len();
    (begins(start), false)
}

/// What stands before a word.
enum Before {
    /// An entry that it goes on with: its last byte.
    Entry(u32),
    /// Nothing on its line: it begins an entry.
    Nothing,
}

fn before(view: &View<'_>, file: FileId, at: u32) -> Before {
    let Some(parsed) = view.loaded.parsed.get(file.0 as usize) else { return Before::Nothing };
    let table = parsed.table(view.text(file));
    let kinds = table.kinds();
    let count = tokens_before(table, at);
    let Some(last) = count.checked_sub(1) else { return Before::Nothing };
    let span = table.span(last);
    let gap = view.slice(Span::new(file, span.end, at));
    let kind = kinds.get(last).copied();
    let inside_list = || {
        let depth = kinds.iter().take(count).fold(0_i32, |depth, kind| match kind {
            Token::OpenBracket | Token::IndexBracket | Token::OpenParen | Token::CallParen => depth + 1,
            Token::CloseBracket | Token::CloseParen => depth - 1,
            Token::OpenBrace | Token::CloseBrace => 0,
            _ => depth,
        });
        depth > 0
    };
    match kind {
        Some(Token::OpenBrace | Token::CloseBrace) => Before::Nothing,
        Some(Token::Comma) if !inside_list() => Before::Nothing,
        Some(kind) if gap.contains('\n') && !kind.wants_more() => Before::Nothing,
        _ => Before::Entry(span.start),
    }
}

/// Words that begin an entry, or a declaration.
fn heads(view: &View<'_>, offers: &mut Offers<'_, '_>, at: u32) {
    let around = around(view, offers.file, at);
    let Some(level) = around.block_at(at) else {
        for kind in DeclKind::ALL {
            let meaning = declaration(kind).map_or("A named expression.", |block| block.meaning);
            offers.word(kind.word(), kind.word(), meaning, 1);
        }
        offers.word("use", "use", "Brings in what another file declares.", 1);
        return;
    };
    let Some(schema) = level.inside else { return };
    let there: Vec<&str> = level
        .entry
        .block()
        .iter()
        .flat_map(|block| &block.entries)
        .filter_map(Entry::head)
        // What is being written there is not there yet.
        .filter(|head| head.start != at)
        .map(|head| view.slice(head))
        .collect();
    entries(offers, schema, &there);
}

fn entries(offers: &mut Offers<'_, '_>, schema: &'static BlockSchema, there: &[&str]) {
    for known in schema.entries {
        let is_there = there.contains(&known.word) || known.instead_of.iter().any(|other| there.contains(other));
        if is_there && known.many == Many::Once {
            continue;
        }
        let missing = known.presence == Presence::Required && !is_there;
        let space = if known.pattern.is_empty() { " {  }" } else { " " };
        offers.add(Offer {
            insert: format!("{}{space}", known.word),
            detail: usage(known),
            about: entry(known),
            group: u8::from(!missing),
            ..Offer::word(known.word)
        });
    }
}

/// What can follow what stands in an entry before the byte `at`.
fn behind(view: &View<'_>, offers: &mut Offers<'_, '_>, token: u32, at: u32) {
    let around = around(view, offers.file, token);
    let Some(level) = around.innermost() else { return };
    let Some(head) = level.entry.head() else { return };
    offers.decl = around.decl.map(|decl| decl.id);
    let written = view.slice(Span::new(offers.file, head.start, at)).to_owned();
    let Some(schema) = level.schema else { return header(offers, around.kind, &written) };
    // What stands there is read on its own: what is being written would only spoil it.
    let mut files = Files::new();
    let own = files.add(SourceFile::new("", written.clone()));
    let parsed = parse(own, &written);
    let args = parsed.tree.entries.last().map_or(&[][..], |entry| entry.args());
    let followed = follow(schema.pattern, args, &files);
    let end = written.trim_end().len();
    let last = followed.pieces.last().filter(|piece| piece.0.end as usize == end).map(|piece| piece.1);
    let number = parsed
        .table(&written)
        .kinds()
        .last()
        .is_some_and(|kind| matches!(kind, Token::Number | Token::Fraction | Token::Deviations));
    if number {
        // A number is there; its unit is not.
        // In a list that is not closed yet, nothing can be told but what the entry begins with.
        if let Some(part) = last.or(followed.next.first().copied()) {
            offers.units(part, &written);
        }
        return;
    }
    let tail: Vec<&str> = written.split_whitespace().collect();
    for part in followed.next {
        offers.part(part, &tail);
    }
    if let Some(part @ (Part::Quantity(..) | Part::List(..))) = last {
        // Behind an operator, another value.
        if written.trim_end().ends_with(['+', '-', '*', '/', '(', '[', ',']) {
            offers.part(part, &tail);
        }
    }
}

/// What can follow in the first line of a declaration.
fn header(offers: &mut Offers<'_, '_>, kind: Option<DeclKind>, written: &str) {
    let Some(kind) = kind else { return };
    let words: Vec<&str> = written.split_whitespace().collect();
    match (kind, words.as_slice()) {
        (_, [_]) => {}
        (_, [.., "from"]) => offers.names(&[kind]),
        (DeclKind::Recipe, [.., "for"]) => offers.names(&[DeclKind::Part]),
        (DeclKind::Recipe, [.., "on"]) => offers.names(&[DeclKind::Bench]),
        (DeclKind::Recipe, [.., "with"]) => offers.word("sheet", "sheet", "Another sheet than the part's.", 0),
        (DeclKind::Recipe, [.., "with", "sheet"]) => offers.names(&[DeclKind::Sheet]),
        (DeclKind::Recipe, [_, _]) => offers.word("for", "for", "The part that is made.", 0),
        (DeclKind::Recipe, words) if words.contains(&"for") && !words.contains(&"on") => {
            offers.word("on", "on", "The bench on which it is made.", 0);
            offers.word("with", "with sheet", "Another sheet than the part's.", 1);
        }
        (DeclKind::Part, _) if written.trim_end().ends_with(':') => offers.kinds(),
        (DeclKind::Let, _) if written.contains('=') => offers.values(None),
        (_, [_, _]) if kind.can_be_copied() => offers.word("from", "from", "Copies another one.", 0),
        _ => {}
    }
}
