use serde::Serialize;

use crate::units::Bounded;

/// A value in SI units with the lowest and highest it can be, as the physics uses it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Known {
    /// The nominal value.
    pub nominal: f64,
    /// The lowest possible value.
    pub low: f64,
    /// The highest possible value.
    pub high: f64,
}

impl Known {
    /// A value without any doubt.
    pub const fn exact(value: f64) -> Self {
        Self { nominal: value, low: value, high: value }
    }

    /// A nominal value and what it lies between; the bounds stretch to hold the nominal value.
    pub const fn between(nominal: f64, low: f64, high: f64) -> Self {
        Self { nominal, low: low.min(nominal), high: high.max(nominal) }
    }

    /// A nominal value and a share of it to either side: 0.05 for 5 %.
    pub const fn within_share(nominal: f64, share: f64) -> Self {
        let half = nominal.abs() * share.abs();
        Self { nominal, low: nominal - half, high: nominal + half }
    }

    /// Whether nothing about the value is unknown.
    pub const fn is_exact(self) -> bool {
        self.low >= self.high
    }

    /// Half of the distance between the bounds.
    pub const fn half_width(self) -> f64 {
        (self.high - self.low) / 2.0
    }
}

impl From<&Bounded> for Known {
    fn from(value: &Bounded) -> Self {
        Self { nominal: value.nominal(), low: value.low(), high: value.high() }
    }
}

#[cfg(test)]
mod tests {
    use super::Known;

    #[test]
    fn bounds_hold_the_nominal_value() {
        assert_eq!(Known::between(3.0, 3.5, 2.0), Known { nominal: 3.0, low: 3.0, high: 3.0 });
        assert_eq!(Known::within_share(-10.0, 0.25), Known { nominal: -10.0, low: -12.5, high: -7.5 });
        assert!(Known::exact(1.0).is_exact());
    }
}
