//! The one place where this stage's messages are worded.

mod entries;
mod names;
mod operations;
mod values;

pub use entries::{
    allowance_wanted, block_unwanted, block_wanted, both_of_two, comparison_missing, list_wanted, missing_entries,
    no_block, not_one_of, order_with_commas, repeated, too_little, too_much, unfit, unknown_entry, usage,
    word_too_late,
};
pub use names::{
    RecipeProblem, circular_let, figure_not_there, long_chain, malformed_header, malformed_recipe, no_such_parameter,
    not_a_value, parameter_missing, parameter_twice, parameter_without_name, unknown_figure, unknown_function,
    unknown_kind, unknown_name, wrong_arguments, wrong_kind_of_name,
};
pub use operations::operation;
pub use values::{
    bad_number, count_out_of_range, deviations_alone, inexact, list_length, negative_allowance, no_such_day,
    no_such_gauge, not_a_count, not_a_gauge, out_of_range, point_in_product, power_not_whole, power_of_unit,
    quantity_as_truth, share_of_share, share_of_temperature, steep_unit, truth_as_quantity, unknown_unit, wrong_kind,
};

use crate::report::Diagnostic;
use crate::text::Span;
use crate::units::{Dimension, Kind};

/// Adds a mend of a value of this kind. One that settles a time, a power, a temperature, a voltage or a current
/// changes what the bench does, so it is never made unasked; the same holds where the kind is not known.
pub fn mend(fault: Diagnostic, kind: Option<Kind>, title: String, span: Span, text: String) -> Diagnostic {
    let harmless = kind.is_some_and(|kind| !is_control(kind));
    if harmless { fault.edit(title, span, text) } else { fault.control_edit(title, span, text) }
}

fn is_control(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Time
            | Kind::Temperature
            | Kind::TemperatureDifference
            | Kind::Voltage
            | Kind::Current
            | Kind::Power
            | Kind::LinePower
            | Kind::SurfacePower
            | Kind::Energy
    )
}

/// The text with a capital first letter.
pub fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// `a, b and c`.
pub fn all_of<S: AsRef<str>>(words: &[S]) -> String {
    match words {
        [rest @ .., last] if !rest.is_empty() => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", rest.join(", "), last.as_ref())
        }
        _ => any_of(words),
    }
}

/// Each word in the marks of source text.
pub fn quoted<S: AsRef<str>>(words: &[S]) -> Vec<String> {
    words.iter().map(|word| format!("`{}`", word.as_ref())).collect()
}

/// `a length`, `an energy`.
pub fn a(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o']) { "an" } else { "a" };
    format!("{article} {noun}")
}

/// What a dimension measures, with its article: `a length`, or the product it is.
pub fn measured(dimension: Dimension, point: bool) -> String {
    if point {
        return "a temperature".to_owned();
    }
    if dimension.is_one() {
        return "a plain number".to_owned();
    }
    match Kind::of_dimension(dimension) {
        Some(kind) => a(kind.plain()),
        None => format!("a quantity of {dimension}"),
    }
}

/// `a, b or c`.
pub fn any_of<S: AsRef<str>>(words: &[S]) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", rest.join(", "), last.as_ref())
        }
    }
}
