//! Piecewise linear tables: how a property changes with temperature.

use super::fault::Fault;

/// A piecewise linear function, constant outside its first and last point.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    points: Vec<(f64, f64)>,
}

impl Table {
    /// A table through `points` (argument, value), whose arguments must rise strictly; a single point makes a constant.
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, Fault> {
        let finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite());
        let rising = points.windows(2).all(|pair| matches!(pair, [left, right] if left.0 < right.0));
        if points.is_empty() || !finite || !rising { Err(Fault::BadTable) } else { Ok(Self { points }) }
    }

    /// The points the table was made from.
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// The value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        let after = self.points.partition_point(|point| point.0 <= x);
        let left = self.points.get(after.wrapping_sub(1));
        match (left, self.points.get(after)) {
            (Some(left), Some(right)) => left.1 + (right.1 - left.1) * (x - left.0) / (right.0 - left.0),
            (Some(only), None) | (None, Some(only)) => only.1,
            // A table is never empty, so this arm only completes the match.
            (None, None) => 0.0,
        }
    }

    /// The integral from `from` to `to`, exact for the piecewise linear function.
    pub fn integral(&self, from: f64, to: f64) -> f64 {
        if to < from {
            return -self.integral(to, from);
        }
        let mut total = 0.0;
        let mut x = from;
        for next in self.points.iter().map(|point| point.0).filter(|&p| p > from && p < to) {
            total += 0.5 * (self.at(x) + self.at(next)) * (next - x);
            x = next;
        }
        total + 0.5 * (self.at(x) + self.at(to)) * (to - x)
    }

    /// The smallest and the largest value.
    pub fn extremes(&self) -> (f64, f64) {
        let start = (f64::INFINITY, f64::NEG_INFINITY);
        self.points.iter().fold(start, |(low, high), point| (low.min(point.1), high.max(point.1)))
    }
}

#[cfg(test)]
mod tests {
    use super::Table;

    #[test]
    fn interpolates_and_stays_constant_outside() {
        let table = Table::new(vec![(0.0, 1.0), (10.0, 3.0)]).unwrap();
        for (x, y) in [(-5.0, 1.0), (0.0, 1.0), (5.0, 2.0), (10.0, 3.0), (99.0, 3.0)] {
            assert!((table.at(x) - y).abs() < 1e-12, "at {x}");
        }
    }

    #[test]
    fn integrates_across_knots_and_backwards() {
        let table = Table::new(vec![(0.0, 1.0), (10.0, 3.0)]).unwrap();
        assert!((table.integral(-1.0, 12.0) - (1.0 + 20.0 + 6.0)).abs() < 1e-12);
        assert!((table.integral(12.0, -1.0) + 27.0).abs() < 1e-12);
    }

    #[test]
    fn refuses_what_is_no_function() {
        for points in [vec![], vec![(1.0, 1.0), (1.0, 2.0)], vec![(2.0, 1.0), (1.0, 2.0)], vec![(0.0, f64::NAN)]] {
            assert!(Table::new(points).is_err());
        }
    }
}
