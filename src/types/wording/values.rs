use crate::report::Diagnostic;
use crate::syntax::{Expr, ExprKind, UnitSyntax};
use crate::text::{Files, Span};
use crate::types::schema::{EntrySchema, Quantities};
use crate::types::wording::{a, any_of, measured};
use crate::units::{Kind, NumberProblem, Quantity, Reason, Unit, misspelt, show_rounded};

/// A quantity of the wrong kind in a slot.
pub fn wrong_kind(word: &str, wanted: Kind, found: &Quantity, expr: &Expr, files: &Files) -> Diagnostic {
    let written = files.slice(expr.span);
    let kind = a(wanted.plain());
    let bare = match &expr.kind {
        ExprKind::Measure(measure) => measure.unit.is_none().then_some(measure.number.span),
        _ => None,
    };
    if let Some(number) = bare
        && !wanted.examples().is_empty()
    {
        let choices: Vec<String> =
            wanted.examples().iter().map(|unit| format!("`{} {unit}`", files.slice(number))).collect();
        return Diagnostic::error(
            "missing-unit",
            expr.span,
            format!("`{word}` takes {kind}, but `{written}` has no unit"),
        )
        .here("a unit is missing")
        .help(format!("Write {}, whichever is meant.", any_of(&choices)));
    }
    let headline = format!("`{word}` takes {kind}, but `{written}` is {}", measured(found.dimension, found.point));
    let fault = Diagnostic::error("wrong-kind", expr.span, headline).here(format!("{kind} is wanted here"));
    match single_unit(expr).and_then(|unit| Some((unit, misspelt(files.slice(unit.span), Some(wanted))?))) {
        Some((unit, suggestion)) => fault.edit(format!("write `{}`", suggestion.unit), unit.span, suggestion.unit),
        None if wanted.examples().is_empty() => fault,
        None => fault.help(format!("It is written in {}.", any_of(&quoted(wanted.examples())))),
    }
}

fn single_unit(expr: &Expr) -> Option<&UnitSyntax> {
    match &expr.kind {
        ExprKind::Measure(measure) => measure.unit.as_ref(),
        ExprKind::Binary(_, _, _, right) => single_unit(right),
        ExprKind::Deviations(_, unit) | ExprKind::Deviating(_, _, unit) => unit.as_ref(),
        _ => None,
    }
}

fn quoted(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| format!("`{word}`")).collect()
}

/// A word after a number that is no unit.
pub fn unknown_unit(span: Span, word: &str, wanted: Option<Kind>) -> Diagnostic {
    let fault = Diagnostic::error("unknown-unit", span, format!("`{word}` is not a unit"));
    match misspelt(word, wanted) {
        Some(suggestion) => {
            let label = match suggestion.reason {
                Reason::Nearest => "perhaps a slip of the finger",
                Reason::LetterCase => "capital and small letters count in units",
                _ => "units have one spelling here",
            };
            fault.here(label).edit(format!("write `{}`", suggestion.unit), span, suggestion.unit)
        }
        None => {
            let examples = wanted.map_or(&[][..], Kind::examples);
            let fault = fault.here("after a number, this word is read as its unit");
            match (wanted, examples) {
                (Some(kind), [_, ..]) => {
                    fault.help(format!("{} is written in {}.", capital(&a(kind.plain())), any_of(&quoted(examples))))
                }
                _ => fault,
            }
        }
    }
}

fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// A value outside what makes sense for its entry; none if it is inside.
pub fn out_of_range(
    schema: &EntrySchema,
    wanted: &Quantities,
    found: &Quantity,
    span: Span,
    files: &Files,
) -> Option<Diagnostic> {
    let unit = Unit::parse(wanted.unit).ok()?;
    let limit = |value: f64| crate::units::Literal::parse(&value.to_string()).ok()?.to_si(&unit).ok();
    let (low, high) = (limit(wanted.low)?, limit(wanted.high)?);
    // A bound that was rounded outward by a hair is still inside.
    let slack = 1e-12 * high.abs().max(low.abs());
    if found.value.low() >= low - slack && found.value.high() <= high + slack {
        return None;
    }
    let (lowest, highest) = (show_rounded(low, &unit, 6), show_rounded(high, &unit, 6));
    let headline = format!("`{} {}` is outside what makes sense", schema.word, files.slice(span));
    Some(
        Diagnostic::error("out-of-range", span, headline)
            .here(format!("from {lowest} to {highest}, its bounds included"))
            .help("If the figure is right, the unit may be wrong."),
    )
}

/// A control with a tolerance.
pub fn control_with_tolerance(schema: &EntrySchema, span: Span) -> Diagnostic {
    Diagnostic::error("inexact-setting", span, format!("`{}` is set by somebody, so it is exact", schema.word))
        .here("no tolerance or range can stand here")
        .help("Write the one value that is set. What a drawing allows is written with `within`.")
}

/// A number that cannot be read.
pub fn bad_number(span: Span, problem: NumberProblem) -> Diagnostic {
    let why = match problem {
        NumberProblem::NotANumber => "this is not a number",
        NumberProblem::TooManyDigits => "this number has more digits than any measurement",
        NumberProblem::OutOfRange => "this number is too large or too small to compute with",
        NumberProblem::ZeroDenominator => "a fraction cannot have 0 below the line",
    };
    Diagnostic::error("bad-number", span, why)
}

/// `degC` within a product.
pub fn point_in_product(span: Span, word: &str) -> Diagnostic {
    let fault =
        Diagnostic::error("temperature-misused", span, format!("`{word}` cannot be part of a product or quotient"))
            .here("a rate counts differences of temperature")
            .help("Rates are written with `K`: `W/(m K)`.");
    if word == "degC" { fault.edit("write `K`", span, "K") } else { fault }
}

/// An exponent beyond all sense.
pub fn steep_unit(span: Span) -> Diagnostic {
    Diagnostic::error("steep-power", span, "this unit is too high a power to compute with")
}

/// `x ^ y` with anything but a whole number.
pub fn power_not_whole(span: Span) -> Diagnostic {
    Diagnostic::error("power-not-whole", span, "an exponent is a whole number without a unit")
        .here("not a whole number")
        .help("For a square root, write `sqrt(…)`.")
}

/// `2 mm^2`: area, or the square of 2 mm?
pub fn power_of_unit(whole: Span, number: Span, unit: &UnitSyntax, count: i32, files: &Files) -> Diagnostic {
    let (number, unit) = (files.slice(number), files.slice(unit.span));
    let (first, second) = (format!("{number} {unit}{count}"), format!("({number} {unit})^{count}"));
    let fault = Diagnostic::error("power-of-unit", whole, format!("`{}` can be read in two ways", files.slice(whole)))
        .here("of the unit, or of the whole?");
    let fault = if Unit::parse(&format!("{unit}{count}")).is_ok() {
        fault.edit(format!("write `{first}`"), whole, first)
    } else {
        fault
    };
    fault.edit(format!("write `{second}`"), whole, second)
}

/// `+0.2/-0.5 mm` without a value before it.
pub fn deviations_alone(span: Span) -> Diagnostic {
    Diagnostic::error("deviations-alone", span, "a pair of deviations needs a value before it")
        .here("deviations from what?")
        .help("For example: `3 mm +0.2/-0.5 mm`; or, for what a drawing allows: `within +0.2/-0.5 mm`.")
}

/// A comparison where a quantity is wanted.
pub fn truth_as_quantity(span: Span, wanted: Option<Kind>) -> Diagnostic {
    let wanted = wanted.map_or_else(|| "a quantity".to_owned(), |kind| a(kind.plain()));
    Diagnostic::error("comparison-misused", span, format!("{wanted} is wanted, but this is a comparison"))
        .here("a comparison stands after `if` or `expect`")
}

/// A quantity where a comparison is wanted.
pub fn quantity_as_truth(span: Span) -> Diagnostic {
    Diagnostic::error("comparison-wanted", span, "a comparison is wanted here, but this is a quantity")
        .here("compare it with something: `<`, `<=`, `>`, `>=`, `==`, `!=` or `within`")
}

/// A list of the wrong length.
pub fn list_length(schema: &EntrySchema, span: Span, found: usize, (least, most): (usize, usize)) -> Diagnostic {
    let wanted = if least == most { format!("{least} values") } else { format!("{least} to {most} values") };
    Diagnostic::error("list-length", span, format!("`{}` takes {wanted}, but here are {found}", schema.word))
}

/// Something else than `20 AWG`.
pub fn not_a_gauge(schema: &EntrySchema, span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("not-a-size", span, format!("`{}` takes a gauge, but `{text}` is none", schema.word))
        .here("written like `20 AWG` or `4/0 AWG`")
        .help(format!("For a size in millimetres, use `{}`.", any_of(schema.instead_of)))
}

/// A gauge that does not exist.
pub fn no_such_gauge(span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("no-such-size", span, format!("there is no gauge `{text} AWG`"))
        .here("gauges run from 4/0 to 56 AWG")
}

/// Something else than a whole number.
pub fn not_a_count(schema: &EntrySchema, span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("not-a-count", span, format!("`{}` takes a whole number here, but `{text}` is none", schema.word))
        .here("a whole number without a unit is wanted")
}

/// A count out of its bounds.
pub fn count_out_of_range(schema: &EntrySchema, span: Span, found: u64, (low, high): (u64, u64)) -> Diagnostic {
    Diagnostic::error("out-of-range", span, format!("`{} {found}` is outside what makes sense", schema.word))
        .here(format!("from {low} to {high}"))
}

/// `2027-02-30`.
pub fn no_such_day(span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("no-such-day", span, format!("there is no day `{text}`")).here("dates are written year-month-day")
}

/// `within -1 mm`.
pub fn negative_allowance(span: Span) -> Diagnostic {
    Diagnostic::error("negative-tolerance", span, "what is allowed is not negative")
        .here("write it without a sign: `within 0.5 mm`, or `within +0.8/-0.2 mm`")
}
