//! The one place where this stage's messages are worded.

mod entries;
mod names;
mod operations;
mod values;

pub use entries::{
    allowance_wanted, block_unwanted, block_wanted, both_of_two, missing_entries, no_block, not_one_of, repeated,
    too_little, too_much, unfit, unknown_entry, usage,
};
pub use names::{
    circular_let, figure_not_there, long_chain, malformed_header, no_such_parameter, not_a_value, parameter_missing,
    parameter_twice, unknown_figure, unknown_function, unknown_kind, unknown_name, wrong_arguments, wrong_kind_of_name,
};
pub use operations::operation;
pub use values::{
    bad_number, control_with_tolerance, count_out_of_range, deviations_alone, list_length, negative_allowance,
    no_such_day, no_such_gauge, not_a_count, not_a_gauge, out_of_range, point_in_product, power_not_whole,
    power_of_unit, quantity_as_truth, steep_unit, truth_as_quantity, unknown_unit, wrong_kind,
};

use crate::units::{Dimension, Kind};

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
