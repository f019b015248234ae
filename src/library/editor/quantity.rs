//! Quantities as they are written, and the same in the other system of units.

use std::fmt::Write;

use crate::library::editor::around::Around;
use crate::library::editor::hover::Hover;
use crate::library::editor::view::{View, touches};
use crate::names::DeclKind;
use crate::syntax::{Arg, Argument, Expr, ExprKind, Operator};
use crate::text::Span;
use crate::types::{Checker, Env};
use crate::units::{
    Kind, Literal, Quantity, Unit, preferred_unit, rule_inches, show_quantity, show_rounded, show_rounded_range,
};

/// Units of the one system whose kinds have a unit in the other: what marks a quantity as imperial.
const IMPERIAL: [&str; 13] =
    ["in", "ft", "thou", "in2", "ft2", "thou2", "in3", "ft3", "degF", "delta_degF", "lb", "lbf", "cmil"];

/// Digits of a figure that is shown beside what was written.
const DIGITS: usize = 5;

/// A quantity that was written: its value, its unit, and its place.
pub(super) struct Written {
    pub quantity: Quantity,
    pub unit: Unit,
    pub span: Span,
    /// Whether it consists of numbers with their units, with nothing named or computed.
    pub literal: bool,
}

/// The innermost quantity around a place.
pub(super) fn written(view: &View<'_>, around: &Around<'_, '_>, at: u32) -> Option<Written> {
    let decl = around.decl?;
    let level = around.innermost()?;
    let expr = level.entry.args().iter().find_map(|arg| within(arg, at))?;
    let atom = atom(expr, at).unwrap_or(expr);
    let mut checker = Checker::new(&view.loaded.files, &view.names);
    let parameters =
        if decl.kind == DeclKind::Part { checker.part_header(decl).unwrap_or_default() } else { Vec::new() };
    let env = Env::of(decl).with_parameters(&parameters);
    let quantity = checker.quantity(env, atom, None)?;
    let unit = match checker.written_unit(env, atom) {
        Some(unit) => unit,
        None => preferred_unit(kind_of(&quantity)?, false)?,
    };
    let literal = is_literal(atom);
    Some(Written { quantity, unit, span: atom.span(), literal })
}

fn is_literal(expr: &Expr) -> bool {
    match expr.kind() {
        ExprKind::Measure(_) => true,
        ExprKind::Deviating(inner, ..) => is_literal(inner),
        ExprKind::Binary(left, Operator::PlusMinus | Operator::Range, _, right) => {
            is_literal(left) && is_literal(right)
        }
        _ => false,
    }
}

fn within(arg: &Arg, at: u32) -> Option<&Expr> {
    match arg {
        Arg::Expr(expr) => parts_within(expr, at),
        Arg::List(list) => list.items.iter().find(|item| touches(item.span(), at)),
        _ => None,
    }
}

/// The expression, or the value of an argument of it, around a place.
fn parts_within(expr: &Expr, at: u32) -> Option<&Expr> {
    let value = |argument: &Argument| argument.value.as_ref().is_some_and(|value| touches(value.span(), at));
    match expr.kind() {
        ExprKind::Call(_, arguments) => match arguments.iter().find(|argument| value(argument)) {
            Some(argument) => argument.value.as_ref(),
            None => touches(expr.span(), at).then_some(expr),
        },
        _ => touches(expr.span(), at).then_some(expr),
    }
}

/// The smallest expression around a place that is a quantity with what is known of it: a number with its unit, a range,
/// or a number with its tolerance.
fn atom(expr: &Expr, at: u32) -> Option<&Expr> {
    if !touches(expr.span(), at) {
        return None;
    }
    match expr.kind() {
        ExprKind::Measure(measure) => measure.unit.is_some().then_some(expr),
        ExprKind::Deviating(..) | ExprKind::Binary(_, Operator::PlusMinus | Operator::Range, _, _) => Some(expr),
        ExprKind::Binary(left, _, _, right) => atom(left, at).or_else(|| atom(right, at)),
        ExprKind::Paren(inner) | ExprKind::Negate(inner) => atom(inner, at),
        ExprKind::Call(_, arguments) => arguments.iter().find_map(|argument| atom(argument.value.as_ref()?, at)),
        ExprKind::Choice(test, yes, no) => [test, yes, no].into_iter().find_map(|expr| atom(expr, at)),
        ExprKind::Path(_) | ExprKind::Figure(..) | ExprKind::Deviations(..) => None,
    }
}

/// The kind of a quantity, as far as its dimension tells it.
pub(super) fn kind_of(quantity: &Quantity) -> Option<Kind> {
    if quantity.point { Some(Kind::Temperature) } else { Kind::of_dimension(quantity.dimension) }
}

/// The unit of the other system for a quantity; none where both systems share one.
pub(super) fn other_unit(quantity: &Quantity, unit: &Unit) -> Option<Unit> {
    let kind = kind_of(quantity)?;
    let text = unit.to_string();
    let imperial = text.split(|c: char| !(c.is_alphanumeric() || c == '_')).any(|word| IMPERIAL.contains(&word));
    let other = match (kind, imperial) {
        (Kind::LinePower, false) => Unit::parse("W/in").ok()?,
        (Kind::LinePower, true) => Unit::parse("W/cm").ok()?,
        (kind, imperial) => preferred_unit(kind, !imperial)?,
    };
    (other != *unit && other.to_string() != text && is_other_system(&other, imperial)).then_some(other)
}

fn is_other_system(unit: &Unit, imperial: bool) -> bool {
    let text = unit.to_string();
    text.split(|c: char| !(c.is_alphanumeric() || c == '_')).any(|word| IMPERIAL.contains(&word)) != imperial
}

/// A quantity in a unit, rounded for people, in a form that the language reads.
pub(super) fn rounded(quantity: &Quantity, unit: &Unit) -> String {
    let value = &quantity.value;
    let nominal = show_rounded(value.nominal(), unit, DIGITS);
    if value.is_exact() {
        return nominal;
    }
    let (low, high, middle) = (value.low(), value.high(), value.nominal());
    let centred = ((high - middle) - (middle - low)).abs() <= 1e-9 * (high - low).abs();
    if quantity.point || quantity.percent || !centred {
        return show_rounded_range(low, high, unit, DIGITS);
    }
    format!("{nominal} ± {}", show_rounded(high - middle, &unit.as_difference(), DIGITS))
}

/// What to show of a quantity: its bounds, and both again in the other system.
pub(super) fn both_systems(view: &View<'_>, around: &Around<'_, '_>, at: u32) -> Option<Hover> {
    let Written { quantity, unit, span, literal } = written(view, around, at)?;
    let kind = kind_of(&quantity).map_or("quantity", Kind::plain);
    let own = if literal { view.slice(span).to_owned() } else { show_quantity(&quantity, &unit) };
    let mut text = format!("{kind} `{own}`");
    if let Some(other) = other_unit(&quantity, &unit) {
        let _ = write!(text, " = `{}`", rounded(&quantity, &other));
        if other.to_string() == "in"
            && let Some(rule) = rule_inches(quantity.value.nominal())
        {
            let _ = write!(text, ", about {} on a rule", rule.text);
        }
    }
    if !quantity.value.is_exact() {
        let value = &quantity.value;
        let _ = write!(text, "\n\nknown to `{}`", show_rounded_range(value.low(), value.high(), &unit, DIGITS));
        if let Some(other) = other_unit(&quantity, &unit) {
            let _ = write!(text, " = `{}`", show_rounded_range(value.low(), value.high(), &other, DIGITS));
        }
    }
    Some(Hover { text, span })
}

/// The text of a quantity in the other system, and whether it is exactly the same value.
pub(super) fn converted(written: &Written) -> Option<(String, bool)> {
    let other = other_unit(&written.quantity, &written.unit)?;
    let text = rounded(&written.quantity, &other);
    let same = written.quantity.value.is_exact() && {
        let number = text.strip_suffix(&other.to_string()).unwrap_or(&text).trim();
        let read = Literal::parse(number).ok().and_then(|number| number.to_si(&other).ok());
        let nominal = written.quantity.value.nominal();
        read.is_some_and(|read| (read - nominal).abs() <= 1e-12 * nominal.abs())
    };
    Some((text, same))
}
