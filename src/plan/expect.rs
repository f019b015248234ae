//! The outcome of `expect` over everything that is known.

use crate::plan::wording;
use crate::syntax::{Expr, ExprKind, Operator};
use crate::text::Span;
use crate::types::figures::{FigureSource, Figures};
use crate::types::{CheckedBlock, Checker, Env};
use crate::units::{Bounded, Kind, Quantity, Unit, Verdict, preferred_unit, show_rounded, show_rounded_range};

/// Checks every `expect` of a block; what does not hold is reported.
pub fn expectations(checker: &mut Checker<'_, '_>, env: Env<'_>, block: &CheckedBlock<'_>, figures: &dyn FigureSource) {
    let env = env.with_figures(Figures::new(figures));
    for entry in block.entries_of("expect") {
        let Some((left, right, span)) = entry.expectation("expectation") else { continue };
        let env = Env { file: entry.file, ..env };
        match right {
            Some(range) => within(checker, env, (left, range), span),
            None => comparison(checker, env, left, span),
        }
    }
}

/// Checks the kinds of every `expect` of a block where there is no plan to take figures from.
pub fn expectations_by_kind(checker: &mut Checker<'_, '_>, env: Env<'_>, block: &CheckedBlock<'_>) {
    let found = checker.faults.len();
    expectations(checker, env, block, &crate::types::figures::StandIns);
    // With stand-ins for the figures, only the kinds mean anything.
    let kept: Vec<_> = checker
        .faults
        .split_off(found)
        .into_iter()
        .filter(|fault| !matches!(fault.name(), "expectation-fails" | "expectation-undecided"))
        .collect();
    checker.faults.extend(kept);
}

fn comparison(checker: &mut Checker<'_, '_>, env: Env<'_>, expr: &Expr, span: Span) {
    let ExprKind::Binary(left, operator, _, right) = expr.kind() else {
        if checker.value(env, expr, None).is_some() {
            checker.faults.push(wording::expectation_not_a_comparison(span));
        }
        return;
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
        return;
    };
    let (Some(a), Some(b)) = (checker.quantity(env, left, None), checker.quantity(env, right, None)) else { return };
    let shown = shown(&a, checker.written_unit(env, right));
    // What must not rise above 0 for the comparison to hold.
    let excess = match operator {
        Operator::Less | Operator::LessOrEqual => a.sub(&b),
        Operator::Greater | Operator::GreaterOrEqual => b.sub(&a),
        _ => {
            judge(checker, verdict, None, span, &shown);
            return;
        }
    };
    let excess = excess.ok().map(|excess| excess.value);
    judge(checker, verdict, excess.as_ref(), span, &shown);
}

fn within(checker: &mut Checker<'_, '_>, env: Env<'_>, (left, range): (&Expr, &Expr), span: Span) {
    let unit = checker.written_unit(env, range);
    let value = checker.quantity(env, left, None);
    let range = checker.quantity(env, range, None);
    let (Some(value), Some(range)) = (value, range) else { return };
    let limit = |at: f64| Bounded::exact(at).ok().map(|at| Quantity { value: at, ..range.clone() });
    let (Some(low), Some(high)) = (limit(range.value.low()), limit(range.value.high())) else { return };
    let (above, below) = match (low.compare_at_most(&value), value.compare_at_most(&high)) {
        (Ok(above), Ok(below)) => (above, below),
        (Err(error), _) | (_, Err(error)) => {
            let operands = [left];
            let fault = checker.operation_fault(&error, span, &operands);
            checker.faults.push(fault);
            return;
        }
    };
    let verdict = match (above, below) {
        (Verdict::Always, Verdict::Always) => Verdict::Always,
        (Verdict::Never, _) | (_, Verdict::Never) => Verdict::Never,
        _ => Verdict::Undecided,
    };
    let sides = [low.sub(&value), value.sub(&high)].map(|excess| excess.ok().map(|excess| excess.value));
    let worst = sides.into_iter().flatten().max_by(|a, b| a.high().total_cmp(&b.high()));
    judge(checker, verdict, worst.as_ref(), span, &shown(&value, unit));
}

/// Reports what does not hold. `excess` is what must not rise above 0.
fn judge(checker: &mut Checker<'_, '_>, verdict: Verdict, excess: Option<&Bounded>, span: Span, shown: &str) {
    let fault = match verdict {
        Verdict::Always => return,
        Verdict::Never => wording::expectation_fails(span, shown, true),
        // A corner where it fails is attained whatever the error term hides; else the bounds are just too wide.
        Verdict::Undecided if excess.is_some_and(|excess| excess.nominal() > 0.0 || excess.attained().1 > 0.0) => {
            let fault = wording::expectation_fails(span, shown, false);
            corner(checker, excess, fault)
        }
        Verdict::Undecided => wording::expectation_undecided(span, shown),
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
