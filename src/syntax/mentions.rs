//! The names that an entry mentions.

use crate::syntax::{Arg, Entry, Expr, ExprKind, Path};
use crate::text::Span;

/// Tells of every dotted name in an entry and its block, and of the name of every call, whatever they mean.
pub fn mentions(entry: &Entry, tell: &mut dyn FnMut(&[Span])) {
    for arg in &entry.args {
        match arg {
            Arg::Expr(expr) => in_expr(expr, tell),
            Arg::List(items, _) => items.iter().for_each(|item| in_expr(item, tell)),
            Arg::Word(_) | Arg::Text(_) | Arg::Date(_) | Arg::Equals(_) | Arg::Rule(_) => {}
        }
    }
    for inner in entry.block.iter().flat_map(|block| &block.entries) {
        mentions(inner, tell);
    }
}

fn in_path(path: &Path, tell: &mut dyn FnMut(&[Span])) {
    let words: Vec<Span> = path.parts.iter().map(|part| part.0).collect();
    tell(&words);
    for index in path.parts.iter().filter_map(|part| part.1.as_deref()) {
        in_expr(index, tell);
    }
}

fn in_expr(expr: &Expr, tell: &mut dyn FnMut(&[Span])) {
    match &expr.kind {
        ExprKind::Path(path) => in_path(path, tell),
        ExprKind::Figure(_, _, paths) => paths.iter().for_each(|path| in_path(path, tell)),
        ExprKind::Measure(_) | ExprKind::Deviations(..) => {}
        ExprKind::Paren(inner) | ExprKind::Negate(inner) | ExprKind::Deviating(inner, ..) => in_expr(inner, tell),
        ExprKind::Binary(left, _, _, right) => {
            in_expr(left, tell);
            in_expr(right, tell);
        }
        ExprKind::Call(name, arguments) => {
            tell(&[*name]);
            for value in arguments.iter().filter_map(|argument| argument.value.as_ref()) {
                in_expr(value, tell);
            }
        }
        ExprKind::Choice(test, yes, no) => {
            in_expr(test, tell);
            in_expr(yes, tell);
            in_expr(no, tell);
        }
    }
}
