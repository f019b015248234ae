//! The names that an entry mentions.

use crate::syntax::{Arg, Entry, Expr, ExprKind, Path};
use crate::text::Span;

/// Tells of every dotted name in an entry and its block, and of the name of every call, whatever they mean.
pub fn mentions(entry: &Entry, tell: &mut dyn FnMut(&[Span])) {
    for arg in &entry.args {
        match arg {
            Arg::Expr(expr) => in_expr(expr, tell),
            Arg::List(list) => list.items.iter().for_each(|item| in_expr(item, tell)),
            Arg::Word(_) | Arg::Text(_) | Arg::Date(_) | Arg::Equals(_) | Arg::Rule(_) => {}
        }
    }
    for inner in entry.inner() {
        mentions(inner, tell);
    }
}

fn in_path(path: Path<'_>, tell: &mut dyn FnMut(&[Span])) {
    match path.single() {
        Some(word) => tell(&[word]),
        None => tell(&path.words().collect::<Vec<_>>()),
    }
    for index in path.indexes() {
        in_expr(index, tell);
    }
}

fn in_expr(expr: &Expr, tell: &mut dyn FnMut(&[Span])) {
    match expr.kind() {
        ExprKind::Path(path) => in_path(path, tell),
        ExprKind::Figure(_, _, path) => path.into_iter().for_each(|path| in_path(path, tell)),
        ExprKind::Measure(_) | ExprKind::Deviations(..) => {}
        ExprKind::Paren(inner) | ExprKind::Negate(inner) | ExprKind::Deviating(inner, ..) => in_expr(inner, tell),
        ExprKind::Binary(left, _, _, right) => {
            in_expr(left, tell);
            in_expr(right, tell);
        }
        ExprKind::Call(name, arguments) => {
            tell(&[name]);
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
