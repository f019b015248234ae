//! The outcome of `expect` over everything that is known.

use crate::plan::wording;
use crate::syntax::{Expr, ExprKind, Operator};
use crate::text::Span;
use crate::types::figures::{FigureSource, Figures, StandIns};
use crate::types::{CheckedBlock, Checker, Env};
use crate::units::{Bounded, Kind, Quantity, Unit, Verdict, preferred_unit, show_rounded, show_rounded_range};

/// What came of an `expect` whose two sides are of one kind.
struct Outcome {
    verdict: Verdict,
    /// What must not rise above 0 for it to hold.
    excess: Option<Bounded>,
    span: Span,
    /// The figure, and the unit that its limit is written in.
    figure: Quantity,
    unit: Option<Unit>,
}

/// Checks every `expect` of a block; what does not hold is reported.
pub fn expectations(checker: &mut Checker<'_, '_>, env: Env<'_>, block: &CheckedBlock<'_>, figures: &dyn FigureSource) {
    each(checker, env, block, figures, judge);
}

/// Checks the kinds of every `expect` of a block where there is no plan to take figures from: with stand-ins for them,
/// the outcome means nothing.
pub fn expectations_by_kind(checker: &mut Checker<'_, '_>, env: Env<'_>, block: &CheckedBlock<'_>) {
    each(checker, env, block, &StandIns, |_, _| ());
}

fn each<'n, 't>(
    checker: &mut Checker<'n, 't>,
    env: Env<'_>,
    block: &CheckedBlock<'_>,
    figures: &dyn FigureSource,
    judge: impl Fn(&mut Checker<'n, 't>, &Outcome),
) {
    let env = env.with_figures(Figures::new(figures));
    for entry in block.entries_of("expect") {
        let Some((left, right, span)) = entry.expectation("expectation") else { continue };
        let env = Env { file: entry.file, ..env };
        let outcome = match right {
            Some(range) => within(checker, env, (left, range), span),
            None => comparison(checker, env, left, span),
        };
        if let Some(outcome) = outcome {
            judge(checker, &outcome);
        }
    }
}

fn comparison(checker: &mut Checker<'_, '_>, env: Env<'_>, expr: &Expr, span: Span) -> Option<Outcome> {
    let ExprKind::Binary(left, operator, _, right) = expr.kind() else {
        if checker.value(env, expr, None).is_some() {
            checker.faults.push(wording::expectation_not_a_comparison(span));
        }
        return None;
    };
    // The comparison itself checks that both sides are of one kind.
    let Some(crate::types::Value::Truth(verdict)) = checker.value(env, expr, None) else {
        if !matches!(
            operator,
            Operator::Less
                | Operator::LessOrEqual
                | Operator::Greater
                | Operator::GreaterOrEqual
                | Operator::Equal
                | Operator::NotEqual
        ) {
            checker.faults.push(wording::expectation_not_a_comparison(span));
        }
        return None;
    };
    let (a, b) = (checker.quantity(env, left, None), checker.quantity(env, right, None));
    let (figure, limit) = (a?, b?);
    let unit = checker.written_unit(env, right);
    let excess = match operator {
        Operator::Less | Operator::LessOrEqual => figure.sub(&limit).ok(),
        Operator::Greater | Operator::GreaterOrEqual => limit.sub(&figure).ok(),
        _ => None,
    };
    Some(Outcome { verdict, excess: excess.map(|excess| excess.value), span, figure, unit })
}

fn within(checker: &mut Checker<'_, '_>, env: Env<'_>, (left, range): (&Expr, &Expr), span: Span) -> Option<Outcome> {
    let unit = checker.written_unit(env, range);
    let value = checker.quantity(env, left, None);
    let range = checker.quantity(env, range, None);
    let (value, range) = (value?, range?);
    let limit = |at: f64| Bounded::exact(at).ok().map(|at| Quantity { value: at, ..range.clone() });
    let (low, high) = (limit(range.value.low())?, limit(range.value.high())?);
    let (above, below) = match (low.compare_at_most(&value), value.compare_at_most(&high)) {
        (Ok(above), Ok(below)) => (above, below),
        (Err(error), _) | (_, Err(error)) => {
            let operands = [left];
            let fault = checker.operation_fault(&error, span, &operands);
            checker.faults.push(fault);
            return None;
        }
    };
    let verdict = match (above, below) {
        (Verdict::Always, Verdict::Always) => Verdict::Always,
        (Verdict::Never, _) | (_, Verdict::Never) => Verdict::Never,
        _ => Verdict::Undecided,
    };
    let sides = [low.sub(&value), value.sub(&high)].map(|excess| excess.ok().map(|excess| excess.value));
    let excess = sides.into_iter().flatten().max_by(|a, b| a.high().total_cmp(&b.high()));
    Some(Outcome { verdict, excess, span, figure: value, unit })
}

/// Reports what does not hold.
fn judge(checker: &mut Checker<'_, '_>, outcome: &Outcome) {
    let Outcome { verdict, ref excess, span, ref figure, ref unit } = *outcome;
    let shown = || shown(figure, unit.clone());
    let fault = match verdict {
        Verdict::Always => return,
        Verdict::Never => wording::expectation_fails(span, &shown(), true),
        // A corner where it fails is attained whatever the error term hides; else the bounds are just too wide.
        Verdict::Undecided
            if excess.as_ref().is_some_and(|excess| excess.nominal() > 0.0 || excess.attained().1 > 0.0) =>
        {
            corner(checker, excess.as_ref(), wording::expectation_fails(span, &shown(), false))
        }
        Verdict::Undecided => wording::expectation_undecided(span, &shown()),
    };
    checker.faults.push(fault);
}

/// Names the corner of the unknowns in which it fails: those that move the figure most.
fn corner(
    checker: &Checker<'_, '_>,
    excess: Option<&Bounded>,
    fault: crate::report::Diagnostic,
) -> crate::report::Diagnostic {
    let Some(excess) = excess else { return fault };
    let mut sources: Vec<_> = excess.sources().collect();
    sources.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()).then(a.0.cmp(&b.0)));
    let named = sources.iter().filter_map(|(source, coefficient)| {
        let end = if *coefficient > 0.0 { "at its highest" } else { "at its lowest" };
        Some((checker.source_place(*source)?, end))
    });
    named.take(3).fold(fault, |fault, (span, end)| fault.also(span, format!("it fails with this {end}")))
}

/// The figure with its bounds, as the author would write it.
fn shown(value: &Quantity, written: Option<Unit>) -> String {
    let kind = if value.point { Some(Kind::Temperature) } else { Kind::of_dimension(value.dimension) };
    let written = written.filter(|unit| unit.dimension() == value.dimension && unit.is_point() == value.point);
    let Some(unit) = written.or_else(|| preferred_unit(kind?, false)) else { return "as computed".to_owned() };
    let (nominal, low, high) = (value.value.nominal(), value.value.low(), value.value.high());
    if value.value.is_exact() {
        return format!("it is {}", show_rounded(nominal, &unit, 5));
    }
    format!("it is {}, known to {}", show_rounded(nominal, &unit, 5), show_rounded_range(low, high, &unit, 5))
}
