use crate::report::Diagnostic;
use crate::syntax::{Expr, ExprKind, Measure};
use crate::text::{Files, Span};
use crate::types::wording::{a, measured, mend};
use crate::units::{BoundsProblem, Facts, Kind, Operation, QuantityError};

/// Why two operands cannot be combined; `span` is the operator, or the whole.
pub fn operation(error: &QuantityError, span: Span, operands: &[&Expr], files: &Files) -> Diagnostic {
    let verb = verb(match error {
        QuantityError::Mismatch(operation, _)
        | QuantityError::Point(operation, _)
        | QuantityError::Wanted(operation, ..)
        | QuantityError::Dimension(operation)
        | QuantityError::Bounds(operation, _) => *operation,
        QuantityError::PercentOfPoint(_)
        | QuantityError::PercentOfPercent(_)
        | QuantityError::NegativeTolerance(_)
        | QuantityError::VagueTolerance(_) => Operation::Tolerance,
        QuantityError::Reversed(_) => Operation::Range,
    });
    match error {
        QuantityError::Mismatch(operation, facts) => {
            let [left, right] = facts.as_ref();
            let headline = format!("{verb}: {} and {} do not go together", what(left), what(right));
            let fault = with_sides(Diagnostic::error("mixed-kinds", span, headline), &facts[..], operands, files);
            fault.help(missing_unit(*operation, operands, files))
        }
        QuantityError::Point(_, facts) => {
            let headline = format!("{verb}: a temperature on a scale cannot be used like this");
            with_sides(Diagnostic::error("temperature-misused", span, headline), facts, operands, files)
                .note("The difference of two temperatures is a difference; a temperature and a difference give a temperature; nothing else makes sense.")
                .help("Where a difference is meant, write it in `K` (or `delta_degC`, `delta_degF`).")
        }
        QuantityError::Wanted(_, facts, kind) => {
            let headline = format!("{verb}: {} is needed, but this is {}", a(kind.plain()), what(facts));
            let fault = Diagnostic::error("wrong-kind", span, headline);
            with_sides(fault, std::slice::from_ref(facts.as_ref()), operands, files)
        }
        QuantityError::Dimension(_) => {
            Diagnostic::error("steep-power", span, format!("{verb}: the result is too high a power to compute with"))
        }
        QuantityError::PercentOfPoint(_) => {
            Diagnostic::error("share-of-temperature", span, "a percentage of a temperature has no meaning")
                .here("the zero of the scale is arbitrary")
                .help("Write the tolerance as a difference, in `K`, or as a range.")
        }
        QuantityError::PercentOfPercent(_) => {
            Diagnostic::error("share-of-share", span, "a percentage of a percentage can be read in two ways")
                .here("of the whole, or of the first figure?")
                .help("Write it as a range.")
        }
        QuantityError::NegativeTolerance(_) => {
            let fault = Diagnostic::error("negative-tolerance", span, "a tolerance is not negative")
                .here("`±` already says both sides");
            let digits = match operands {
                [_, tolerance] => match tolerance.kind() {
                    ExprKind::Measure(Measure { number, .. }) if number.negative => number.whole.or(number.fraction),
                    ExprKind::Negate(value) => Some(value.span()),
                    _ => None,
                }
                .map(|digits| tolerance.span().before().to(digits.before())),
                _ => None,
            };
            match digits {
                Some(sign) => fault.edit("remove the sign", sign, ""),
                None => fault.help("Write it without a sign."),
            }
        }
        QuantityError::VagueTolerance(_) => {
            Diagnostic::error("vague-tolerance", span, "the parts of a tolerance or range must be exact themselves")
                .here("one of these already carries a tolerance")
        }
        QuantityError::Reversed(facts) => {
            let fault = Diagnostic::error("reversed-range", span, "this range ends below its start")
                .here("the lower value comes first");
            match operands {
                [low, high] => {
                    let swapped = swapped(low, high, files);
                    let [facts, _] = facts.as_ref();
                    let kind = if facts.point { Some(Kind::Temperature) } else { Kind::of_dimension(facts.dimension) };
                    mend(fault, kind, format!("write `{swapped}`"), span, swapped)
                }
                _ => fault,
            }
        }
        QuantityError::Bounds(_, problem) => {
            let fault = Diagnostic::error("no-result", span, format!("{verb}: {}", problem_text(*problem)));
            match (problem, operands) {
                (BoundsProblem::DivisionByZero, [_, divisor]) => {
                    fault.here("divided here").also(divisor.span(), "over all that is known, this can be 0")
                }
                _ => fault.here("over all that is known of it"),
            }
        }
    }
}

/// The range the other way round; a unit at the end serves both numbers.
fn swapped(low: &Expr, high: &Expr, files: &Files) -> String {
    match (low.kind(), high.kind()) {
        (
            ExprKind::Measure(Measure { number: first, unit: None }),
            ExprKind::Measure(Measure { number: last, unit: Some(unit) }),
        ) => {
            format!("{}..{} {}", files.slice(last.span), files.slice(first.span), files.slice(unit.span))
        }
        _ => format!("{}..{}", files.slice(high.span()), files.slice(low.span())),
    }
}

fn with_sides(fault: Diagnostic, facts: &[Facts], operands: &[&Expr], files: &Files) -> Diagnostic {
    facts.iter().zip(operands).fold(fault, |fault, (facts, operand)| {
        fault.also(operand.span(), format!("`{}` is {}", files.slice(operand.span()), what(facts)))
    })
}

/// What to write where only one side has a unit; else that both must measure the same.
fn missing_unit(operation: Operation, operands: &[&Expr], files: &Files) -> String {
    let read = |operand: &&Expr| match operand.kind() {
        ExprKind::Measure(Measure { unit, .. }) => {
            let text = files.slice(operand.span());
            let unit = unit.map(|unit| files.slice(unit.span));
            Some((text, unit))
        }
        _ => None,
    };
    let sides: Vec<_> = operands.iter().filter_map(read).collect();
    match (operation, sides.as_slice()) {
        (Operation::Subtract, [(from, None), (to, Some(_))]) => {
            format!("A range is written `{from}..{to}`. If a difference is meant, both sides need a unit.")
        }
        (_, [(bare, None), (_, Some(unit))] | [(_, Some(unit)), (bare, None)]) => {
            format!("If a unit is missing, write `{bare} {unit}`.")
        }
        _ => "Both sides must measure the same thing.".to_owned(),
    }
}

fn what(facts: &Facts) -> String {
    measured(facts.dimension, facts.point)
}

fn verb(operation: Operation) -> &'static str {
    match operation {
        Operation::Add => "cannot add",
        Operation::Subtract => "cannot subtract",
        Operation::Multiply => "cannot multiply",
        Operation::Divide => "cannot divide",
        Operation::Power => "cannot take this power",
        Operation::Negate => "cannot change the sign",
        Operation::Absolute => "cannot take `abs`",
        Operation::Minimum => "cannot take `min`",
        Operation::Maximum => "cannot take `max`",
        Operation::SquareRoot => "cannot take the root",
        Operation::Sine => "cannot take `sin`",
        Operation::Cosine => "cannot take `cos`",
        Operation::Tangent => "cannot take `tan`",
        Operation::Arc => "cannot compute this `arc`",
        Operation::Round => "cannot round",
        Operation::Compare => "cannot compare",
        Operation::Choose => "cannot choose between these",
        Operation::Tolerance => "cannot make this tolerance",
        Operation::Range => "cannot make this range",
    }
}

fn problem_text(problem: BoundsProblem) -> &'static str {
    match problem {
        BoundsProblem::OutOfRange => "the result is too large to compute with",
        BoundsProblem::DivisionByZero => "the divisor is, or can be, 0",
        BoundsProblem::NotPositive => "the value is, or can be, negative",
        BoundsProblem::Pole => "the angle is, or can be, where the tangent is infinite",
        BoundsProblem::Reversed => "the bounds are the wrong way round",
        BoundsProblem::NominalOutside => "the nominal value lies outside its own bounds",
        BoundsProblem::StepNotPositive => "the step to round to must be positive",
    }
}
