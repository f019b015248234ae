use crate::units::rounding::{add_down, add_up, div_down, div_up, mul_down, mul_up};

/// All numbers from `low` to `high`; every operation rounds outward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    pub low: f64,
    pub high: f64,
}

impl Interval {
    pub fn new(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    pub fn point(value: f64) -> Self {
        Self { low: value, high: value }
    }

    pub fn is_point(self) -> bool {
        self.low >= self.high
    }

    pub fn is_finite(self) -> bool {
        self.low.is_finite() && self.high.is_finite()
    }

    pub fn contains(self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    pub fn add(self, other: Self) -> Self {
        Self::new(add_down(self.low, other.low), add_up(self.high, other.high))
    }

    pub fn sub(self, other: Self) -> Self {
        self.add(other.neg())
    }

    pub fn neg(self) -> Self {
        Self::new(-self.high, -self.low)
    }

    pub fn mul(self, other: Self) -> Self {
        let corners = [(self.low, other.low), (self.low, other.high), (self.high, other.low), (self.high, other.high)];
        Self::over_corners(corners, mul_down, mul_up)
    }

    /// The quotient; `other` must not contain 0.
    pub fn div(self, other: Self) -> Self {
        let corners = [(self.low, other.low), (self.low, other.high), (self.high, other.low), (self.high, other.high)];
        Self::over_corners(corners, div_down, div_up)
    }

    /// The `n`-th power, tight and never below 0 for an even `n`.
    pub fn power(self, n: u32) -> Self {
        if n.is_multiple_of(2) {
            let size = self.abs();
            Self::new(power_down(size.low, n), power_up(size.high, n))
        } else {
            let low = if self.low < 0.0 { -power_up(-self.low, n) } else { power_down(self.low, n) };
            let high = if self.high < 0.0 { -power_down(-self.high, n) } else { power_up(self.high, n) };
            Self::new(low, high)
        }
    }

    pub fn abs(self) -> Self {
        if self.low >= 0.0 {
            self
        } else if self.high <= 0.0 {
            self.neg()
        } else {
            Self::new(0.0, self.high.max(-self.low))
        }
    }

    pub fn hull(self, other: Self) -> Self {
        Self::new(self.low.min(other.low), self.high.max(other.high))
    }

    /// What both contain. Both enclose the same value, so they overlap; were one of them wrong, `self` stands.
    pub fn intersect(self, other: Self) -> Self {
        let both = Self::new(self.low.max(other.low), self.high.min(other.high));
        if both.low <= both.high { both } else { self }
    }

    pub fn middle(self) -> f64 {
        let middle = self.low + (self.high - self.low) / 2.0;
        middle.max(self.low).min(self.high)
    }

    /// The largest distance from `centre` to a number of the interval.
    pub fn radius(self, centre: f64) -> f64 {
        add_up(self.high, -centre).max(add_up(centre, -self.low)).max(0.0)
    }

    fn over_corners(corners: [(f64, f64); 4], down: fn(f64, f64) -> f64, up: fn(f64, f64) -> f64) -> Self {
        let low = corners.iter().fold(f64::INFINITY, |low, (a, b)| low.min(down(*a, *b)));
        let high = corners.iter().fold(f64::NEG_INFINITY, |high, (a, b)| high.max(up(*a, *b)));
        Self::new(low, high)
    }
}

/// The power of a number that is not negative, rounded down, by repeated squaring.
fn power_down(x: f64, n: u32) -> f64 {
    raise(x, n, mul_down).max(0.0)
}

fn power_up(x: f64, n: u32) -> f64 {
    raise(x, n, mul_up)
}

fn raise(x: f64, n: u32, multiply: fn(f64, f64) -> f64) -> f64 {
    let (mut result, mut square, mut left) = (1.0, x, n);
    while left > 0 {
        if left % 2 == 1 {
            result = multiply(result, square);
        }
        left /= 2;
        if left > 0 {
            square = multiply(square, square);
        }
    }
    result
}
