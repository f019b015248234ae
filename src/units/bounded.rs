use crate::units::affine::{Form, SourceId};
use crate::units::interval::Interval;
use crate::units::rounding::{div_down, div_up};

/// A number of which a nominal value and what is known about the true one are kept.
///
/// The true value lies between [`Bounded::low`] and [`Bounded::high`], and follows the named sources it was
/// made from, so that what is unknown but the same cancels. Every operation rounds outward, no operation gives
/// anything but finite numbers, and the nominal value never leaves the bounds.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounded {
    nominal: f64,
    hull: Interval,
    form: Form,
    /// Whether both ends of the hull are attained, to within rounding: so they are while no unknown has met itself.
    sharp: bool,
}

/// Why an operation on bounded numbers has no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoundsProblem {
    /// The result is too large to be computed with.
    OutOfRange,
    /// The divisor is 0 or, within what is known, can be.
    DivisionByZero,
    /// The root or logarithm of what is, or can be, negative (for a logarithm also 0).
    NotPositive,
    /// The tangent is asked for where, within what is known, it can be infinite.
    Pole,
    /// The lower bound is above the upper one.
    Reversed,
    /// The nominal value is outside its own bounds.
    NominalOutside,
    /// A number is rounded to a multiple of what is not positive.
    StepNotPositive,
}

/// The outcome of a comparison over everything that is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It holds whatever the unknowns are.
    Always,
    /// It fails whatever the unknowns are.
    Never,
    /// It depends on the unknowns, or the bounds are too wide to tell.
    Undecided,
}

impl Bounded {
    /// A number without any doubt.
    pub fn exact(value: f64) -> Result<Self, BoundsProblem> {
        Self::build(value, Interval::point(value), Form::exact(value))
    }

    /// A number known to lie in `low..high`, as one unknown of its own.
    ///
    /// A source stands for one value: make it once and clone it where it is used again.
    pub fn known(nominal: f64, low: f64, high: f64, source: SourceId) -> Result<Self, BoundsProblem> {
        if !(nominal.is_finite() && low.is_finite() && high.is_finite()) {
            return Err(BoundsProblem::OutOfRange);
        }
        if low > high {
            return Err(BoundsProblem::Reversed);
        }
        if !(low <= nominal && nominal <= high) {
            return Err(BoundsProblem::NominalOutside);
        }
        let hull = Interval::new(low, high);
        Self::build(nominal, hull, Form::source(hull, source))
    }

    /// Gives what rounding and curvature have blurred the name `source`, so that it cancels against itself.
    ///
    /// For a value that stands under a name of its own; the source must be a fresh one.
    #[must_use]
    pub fn named(self, source: SourceId) -> Self {
        Self { form: self.form.named(source), ..self }
    }

    /// The same value where more is known of it than its operations can tell: it also lies in `low..high`.
    pub fn narrowed(&self, low: f64, high: f64) -> Result<Self, BoundsProblem> {
        let (low, high) = (self.hull.low.max(low), self.hull.high.min(high));
        if !(low <= self.nominal && self.nominal <= high) {
            return Err(BoundsProblem::NominalOutside);
        }
        Self::build(self.nominal, Interval::new(low, high), self.form.clone())
    }

    /// The value at which nothing differs from its nominal.
    pub fn nominal(&self) -> f64 {
        self.nominal
    }

    /// The lowest value that is possible.
    pub fn low(&self) -> f64 {
        self.hull.low
    }

    /// The highest value that is possible.
    pub fn high(&self) -> f64 {
        self.hull.high
    }

    /// Whether nothing about the value is unknown.
    pub fn is_exact(&self) -> bool {
        self.hull.is_point()
    }

    /// The sources the value follows, and by how much at most, in the order of their ids.
    pub fn sources(&self) -> impl Iterator<Item = (SourceId, f64)> {
        self.form.terms.iter().map(|(source, coefficient)| (*source, *coefficient))
    }

    /// Two values that are surely attained at some corner of the unknowns; the first is above the second where nothing
    /// sure can be said.
    pub fn attained(&self) -> (f64, f64) {
        if self.sharp {
            return (self.hull.low, self.hull.high);
        }
        let reach = self.form.terms.iter().fold(-self.form.error, |sum, (_, k)| sum + k.abs());
        (self.form.centre - reach, self.form.centre + reach)
    }

    /// The sum.
    pub fn add(&self, other: &Self) -> Result<Self, BoundsProblem> {
        let sum = Self::build(self.nominal + other.nominal, self.hull.add(other.hull), self.form.add(&other.form))?;
        Ok(sum.sharp_as(self, other))
    }

    /// The difference.
    pub fn sub(&self, other: &Self) -> Result<Self, BoundsProblem> {
        let rest = Self::build(self.nominal - other.nominal, self.hull.sub(other.hull), self.form.sub(&other.form))?;
        Ok(rest.sharp_as(self, other))
    }

    /// The product; of a value with itself, its square.
    pub fn mul(&self, other: &Self) -> Result<Self, BoundsProblem> {
        if self.is_same(other) {
            return self.powi(2);
        }
        let product = Self::build(self.nominal * other.nominal, self.hull.mul(other.hull), self.form.mul(&other.form))?;
        Ok(product.sharp_as(self, other))
    }

    /// The quotient; of a value by itself, 1.
    pub fn div(&self, other: &Self) -> Result<Self, BoundsProblem> {
        if other.hull.contains(0.0) {
            return Err(BoundsProblem::DivisionByZero);
        }
        if self.is_same(other) {
            return Self::exact(1.0);
        }
        let form = self.form.mul(&other.reciprocal_form());
        Ok(Self::build(self.nominal / other.nominal, self.hull.div(other.hull), form)?.sharp_as(self, other))
    }

    /// The value with the opposite sign.
    #[must_use]
    pub fn neg(&self) -> Self {
        Self { nominal: -self.nominal, hull: self.hull.neg(), form: self.form.scale(-1.0), sharp: self.sharp }
    }

    /// A whole power; 1 for the zeroth.
    pub fn powi(&self, n: i32) -> Result<Self, BoundsProblem> {
        if n < 0 {
            return Self::exact(1.0)?.div(&self.raised(n.unsigned_abs())?);
        }
        self.raised(n.unsigned_abs())
    }

    /// The distance from 0.
    pub fn abs(&self) -> Result<Self, BoundsProblem> {
        if self.hull.low >= 0.0 {
            return Ok(self.clone());
        }
        if self.hull.high <= 0.0 {
            return Ok(self.neg());
        }
        Self::detached(self.nominal.abs(), self.hull.abs())
    }

    /// The smaller of two values.
    pub fn min(&self, other: &Self) -> Result<Self, BoundsProblem> {
        match self.compare_less(other) {
            Verdict::Always => Ok(self.clone()),
            Verdict::Never => Ok(other.clone()),
            Verdict::Undecided => {
                let hull = Interval::new(self.hull.low.min(other.hull.low), self.hull.high.min(other.hull.high));
                Self::detached(self.nominal.min(other.nominal), hull)
            }
        }
    }

    /// The larger of two values.
    pub fn max(&self, other: &Self) -> Result<Self, BoundsProblem> {
        match self.compare_less(other) {
            Verdict::Always => Ok(other.clone()),
            Verdict::Never => Ok(self.clone()),
            Verdict::Undecided => {
                let hull = Interval::new(self.hull.low.max(other.hull.low), self.hull.high.max(other.hull.high));
                Self::detached(self.nominal.max(other.nominal), hull)
            }
        }
    }

    /// The nearest multiple of `step`, halves away from 0.
    pub fn round_to(&self, step: f64) -> Result<Self, BoundsProblem> {
        if !(step > 0.0 && step.is_finite()) {
            return Err(BoundsProblem::StepNotPositive);
        }
        let rounded = |quotient: f64| Interval::point(quotient.round()).mul(Interval::point(step));
        let hull = rounded(div_down(self.hull.low, step)).hull(rounded(div_up(self.hull.high, step)));
        let form = if self.is_exact() { Form::spread(hull) } else { self.form.clone().widen((step / 2.0).next_up()) };
        Self::build((self.nominal / step).round() * step, hull, form)
    }

    /// Everything either value can be, with the nominal of `self`.
    pub fn hull(&self, other: &Self) -> Result<Self, BoundsProblem> {
        if self.form.is_same(&other.form) {
            return Ok(self.clone());
        }
        Self::detached(self.nominal, self.hull.hull(other.hull))
    }

    /// Whether `self < other`; what is unknown but the same in both does not count.
    pub fn compare_less(&self, other: &Self) -> Verdict {
        match other.sub(self) {
            Ok(difference) if difference.low() > 0.0 => Verdict::Always,
            Ok(difference) if difference.high() <= 0.0 => Verdict::Never,
            _ => Verdict::Undecided,
        }
    }

    /// Whether `self <= other`.
    pub fn compare_at_most(&self, other: &Self) -> Verdict {
        match other.compare_less(self) {
            Verdict::Always => Verdict::Never,
            Verdict::Never => Verdict::Always,
            Verdict::Undecided => Verdict::Undecided,
        }
    }

    /// Whether both are the same number.
    pub fn compare_equal(&self, other: &Self) -> Verdict {
        match self.sub(other) {
            Ok(difference) if difference.is_exact() && difference.low() == 0.0 => Verdict::Always,
            Ok(difference) if !difference.hull.contains(0.0) => Verdict::Never,
            _ => Verdict::Undecided,
        }
    }

    /// Whether both are surely one value, written twice.
    fn is_same(&self, other: &Self) -> bool {
        self.form.is_same(&other.form) && self.nominal.to_bits() == other.nominal.to_bits()
    }

    pub(super) fn interval(&self) -> Interval {
        self.hull
    }

    /// A value of `hull` that follows no source.
    pub(super) fn detached(nominal: f64, hull: Interval) -> Result<Self, BoundsProblem> {
        Self::build(nominal, hull, Form::spread(hull))
    }

    /// A function whose values lie in `range` and whose slope over the hull lies in `slope`, with its value at
    /// the middle of the hull: it keeps following the sources along its mean slope.
    pub(super) fn along(
        &self,
        nominal: f64,
        range: Interval,
        slope: Interval,
        at_middle: Interval,
    ) -> Result<Self, BoundsProblem> {
        let form = self.chord(slope, at_middle);
        Ok(Self { sharp: self.sharp, ..Self::build(nominal, range, form)? })
    }

    /// Mean-value form: `f(x) = f(m) + a·(x − m) ± r·|x − m|` where the slope lies in `a ± r`.
    fn chord(&self, slope: Interval, at_middle: Interval) -> Form {
        let middle = self.hull.middle();
        let mean = slope.middle();
        let bend = Interval::point(slope.radius(mean)).mul(Interval::point(self.hull.radius(middle)));
        let constant = at_middle.sub(Interval::point(mean).mul(Interval::point(middle)));
        self.form.scale(mean).shift(constant).widen(bend.high)
    }

    /// The form of `1/x`; 0 is outside the hull.
    fn reciprocal_form(&self) -> Form {
        let one = Interval::point(1.0);
        if self.is_exact() {
            return Form::spread(one.div(self.hull));
        }
        let slope = one.div(self.hull.power(2)).neg();
        self.chord(slope, one.div(Interval::point(self.hull.middle())))
    }

    fn raised(&self, n: u32) -> Result<Self, BoundsProblem> {
        let mut form = Form::exact(1.0);
        let mut nominal = 1.0;
        let (mut left, mut square, mut square_nominal) = (n, self.form.clone(), self.nominal);
        while left > 0 {
            if left % 2 == 1 {
                form = if form == Form::exact(1.0) { square.clone() } else { form.mul(&square) };
                nominal *= square_nominal;
            }
            left /= 2;
            if left > 0 {
                square = square.square();
                square_nominal *= square_nominal;
            }
        }
        Ok(Self { sharp: self.sharp, ..Self::build(nominal, self.hull.power(n), form)? })
    }

    /// A result of two operands: it is sharp if both are and no unknown is in both, or if it follows its unknowns along
    /// a straight line.
    fn sharp_as(self, a: &Self, b: &Self) -> Self {
        let shared = a.form.terms.iter().any(|(source, _)| b.form.terms.iter().any(|(other, _)| source == other));
        let straight = self.form.error <= 1e-9 * self.form.radius();
        Self { sharp: (a.sharp && b.sharp && !shared) || (straight && !self.form.terms.is_empty()), ..self }
    }

    /// Both enclosures hold, so what they share does; the nominal value stays inside.
    fn build(nominal: f64, hull: Interval, form: Form) -> Result<Self, BoundsProblem> {
        if !(nominal.is_finite() && hull.is_finite()) {
            return Err(BoundsProblem::OutOfRange);
        }
        let form = if form.is_finite() { form } else { Form::spread(hull) };
        let hull = hull.intersect(form.range());
        let form = match (hull.is_point(), form.terms.is_empty()) {
            (true, _) => Form::exact(hull.low),
            (false, true) => Form::spread(hull),
            (false, false) => form,
        };
        // Zero is written without a sign, whatever made it.
        let hull = Interval::new(hull.low + 0.0, hull.high + 0.0);
        let sharp = form.terms.len() <= 1 && form.error == 0.0;
        Ok(Self { nominal: nominal.max(hull.low).min(hull.high) + 0.0, hull, form, sharp })
    }
}
