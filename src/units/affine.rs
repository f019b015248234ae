use crate::units::interval::Interval;
use crate::units::rounding::{add_up, mul_up};

/// One unknown of the declared library; the same unknown has the same id wherever it is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SourceId(pub u128);

impl SourceId {
    /// Of a declaration, at a place of a file. Sums are made in the order of the unknowns, which stays as it is when a
    /// text grows above them: so their last digit stays as well.
    pub fn new(declaration: u32, file: u32, place: u32) -> Self {
        Self(u128::from(declaration) << 64 | u128::from(file) << 32 | u128::from(place))
    }
}

/// `centre + Σ coefficient·ε + error·η` with every ε and η somewhere in −1 … 1.
///
/// An ε belongs to a source and has one value throughout; η belongs to nothing and may differ at each use.
#[derive(Clone, Debug, PartialEq)]
pub struct Form {
    pub centre: f64,
    /// Sorted by source, without zeros.
    pub terms: Vec<(SourceId, f64)>,
    /// Never negative.
    pub error: f64,
}

impl Form {
    pub fn exact(value: f64) -> Self {
        Self { centre: value, terms: Vec::new(), error: 0.0 }
    }

    /// Any value of the interval, tied to no source.
    pub fn spread(interval: Interval) -> Self {
        let centre = interval.middle();
        Self { centre, terms: Vec::new(), error: interval.radius(centre) }
    }

    /// A value of the interval that is decided by one source.
    pub fn source(interval: Interval, source: SourceId) -> Self {
        let centre = interval.middle();
        let radius = interval.radius(centre);
        let terms = if radius > 0.0 { vec![(source, radius)] } else { Vec::new() };
        Self { centre, terms, error: 0.0 }
    }

    /// The error term becomes a source of its own: it has one value, though nobody knows it.
    pub fn named(mut self, source: SourceId) -> Self {
        if self.error > 0.0 && self.terms.iter().all(|(present, _)| *present != source) {
            let at = self.terms.partition_point(|(present, _)| *present < source);
            self.terms.insert(at, (source, self.error));
            self.error = 0.0;
        }
        self
    }

    pub fn is_finite(&self) -> bool {
        self.centre.is_finite() && self.error.is_finite() && self.terms.iter().all(|(_, k)| k.is_finite())
    }

    /// Whether both are surely the same value: the same function of the same sources, without any error.
    pub fn is_same(&self, other: &Self) -> bool {
        self.error == 0.0 && self == other
    }

    /// How far the value can be from the centre.
    pub fn radius(&self) -> f64 {
        self.terms.iter().fold(self.error, |sum, (_, k)| add_up(sum, k.abs()))
    }

    pub fn range(&self) -> Interval {
        let radius = self.radius();
        Interval::point(self.centre).add(Interval::new(-radius, radius))
    }

    pub fn add(&self, other: &Self) -> Self {
        let centre = Interval::point(self.centre).add(Interval::point(other.centre));
        self.linear(1.0, other, 1.0, centre)
    }

    pub fn sub(&self, other: &Self) -> Self {
        let centre = Interval::point(self.centre).sub(Interval::point(other.centre));
        self.linear(1.0, other, -1.0, centre)
    }

    pub fn scale(&self, k: f64) -> Self {
        let centre = Interval::point(self.centre).mul(Interval::point(k));
        self.linear(k, &Self::exact(0.0), 0.0, centre)
    }

    pub fn mul(&self, other: &Self) -> Self {
        let centre = Interval::point(self.centre).mul(Interval::point(other.centre));
        self.linear(other.centre, other, self.centre, centre).widen(mul_up(self.radius(), other.radius()))
    }

    /// The square: its quadratic part lies in 0 … radius², half of which belongs to the centre.
    pub fn square(&self) -> Self {
        let half = mul_up(self.radius(), self.radius()) / 2.0;
        let centre = Interval::point(self.centre).power(2).add(Interval::point(half));
        self.linear(2.0 * self.centre, &Self::exact(0.0), 0.0, centre).widen(half)
    }

    /// Moves the value by an unknown number of the interval.
    pub fn shift(&self, by: Interval) -> Self {
        self.linear(1.0, &Self::exact(0.0), 0.0, Interval::point(self.centre).add(by))
    }

    pub fn widen(mut self, by: f64) -> Self {
        self.error = add_up(self.error, by);
        self
    }

    /// Noise `a` of this form plus `b` of the other around a centre from the interval; what rounding loses goes
    /// to the error term.
    fn linear(&self, a: f64, other: &Self, b: f64, centre: Interval) -> Self {
        let mut error = add_up(mul_up(self.error, a.abs()), mul_up(other.error, b.abs()));
        let mut terms = Vec::with_capacity(self.terms.len().max(other.terms.len()));
        let (mut left, mut right) = (self.terms.as_slice(), other.terms.as_slice());
        loop {
            let (source, x, y) = match (left.first(), right.first()) {
                (None, None) => break,
                (Some(&(l, x)), Some(&(r, y))) if l == r => (l, x, y),
                (Some(&(l, x)), Some(&(r, _))) if l < r => (l, x, 0.0),
                (Some(&(l, x)), None) => (l, x, 0.0),
                (_, Some(&(r, y))) => (r, 0.0, y),
            };
            left = left.strip_prefix(&[(source, x)]).unwrap_or(left);
            right = right.strip_prefix(&[(source, y)]).unwrap_or(right);
            let sum = Interval::point(a).mul(Interval::point(x)).add(Interval::point(b).mul(Interval::point(y)));
            let coefficient = sum.middle();
            error = add_up(error, sum.radius(coefficient));
            if coefficient != 0.0 {
                terms.push((source, coefficient));
            }
        }
        let middle = centre.middle();
        Self { centre: middle, terms, error: add_up(error, centre.radius(middle)) }
    }
}
