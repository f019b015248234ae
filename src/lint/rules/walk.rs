//! What the rules about wording look for in the syntax of a declaration.

use std::collections::BTreeSet;

use crate::syntax::{Arg, Argument, Entry, Expr, ExprKind, Measure, Operator, Tree, UnitSyntax};
use crate::text::{Files, Span};

/// Visits every expression of an entry, its parts and its block.
fn visit<'t>(entry: &'t Entry, each: &mut impl FnMut(&'t Expr)) {
    for arg in entry.args() {
        match arg {
            Arg::Expr(expr) => within(expr, each),
            Arg::List(list) => list.items.iter().for_each(|expr| within(expr, each)),
            _ => {}
        }
    }
    for inner in entry.inner() {
        visit(inner, each);
    }
}

fn within<'t>(expr: &'t Expr, each: &mut impl FnMut(&'t Expr)) {
    each(expr);
    match expr.kind() {
        ExprKind::Paren(inner) | ExprKind::Negate(inner) | ExprKind::Deviating(inner, ..) => within(inner, each),
        ExprKind::Binary(left, _, _, right) => {
            within(left, each);
            within(right, each);
        }
        ExprKind::Call(_, arguments) => arguments.iter().filter_map(value).for_each(|value| within(value, each)),
        ExprKind::Choice(a, b, c) => [a, b, c].into_iter().for_each(|part| within(part, each)),
        ExprKind::Path(path) => path.indexes().for_each(|index| within(index, each)),
        ExprKind::Figure(..) | ExprKind::Measure(_) | ExprKind::Deviations(..) => {}
    }
}

fn value(argument: &Argument) -> Option<&Expr> {
    argument.value.as_ref()
}

/// The first words of all names in a file that may mean a declaration.
pub fn words<'f>(tree: &Tree, files: &'f Files) -> BTreeSet<&'f str> {
    let mut found = BTreeSet::new();
    for entry in &tree.entries {
        // The name that a declaration gives itself is no use of it; a `let` has no more words before its value.
        let own = entry.args().first().map(|arg| match arg {
            Arg::Expr(expr) => expr.call().map_or(expr.span(), |call| call.0),
            other => other.span(),
        });
        names(entry, &mut |span| {
            if Some(span) != own && entry.head().is_some_and(|head| files.slice(head) != "use") {
                found.insert(files.slice(span));
            }
        });
    }
    found
}

/// The same for one entry.
pub fn entry_words<'f>(entry: &Entry, files: &'f Files) -> BTreeSet<&'f str> {
    let mut found = BTreeSet::new();
    names(entry, &mut |span| {
        found.insert(files.slice(span));
    });
    found
}

fn names(entry: &Entry, each: &mut impl FnMut(Span)) {
    visit(entry, &mut |expr| match expr.kind() {
        ExprKind::Path(path) => path.words().take(1).for_each(&mut *each),
        // `part(height = 160 mm)`: the part is named by the call.
        ExprKind::Call(name, _) => each(name),
        _ => {}
    });
}

/// Bare length units of an entry, each with its place; what `expect` compares with is left out.
pub fn units<'f>(entry: &Entry, files: &'f Files) -> Vec<(&'f str, Span)> {
    let mut found = Vec::new();
    let mut add = |unit: Option<UnitSyntax<'_>>| {
        if let Some(span) = unit.and_then(|unit| unit.single()) {
            found.push((files.slice(span), span));
        }
    };
    let mut each = |expr: &Expr| match expr.kind() {
        ExprKind::Measure(measure) => add(measure.unit),
        ExprKind::Deviations(_, unit) | ExprKind::Deviating(_, _, unit) => add(unit),
        _ => {}
    };
    for inner in entry.inner() {
        if inner.head().is_some_and(|head| files.slice(head) != "expect") {
            visit(inner, &mut each);
        }
    }
    found
}

/// A number with its tolerance, both in the unit that is written.
pub struct Tolerated<'f> {
    /// The number as it is written.
    pub number: &'f str,
    /// Its place.
    pub span: Span,
    /// The unit as it is written.
    pub unit: &'f str,
    /// Half of what is known to either side.
    pub tolerance: f64,
}

/// Every `a ± b` of two plain numbers in an entry.
pub fn tolerated<'f>(entry: &Entry, files: &'f Files) -> Vec<Tolerated<'f>> {
    let mut found = Vec::new();
    visit(entry, &mut |expr| {
        if let ExprKind::Binary(left, Operator::PlusMinus, _, right) = expr.kind()
            && let (ExprKind::Measure(value), ExprKind::Measure(half)) = (left.kind(), right.kind())
        {
            found.extend(one(value, half, files));
        }
    });
    found
}

fn one<'f>(value: Measure<'_>, half: Measure<'_>, files: &'f Files) -> Option<Tolerated<'f>> {
    let plain = |measure: Measure<'_>| measure.number.whole.filter(|_| measure.number.fraction.is_none());
    let read = |span: Span| files.slice(span).replace('_', "").parse::<f64>().ok();
    let unit = |measure: Measure<'_>| measure.unit.map(|unit| files.slice(unit.span));
    let (span, other) = (plain(value)?, plain(half)?);
    let (number, size) = (read(span)?, read(other)?);
    let (own, of_half) = (unit(value), unit(half));
    let tolerance = match (own, of_half) {
        (_, Some("%")) if own != Some("%") => number * size / 100.0,
        (Some(own), Some(of_half)) if own != of_half => return None,
        _ => size,
    };
    Some(Tolerated { number: files.slice(span), span, unit: own.or(of_half).unwrap_or(""), tolerance })
}

/// Source text without comments, and with every stretch of blanks, line breaks and commas as one blank.
pub fn plain_text(text: &str) -> String {
    let (mut plain, mut quoted, mut comment) = (String::new(), false, false);
    for c in text.chars() {
        comment = (comment && c != '\n') || (c == '#' && !quoted && !comment);
        if comment {
            continue;
        }
        quoted ^= c == '"';
        let blank = !quoted && (c.is_whitespace() || c == ',');
        if !blank {
            plain.push(c);
        } else if !plain.ends_with(' ') {
            plain.push(' ');
        }
    }
    plain.trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::plain_text;

    #[test]
    fn comments_and_layout_do_not_count() {
        assert_eq!(plain_text(" a {\n  b 1 mm,  # so\n  c \"x, #y\" }"), "a { b 1 mm c \"x, #y\" }");
    }
}
