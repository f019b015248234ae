//! Dimensions, units and quantities with bounds.
//!
//! Owns the unit table, exact conversions, values that carry what is known about them, temperatures and
//! temperature differences, and printing that parses back. It never knows syntax.

mod affine;
mod bounded;
mod dimension;
mod functions;
mod gauge;
mod interval;
mod kind;
mod known;
mod misspelt;
mod nearest;
mod number;
mod quantity;
mod rounding;
mod show;
mod table;
mod tolerance;
mod unit;

pub use affine::SourceId;
pub use bounded::{Bounded, BoundsProblem, Verdict};
pub use dimension::Dimension;
pub use functions::WIDENING;
pub use gauge::Gauge;
pub use kind::Kind;
pub use known::Known;
pub use misspelt::{Reason, Suggestion, misspelt};
pub use number::{Literal, NumberProblem};
pub use quantity::{Facts, Operation, Quantity, QuantityError};
pub use show::{
    RuleInches, in_unit, preferred_unit, rule_inches, show_number, show_quantity, show_rounded, show_rounded_range,
    show_value,
};
pub use table::{Scale, UNITS, UnitDef, lookup};
pub use unit::{Unit, UnitProblem};
