//! The shape of a text: what it declares, what can be folded away, what a selection grows to.

use crate::library::editor::around::tokens_before;
use crate::library::editor::view::{View, touches};
use crate::names::{Decl, DeclKind};
use crate::syntax::{Arg, Block, Entry, Expr, ExprKind};
use crate::text::{FileId, Span};

/// A line of the outline.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What it is called.
    pub name: String,
    /// What it is: `recipe`, `arm`.
    pub detail: String,
    /// The kind of declaration; none for what stands within one.
    pub kind: Option<DeclKind>,
    /// All of it.
    pub span: Span,
    /// Its name.
    pub name_span: Span,
    /// What stands within it.
    pub items: Vec<Item>,
}

/// What can be folded away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fold {
    /// From the line that stays to the line that is the last to go.
    pub span: Span,
    /// Whether it is a run of comments.
    pub comment: bool,
}

/// What a file declares, with the named entries within.
pub fn outline(view: &View<'_>, file: FileId) -> Vec<Item> {
    view.decls(file).map(|decl| item(view, decl)).collect()
}

fn item(view: &View<'_>, decl: &Decl<'_>) -> Item {
    Item {
        name: decl.name.clone(),
        detail: decl.kind.word().to_owned(),
        kind: Some(decl.kind),
        span: decl.entry.span(),
        name_span: decl.name_span,
        items: decl.entry.block().iter().flat_map(|block| items(view, block)).collect(),
    }
}

/// The entries of a block that have a block themselves or give a name.
fn items(view: &View<'_>, block: &Block) -> Vec<Item> {
    let item = |entry: &Entry| {
        let head = entry.head()?;
        let named =
            entry.args().iter().zip(entry.args().iter().skip(1)).find(|(word, _)| view.slice(word.span()) == "as");
        let word = view.slice(head);
        if entry.block().is_none() && named.is_none() {
            return None;
        }
        // `bend up 90 deg … as lip` is known by its name, `bend lip { … }` by what follows its head.
        let label = match (named, entry.args().first()) {
            (Some((_, name)), _) => Some(name.span()),
            (None, Some(arg)) => Some(arg.span()),
            (None, None) => None,
        };
        let name = label.map_or_else(|| word.to_owned(), |label| format!("{word} {}", view.slice(label)));
        let items = entry.block().iter().flat_map(|block| items(view, block)).collect();
        Some(Item {
            name,
            detail: String::new(),
            kind: None,
            span: entry.span(),
            name_span: label.unwrap_or(head),
            items,
        })
    };
    block.entries.iter().filter_map(item).collect()
}

/// The declarations of the library whose name holds every letter of `query` in turn, in the order of files.
pub fn symbols(view: &View<'_>, query: &str) -> Vec<Item> {
    let fits = |name: &str| {
        let mut letters = name.chars();
        query.chars().flat_map(char::to_lowercase).all(|wanted| letters.any(|letter| letter == wanted))
    };
    let own = view.names.decls().iter().filter(|decl| !decl.catalogue && fits(&decl.name));
    own.map(|decl| Item { items: Vec::new(), ..item(view, decl) }).collect()
}

/// Blocks and runs of comments that take more than one line.
pub fn folds(view: &View<'_>, file: FileId) -> Vec<Fold> {
    let Some(parsed) = view.loaded.parsed.get(file.0 as usize) else { return Vec::new() };
    let lines = view.loaded.files.get(file).lines();
    let mut folds = Vec::new();
    blocks(&parsed.tree.entries, &mut folds);
    let mut run: Option<Span> = None;
    for comment in parsed.table(view.text(file)).comments().iter().filter(|comment| comment.alone) {
        let next = |run: Span| lines.line_of(run.end) + 1 == lines.line_of(comment.span.start);
        run = match run {
            Some(before) if next(before) => Some(before.to(comment.span)),
            Some(before) => {
                folds.push(Fold { span: before, comment: true });
                Some(comment.span)
            }
            None => Some(comment.span),
        };
    }
    folds.extend(run.map(|span| Fold { span, comment: true }));
    folds.retain(|fold| lines.line_of(fold.span.start) < lines.line_of(fold.span.end));
    folds.sort_by_key(|fold| fold.span);
    folds
}

fn blocks(entries: &[Entry], folds: &mut Vec<Fold>) {
    for entry in entries {
        if let Some(block) = entry.block() {
            folds.push(Fold { span: block.span, comment: false });
            blocks(&block.entries, folds);
        }
    }
}

/// What a selection at a place grows to, from the word to the whole text.
pub fn selections(view: &View<'_>, file: FileId, at: u32) -> Vec<Span> {
    let Some(parsed) = view.loaded.parsed.get(file.0 as usize) else { return Vec::new() };
    let length = u32::try_from(view.text(file).len()).unwrap_or(u32::MAX);
    let mut found = vec![Span::new(file, 0, length)];
    entries(&parsed.tree.entries, at, &mut found);
    let table = parsed.table(view.text(file));
    let next = table.span(tokens_before(table, at));
    let token = Some(next).filter(|span| touches(*span, at) && span.end > at);
    let comment = table.comments().iter().map(|comment| comment.span).find(|span| touches(*span, at));
    found.extend(token.or(comment));
    // From the inside out, each larger than the one before.
    found.reverse();
    let mut grown: Vec<Span> = Vec::new();
    for span in found {
        match grown.last() {
            Some(last) if span.start > last.start || span.end < last.end || span == *last => {}
            _ => grown.push(span),
        }
    }
    grown
}

fn entries(all: &[Entry], at: u32, found: &mut Vec<Span>) {
    let Some(entry) = all.iter().rev().find(|entry| touches(entry.span(), at)) else { return };
    found.push(entry.doc().map_or(entry.span(), |doc| doc.to(entry.span())));
    found.push(entry.span());
    if touches(entry.line(), at) {
        found.push(entry.line());
    }
    for arg in entry.args() {
        if touches(arg.span(), at) {
            found.push(arg.span());
            match arg {
                Arg::Expr(expr) => exprs(expr, at, found),
                Arg::List(list) => list.items.iter().for_each(|item| exprs(item, at, found)),
                _ => {}
            }
        }
    }
    if let Some(block) = entry.block()
        && touches(block.span, at)
    {
        found.push(block.span);
        entries(&block.entries, at, found);
    }
}

fn exprs(expr: &Expr, at: u32, found: &mut Vec<Span>) {
    if !touches(expr.span(), at) {
        return;
    }
    found.push(expr.span());
    match expr.kind() {
        ExprKind::Paren(inner) | ExprKind::Negate(inner) | ExprKind::Deviating(inner, ..) => exprs(inner, at, found),
        ExprKind::Binary(left, _, _, right) => {
            exprs(left, at, found);
            exprs(right, at, found);
        }
        ExprKind::Call(_, arguments) => {
            for argument in arguments.iter().filter(|argument| touches(argument.span, at)) {
                found.push(argument.span);
                if let Some(value) = &argument.value {
                    exprs(value, at, found);
                }
            }
        }
        ExprKind::Choice(test, yes, no) => [test, yes, no].into_iter().for_each(|expr| exprs(expr, at, found)),
        ExprKind::Path(_) | ExprKind::Figure(..) | ExprKind::Measure(_) | ExprKind::Deviations(..) => {}
    }
}
