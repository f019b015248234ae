//! Roots, logarithms and angles of bounded numbers.
//!
//! `libm` states less than one unit in the last place for the functions used here (its C origin does, from
//! memory); every value is widened by [`WIDENING`] such units.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::units::interval::Interval;
use crate::units::rounding::{sqrt_down, sqrt_up, ulps_down, ulps_up};
use crate::units::{Bounded, BoundsProblem};

/// By how many units in the last place a transcendental result is widened to each side.
pub const WIDENING: u32 = 2;

/// Larger angles (in radians) are not reduced; sine and cosine are then only known to lie in −1 … 1.
const LARGEST_ANGLE: f64 = 1e6;

/// Turning points and poles count as inside when they are this close, far beyond the rounding of an angle.
const NEAR: f64 = 1e-9;

impl Bounded {
    /// The square root.
    pub fn sqrt(&self) -> Result<Self, BoundsProblem> {
        let hull = self.interval();
        if hull.low < 0.0 {
            return Err(BoundsProblem::NotPositive);
        }
        let root = |x: Interval| Interval::new(sqrt_down(x.low), sqrt_up(x.high));
        let (nominal, range) = (self.nominal().sqrt(), root(hull));
        if range.low <= 0.0 {
            // The slope is infinite at 0.
            return Self::detached(nominal, range);
        }
        let slope = Interval::point(0.5).div(range);
        self.along(nominal, range, slope, root(Interval::point(hull.middle())))
    }

    /// The exponential function.
    pub fn exp(&self) -> Result<Self, BoundsProblem> {
        let exp = |x: Interval| {
            let range = widened(libm::exp(x.low), libm::exp(x.high));
            Interval::new(range.low.max(0.0), range.high)
        };
        let range = exp(self.interval());
        self.along(libm::exp(self.nominal()), range, range, exp(Interval::point(self.interval().middle())))
    }

    /// The natural logarithm.
    pub fn log(&self) -> Result<Self, BoundsProblem> {
        let hull = self.interval();
        if hull.low <= 0.0 {
            return Err(BoundsProblem::NotPositive);
        }
        let log = |x: Interval| widened(libm::log(x.low), libm::log(x.high));
        let slope = Interval::point(1.0).div(hull);
        self.along(libm::log(self.nominal()), log(hull), slope, log(Interval::point(hull.middle())))
    }

    /// The sine of an angle in radians.
    pub fn sin(&self) -> Result<Self, BoundsProblem> {
        let hull = self.interval();
        let middle = sine_range(Interval::point(hull.middle()));
        self.along(libm::sin(self.nominal()), sine_range(hull), cosine_range(hull), middle)
    }

    /// The cosine of an angle in radians.
    pub fn cos(&self) -> Result<Self, BoundsProblem> {
        let hull = self.interval();
        let middle = cosine_range(Interval::point(hull.middle()));
        self.along(libm::cos(self.nominal()), cosine_range(hull), sine_range(hull).neg(), middle)
    }

    /// The tangent of an angle in radians; an error where a pole is, or can be, met.
    pub fn tan(&self) -> Result<Self, BoundsProblem> {
        let hull = self.interval();
        if !small_angle(hull) || meets(hull, FRAC_PI_2, PI) {
            return Err(BoundsProblem::Pole);
        }
        let tan = |x: Interval| widened(libm::tan(x.low), libm::tan(x.high));
        let range = tan(hull);
        let slope = Interval::point(1.0).add(range.power(2));
        self.along(libm::tan(self.nominal()), range, slope, tan(Interval::point(hull.middle())))
    }
}

fn widened(low: f64, high: f64) -> Interval {
    Interval::new(ulps_down(low, WIDENING), ulps_up(high, WIDENING))
}

/// What the sine can be over the angles of an interval.
fn sine_range(angle: Interval) -> Interval {
    wave(angle, libm::sin, FRAC_PI_2, -FRAC_PI_2)
}

/// What the cosine can be over the angles of an interval.
fn cosine_range(angle: Interval) -> Interval {
    wave(angle, libm::cos, 0.0, PI)
}

fn wave(angle: Interval, function: fn(f64) -> f64, crest: f64, trough: f64) -> Interval {
    if !small_angle(angle) {
        return Interval::new(-1.0, 1.0);
    }
    let (a, b) = (function(angle.low), function(angle.high));
    let ends = widened(a.min(b), a.max(b));
    let low = if meets(angle, trough, TAU) { -1.0 } else { ends.low.max(-1.0) };
    let high = if meets(angle, crest, TAU) { 1.0 } else { ends.high.min(1.0) };
    Interval::new(low, high)
}

fn small_angle(angle: Interval) -> bool {
    angle.low >= -LARGEST_ANGLE && angle.high <= LARGEST_ANGLE
}

/// Whether some `place + k·period` lies in the interval or so close that rounding could hide it.
fn meets(angle: Interval, place: f64, period: f64) -> bool {
    let first = ((angle.low - NEAR - place) / period).ceil();
    let last = ((angle.high + NEAR - place) / period).floor();
    first <= last
}
