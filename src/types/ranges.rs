//! What makes sense for a quantity, in SI units.

use std::collections::BTreeMap;

use crate::types::schema::Quantities;
use crate::units::{Bounded, Literal, Unit};

/// What a quantity may be, in SI units.
#[derive(Clone, Debug)]
pub struct ValueRange {
    /// The unit in which the schema states the ends.
    pub unit: Unit,
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

impl ValueRange {
    fn new(wanted: &Quantities) -> Option<Self> {
        let unit = if wanted.unit.is_empty() { Unit::one() } else { Unit::parse(wanted.unit).ok()? };
        let end = |value: f64| Literal::parse(&value.to_string()).ok()?.to_si(&unit).ok();
        let (low, high) = (end(wanted.low)?, end(wanted.high)?);
        Some(Self { unit, low, high })
    }

    /// Whether all that a value may be lies inside.
    pub fn holds(&self, value: &Bounded) -> bool {
        // A bound that was rounded outward by a hair is still inside.
        let slack = 1e-12 * self.high.abs().max(self.low.abs());
        value.low() >= self.low - slack && value.high() <= self.high + slack
    }
}

/// The ends of the schema's ranges, each brought to SI units once: nearly every value of a library asks for one of a
/// few.
#[derive(Debug, Default)]
pub struct Ranges {
    known: BTreeMap<(&'static str, u64, u64), Option<ValueRange>>,
}

impl Ranges {
    /// The range that is wanted; none where the schema states one that cannot be read.
    pub fn of(&mut self, wanted: &Quantities) -> Option<&ValueRange> {
        let key = (wanted.unit, wanted.low.to_bits(), wanted.high.to_bits());
        self.known.entry(key).or_insert_with(|| ValueRange::new(wanted)).as_ref()
    }
}
