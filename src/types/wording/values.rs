use crate::report::Diagnostic;
use crate::syntax::{Expr, ExprKind, Measure, Operator, UnitSyntax};
use crate::text::{Files, Span};
use crate::types::ranges::ValueRange;
use crate::types::schema::{EntrySchema, Part, follows};
use crate::types::wording::{a, any_of, capital, measured, mend, quoted};
use crate::units::{
    Gauge, Kind, NumberProblem, Quantity, Reason, Unit, in_unit, misspelt, preferred_unit, show_rounded,
    show_rounded_range,
};

/// A quantity of the wrong kind in a slot.
pub fn wrong_kind(word: &str, wanted: Kind, found: &Quantity, expr: &Expr, files: &Files) -> Diagnostic {
    let written = files.slice(expr.span());
    let kind = a(wanted.plain());
    let bare = match expr.kind() {
        ExprKind::Measure(measure) => measure.unit.is_none().then_some(measure.number.span),
        _ => None,
    };
    if let Some(number) = bare
        && !wanted.examples().is_empty()
    {
        let choices: Vec<String> =
            wanted.examples().iter().map(|unit| format!("{} {unit}", files.slice(number))).collect();
        let headline = format!("`{word}` takes {kind}, but `{written}` has no unit");
        let fault = Diagnostic::error("missing-unit", expr.span(), headline).here("a unit is missing");
        return match choices.as_slice() {
            [only] => mend(fault, Some(wanted), format!("write `{only}`"), number, only.clone()),
            _ => fault.help(format!("Write {}, whichever is meant.", any_of(&quoted(&choices)))),
        };
    }
    let headline = format!("`{word}` takes {kind}, but `{written}` is {}", measured(found.dimension, found.point));
    let fault = Diagnostic::error("wrong-kind", expr.span(), headline).here(format!("{kind} is wanted here"));
    let unit = single_unit(expr).filter(|unit| unit.single().is_some());
    let suggestion = unit.and_then(|unit| Some((unit, misspelt(files.slice(unit.span), Some(wanted))?.unit)));
    match suggestion {
        // The number counts kilograms: with the unit of a force it would be another force.
        Some((_, unit)) if unit == "N" => {
            fault.help(format!("It weighs {}: write that, if it is meant.", weight(found)))
        }
        Some((unit, meant)) => mend(fault, Some(wanted), format!("write `{meant}`"), unit.span, meant),
        None if wanted.examples().is_empty() => fault,
        None => fault.help(format!("It is written in {}.", any_of(&quoted(wanted.examples())))),
    }
}

/// What a mass weighs, by the standard acceleration of free fall (9.80665 m/s2, exact by definition).
fn weight(mass: &Quantity) -> String {
    let force = mass.value.nominal() * 9.806_65;
    preferred_unit(Kind::Force, false).map_or_else(String::new, |unit| format!("`{}`", show_rounded(force, &unit, 2)))
}

fn single_unit(expr: &Expr) -> Option<UnitSyntax<'_>> {
    match expr.kind() {
        ExprKind::Measure(measure) => measure.unit,
        ExprKind::Binary(_, _, _, right) => single_unit(right),
        ExprKind::Deviations(_, unit) | ExprKind::Deviating(_, _, unit) => unit,
        _ => None,
    }
}

/// A word after a number that is no unit.
pub fn unknown_unit(span: Span, word: &str, wanted: Option<Kind>) -> Diagnostic {
    let fault = Diagnostic::error("unknown-unit", span, format!("`{word}` is not a unit"));
    if follows(Kind::Angle, word) {
        let fault = fault.here("after a number its unit is wanted, before this word");
        return fault.help("Write the angle with its unit: `90 deg`.");
    }
    let Some(suggestion) = misspelt(word, wanted) else {
        let fault = fault.here("after a number, this word is read as its unit");
        return match (wanted, wanted.map_or(&[][..], Kind::examples)) {
            (Some(kind), examples @ [_, ..]) => {
                fault.help(format!("{} is written in {}.", capital(&a(kind.plain())), any_of(&quoted(examples))))
            }
            _ => fault,
        };
    };
    let fault = fault.here(match suggestion.reason {
        Reason::Nearest => "perhaps a slip of the finger",
        Reason::LetterCase => "capital and small letters count in units",
        _ => "units have one spelling here",
    });
    // Another spelling of a unit means the same, and so does another case but for milli and mega.
    let plain = match suggestion.reason {
        Reason::Spelling | Reason::PowerSign => true,
        Reason::LetterCase => !word.starts_with(['m', 'M']),
        _ => false,
    };
    let title = format!("write `{}`", suggestion.unit);
    if plain { fault.edit(title, span, suggestion.unit) } else { mend(fault, wanted, title, span, suggestion.unit) }
}

/// A value outside what makes sense for its entry. `unit` is the one that the author wrote.
pub fn out_of_range(
    schema: &EntrySchema,
    range: &ValueRange,
    span: Span,
    unit: Option<Unit>,
    files: &Files,
) -> Diagnostic {
    let ValueRange { unit: own, low, high } = range;
    let unit = unit.filter(|unit| unit.dimension() == own.dimension() && unit.is_point() == own.is_point());
    let unit = unit.as_ref().unwrap_or(own);
    let (lowest, highest) = (show_rounded(*low, unit, 6), show_rounded(*high, unit, 6));
    let headline = format!("`{} {}` is outside what makes sense", schema.word, files.slice(span));
    Diagnostic::error("out-of-range", span, headline)
        .here(format!("it lies between {lowest} and {highest}"))
        .help("If the figure is right, the unit may be wrong.")
}

/// A tolerance or a range where one exact value is wanted.
pub fn inexact(schema: &EntrySchema, wanted: Kind, expr: &Expr, files: &Files) -> Diagnostic {
    let exact = nominal(expr, files);
    if schema.pattern.iter().any(allows_within) {
        let headline = "what the drawing allows is written `within`";
        let fault = Diagnostic::error("inexact-setting", expr.span(), headline)
            .here("`±` and `..` say what is known, which a drawing does not");
        return match (exact, tolerance(expr, files)) {
            (Some(value), Some(allowed)) => {
                let written = format!("{value} within {allowed}");
                fault.edit(format!("write `{written}`"), expr.span(), written)
            }
            _ => fault.help("For example: `40 mm within 0.5 mm`, or `40 mm within +0.8/-0.2 mm`."),
        };
    }
    let fault = Diagnostic::error("inexact-setting", expr.span(), format!("`{}` takes one exact value", schema.word))
        .here("no tolerance or range can stand here");
    match exact {
        Some(value) => mend(fault, Some(wanted), format!("write `{value}`"), expr.span(), value),
        None => fault.help("Write the one value that is meant."),
    }
}

fn allows_within(part: &Part) -> bool {
    match part {
        Part::Allowance(..) => true,
        Part::OneOf(ways) => ways.iter().any(|way| way.iter().any(allows_within)),
        _ => false,
    }
}

/// Of `40 ± 0.5 mm` and `40 mm +0.5/-0.2 mm`, the `40 mm`.
fn nominal(expr: &Expr, files: &Files) -> Option<String> {
    let (value, unit) = match expr.kind() {
        ExprKind::Binary(value, Operator::PlusMinus, _, tolerance) => (value, single_unit(tolerance)),
        ExprKind::Deviating(value, _, unit) => (value, unit),
        _ => return None,
    };
    let written = files.slice(value.span());
    match (value.kind(), unit) {
        (ExprKind::Measure(Measure { unit: None, .. }), Some(unit)) => {
            Some(format!("{written} {}", files.slice(unit.span)))
        }
        _ => Some(written.to_owned()),
    }
}

/// Of the same, the `0.5 mm` and the `+0.5/-0.2 mm`; none for a percentage, which `within` does not take.
fn tolerance(expr: &Expr, files: &Files) -> Option<String> {
    let unit = single_unit(expr).filter(|unit| files.slice(unit.span) != "%")?;
    match expr.kind() {
        ExprKind::Binary(_, Operator::PlusMinus, _, tolerance) => Some(files.slice(tolerance.span()).to_owned()),
        ExprKind::Deviating(_, pair, _) => Some(files.slice(pair.to(unit.span)).to_owned()),
        _ => None,
    }
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
pub fn power_of_unit(whole: Span, number: Span, unit: UnitSyntax<'_>, count: i32, files: &Files) -> Diagnostic {
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
        .help("For the smaller of two values write `min(a, b)`; to choose between them, `if a < b then … else …`.")
}

/// A quantity where a comparison is wanted.
pub fn quantity_as_truth(span: Span) -> Diagnostic {
    Diagnostic::error("comparison-wanted", span, "a comparison is wanted here, but this is a quantity")
        .here("compare it with something: `<`, `<=`, `>`, `>=`, `==`, `!=` or `within`")
}

/// `92 % ± 4 %`: of the whole, or of the 92 %?
pub fn share_of_share(span: Span, nominal: &Quantity, share: &Quantity, wanted: Option<Kind>) -> Diagnostic {
    let (middle, half) = (nominal.value.nominal(), share.value.nominal());
    let fault = Diagnostic::error("share-of-share", span, "a percentage of a percentage can be read in two ways")
        .here("of the whole, or of the first figure?");
    let Some(percent) = preferred_unit(Kind::Ratio, false) else { return fault };
    let range = |half: f64| show_rounded_range(middle - half, middle + half, &percent, 6);
    [range(half), range(middle * half)]
        .into_iter()
        .fold(fault, |fault, range| mend(fault, wanted, format!("write `{range}`"), span, range))
}

/// `22 degC ± 10 %`; `unit` is the one that the temperature is written in.
pub fn share_of_temperature(
    span: Span,
    written: &str,
    nominal: &Quantity,
    share: &Quantity,
    unit: &Unit,
) -> Diagnostic {
    let difference = unit.as_difference();
    // As its author meant it: the share of the number on that scale.
    let half = (in_unit(nominal.value.nominal(), unit) * share.value.nominal()).abs();
    let fault = Diagnostic::error("share-of-temperature", span, "a percentage of a temperature has no meaning")
        .here("the zero of the scale is arbitrary");
    let Some(half) = difference.factor().map(|factor| show_rounded(half * factor, &difference, 4)) else {
        return fault;
    };
    let half = half.replace("delta_degC", "K");
    let meant = format!("{written} ± {half}");
    fault.control_edit(format!("write `{meant}`"), span, meant)
}

/// A list of the wrong length.
pub fn list_length(schema: &EntrySchema, span: Span, found: usize, (least, most): (usize, usize)) -> Diagnostic {
    let wanted = match (least, most) {
        (1, 1) => "1 value".to_owned(),
        (least, most) if least == most => format!("{least} values"),
        _ => format!("{least} to {most} values"),
    };
    let here = if found == 1 { "here is 1".to_owned() } else { format!("here are {found}") };
    Diagnostic::error("list-length", span, format!("`{}` takes {wanted}, but {here}", schema.word))
        .here("all of them stand in the brackets")
        .help(schema.meaning)
}

/// Something else than `20 AWG`. `found` is the quantity, if it is one, and `whole` reaches from the head to all
/// that follows.
pub fn not_a_gauge(
    schema: &EntrySchema,
    whole: Span,
    span: Span,
    found: Option<&Quantity>,
    files: &Files,
) -> Diagnostic {
    let text = files.slice(span);
    let fault = Diagnostic::error("not-a-size", span, format!("`{}` takes a gauge, but `{text}` is none", schema.word))
        .here("written like `20 AWG` or `4/0 AWG`");
    if text.to_ascii_uppercase().ends_with("SWG") {
        return fault.help("Sizes of the British gauge differ: look its diameter up, and write `diameter 0.71 mm`.");
    }
    let other = |kind: Kind, word: &'static str| {
        found.filter(|found| found.is(kind) && schema.instead_of.contains(&word)).map(|_| word)
    };
    if let Some(word) = other(Kind::Length, "diameter").or_else(|| other(Kind::Area, "area")) {
        let written = format!("{word} {text}");
        return fault.edit(format!("write `{written}`"), whole, written);
    }
    let digits = text.trim_start_matches("AWG").trim();
    if Gauge::parse(digits).is_some() {
        let written = format!("{digits} AWG");
        let title = format!("write `{written}`");
        // A bare number may be a size of another kind; the wire's size settles its power.
        if digits == text {
            return fault.control_edit(title, span, written);
        }
        return fault.edit(title, span, written);
    }
    match schema.instead_of {
        [] => fault,
        others => fault.help(format!("For a size that is no gauge, use {}.", any_of(&quoted(others)))),
    }
}

/// A gauge that does not exist.
pub fn no_such_gauge(span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("no-such-size", span, format!("there is no gauge `{text} AWG`"))
        .here("gauges run from 4/0 to 56 AWG")
}

/// Something else than a whole number.
pub fn not_a_count(schema: &EntrySchema, span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("not-a-count", span, format!("`{}` takes a whole number here, but `{text}` is none", schema.word))
        .here("a whole number is wanted")
}

/// A count out of its bounds.
pub fn count_out_of_range(schema: &EntrySchema, span: Span, found: u64, (low, high): (u64, u64)) -> Diagnostic {
    Diagnostic::error("out-of-range", span, format!("`{} {found}` is outside what makes sense", schema.word))
        .here(format!("from {low} to {high}"))
}

/// `2027-02-30`.
pub fn no_such_day(span: Span, text: &str) -> Diagnostic {
    Diagnostic::error("no-such-day", span, format!("there is no day `{text}`")).here("a month has no such day")
}

/// `within -1 mm`.
pub fn negative_allowance(span: Span) -> Diagnostic {
    Diagnostic::error("negative-tolerance", span, "what is allowed is not negative")
        .here("write it without a sign: `within 0.5 mm`, or `within +0.8/-0.2 mm`")
}
