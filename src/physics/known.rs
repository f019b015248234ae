//! A value with what is known about it.

/// A nominal value and the bounds inside which the true value lies; all three in one SI unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// The value computed with when one value is needed.
    pub nominal: f64,
    /// The lowest value the truth may have.
    pub low: f64,
    /// The highest value the truth may have.
    pub high: f64,
}
