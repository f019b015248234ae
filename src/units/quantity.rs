use crate::units::{Bounded, BoundsProblem, Dimension, Kind, Known, Literal, NumberProblem, SourceId, Unit, Verdict};

/// A value with its bounds in SI units, and what it measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// What it measures.
    pub dimension: Dimension,
    /// Whether it is a temperature on a scale, in kelvin, rather than a difference.
    pub point: bool,
    /// Whether it was written in `%`.
    pub percent: bool,
    /// The value in m, kg, s, A, K and rad.
    pub value: Bounded,
}

/// What a message needs to know about an operand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facts {
    /// What it measures.
    pub dimension: Dimension,
    /// Whether it is a temperature on a scale.
    pub point: bool,
    /// Whether it was written in `%`.
    pub percent: bool,
    /// The value in SI units.
    pub value: Known,
}

/// What was to be done with one or two quantities.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum Operation {
    Add,
    Subtract,
    Multiply,
    Divide,
    Power,
    Negate,
    Absolute,
    Minimum,
    Maximum,
    SquareRoot,
    Sine,
    Cosine,
    Tangent,
    Arc,
    Round,
    Compare,
    Choose,
    Tolerance,
    Range,
}

/// Why an operation on quantities has no result; the wording is made where the source text is known.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityError {
    /// The operands measure different things.
    Mismatch(Operation, Box<[Facts; 2]>),
    /// A temperature on a scale where only a difference, or another kind, makes sense.
    Point(Operation, Box<[Facts]>),
    /// The operand, the second field, must be of the kind in the third.
    Wanted(Operation, Box<Facts>, Kind),
    /// A root whose dimension is out of range, or a product or power.
    Dimension(Operation),
    /// `± 5 %` of a temperature on a scale: the first is the nominal, the second the share.
    PercentOfPoint(Box<[Facts; 2]>),
    /// `± 5 %` of a ratio that is itself written in `%`.
    PercentOfPercent(Box<[Facts; 2]>),
    /// A tolerance with the wrong sign.
    NegativeTolerance(Box<Facts>),
    /// A tolerance whose own value is not exactly known.
    VagueTolerance(Box<Facts>),
    /// A range that ends below its start.
    Reversed(Box<[Facts; 2]>),
    /// The numbers themselves have no result.
    Bounds(Operation, BoundsProblem),
}

impl Quantity {
    /// An exactly known quantity from a number and its unit.
    pub fn read(number: &Literal, unit: &Unit) -> Result<Self, NumberProblem> {
        let value = Bounded::exact(number.to_si(unit)?).map_err(|_| NumberProblem::OutOfRange)?;
        Ok(Self { dimension: unit.dimension(), point: unit.is_point(), percent: unit.is_percent(), value })
    }

    /// The same after `±`, where `degC` and `degF` mean differences.
    pub fn read_difference(number: &Literal, unit: &Unit) -> Result<Self, NumberProblem> {
        Self::read(number, &unit.as_difference())
    }

    /// A quantity that is neither a temperature on a scale nor written in `%`.
    pub fn plain(dimension: Dimension, value: Bounded) -> Self {
        Self { dimension, point: false, percent: false, value }
    }

    /// What a message needs to know.
    pub fn facts(&self) -> Facts {
        Facts { dimension: self.dimension, point: self.point, percent: self.percent, value: Known::from(&self.value) }
    }

    /// Whether the quantity can stand where `kind` is wanted.
    pub fn is(&self, kind: Kind) -> bool {
        kind.dimension() == Some(self.dimension)
            && self.point == (kind == Kind::Temperature)
            && !(self.percent && kind == Kind::Count)
    }

    /// The sum; of two temperatures on a scale there is none.
    pub fn add(&self, other: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Add;
        self.like(other, operation)?;
        if self.point && other.point {
            return Err(QuantityError::Point(operation, Box::new([self.facts(), other.facts()])));
        }
        let value = self.value.add(&other.value).map_err(bounds(operation))?;
        Ok(Self { value, point: self.point || other.point, ..self.both_percent(other) })
    }

    /// The difference; that of two temperatures on a scale is a temperature difference.
    pub fn sub(&self, other: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Subtract;
        self.like(other, operation)?;
        if other.point && !self.point {
            return Err(QuantityError::Point(operation, Box::new([self.facts(), other.facts()])));
        }
        let value = self.value.sub(&other.value).map_err(bounds(operation))?;
        Ok(Self { value, point: self.point && !other.point, ..self.both_percent(other) })
    }

    /// The product.
    pub fn mul(&self, other: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Multiply;
        self.no_points(other, operation)?;
        let dimension = self.dimension.times(other.dimension).ok_or(QuantityError::Dimension(operation))?;
        Ok(Self::plain(dimension, self.value.mul(&other.value).map_err(bounds(operation))?))
    }

    /// The quotient.
    pub fn div(&self, other: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Divide;
        self.no_points(other, operation)?;
        let dimension = self.dimension.over(other.dimension).ok_or(QuantityError::Dimension(operation))?;
        Ok(Self::plain(dimension, self.value.div(&other.value).map_err(bounds(operation))?))
    }

    /// A whole power.
    pub fn power(&self, n: i32) -> Result<Self, QuantityError> {
        let operation = Operation::Power;
        self.no_point(operation)?;
        let dimension = self.dimension.power(n).ok_or(QuantityError::Dimension(operation))?;
        Ok(Self::plain(dimension, self.value.powi(n).map_err(bounds(operation))?))
    }

    /// The square root.
    pub fn sqrt(&self) -> Result<Self, QuantityError> {
        let operation = Operation::SquareRoot;
        self.no_point(operation)?;
        let dimension = self.dimension.root(2).ok_or(QuantityError::Dimension(operation))?;
        Ok(Self::plain(dimension, self.value.sqrt().map_err(bounds(operation))?))
    }

    /// The quantity with the opposite sign.
    pub fn neg(&self) -> Result<Self, QuantityError> {
        self.no_point(Operation::Negate)?;
        Ok(Self { value: self.value.neg(), ..self.clone() })
    }

    /// The quantity without its sign.
    pub fn abs(&self) -> Result<Self, QuantityError> {
        self.no_point(Operation::Absolute)?;
        Ok(Self { value: self.value.abs().map_err(bounds(Operation::Absolute))?, ..self.clone() })
    }

    /// The smaller of two.
    pub fn min(&self, other: &Self) -> Result<Self, QuantityError> {
        self.same(other, Operation::Minimum)?;
        let value = self.value.min(&other.value).map_err(bounds(Operation::Minimum))?;
        Ok(Self { value, ..self.both_percent(other) })
    }

    /// The larger of two.
    pub fn max(&self, other: &Self) -> Result<Self, QuantityError> {
        self.same(other, Operation::Maximum)?;
        let value = self.value.max(&other.value).map_err(bounds(Operation::Maximum))?;
        Ok(Self { value, ..self.both_percent(other) })
    }

    /// Everything either can be; what `if` gives when its condition is undecided.
    pub fn hull(&self, other: &Self) -> Result<Self, QuantityError> {
        self.same(other, Operation::Choose)?;
        let value = self.value.hull(&other.value).map_err(bounds(Operation::Choose))?;
        Ok(Self { value, ..self.both_percent(other) })
    }

    /// The sine of an angle.
    pub fn sin(&self) -> Result<Self, QuantityError> {
        self.of_angle(Operation::Sine, Bounded::sin)
    }

    /// The cosine of an angle.
    pub fn cos(&self) -> Result<Self, QuantityError> {
        self.of_angle(Operation::Cosine, Bounded::cos)
    }

    /// The tangent of an angle.
    pub fn tan(&self) -> Result<Self, QuantityError> {
        self.of_angle(Operation::Tangent, Bounded::tan)
    }

    /// The length of an arc of this angle at `radius`.
    pub fn arc(&self, radius: &Self) -> Result<Self, QuantityError> {
        self.wanted(Kind::Angle, Operation::Arc)?;
        radius.wanted(Kind::Length, Operation::Arc)?;
        let value = self.value.mul(&radius.value).map_err(bounds(Operation::Arc))?;
        Ok(Self::plain(radius.dimension, value))
    }

    /// The nearest multiple of `step`, which must be exactly known.
    pub fn round_to(&self, step: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Round;
        self.like(step, operation)?;
        self.no_points(step, operation)?;
        if !step.value.is_exact() {
            return Err(QuantityError::VagueTolerance(Box::new(step.facts())));
        }
        let value = self.value.round_to(step.value.nominal()).map_err(bounds(operation))?;
        Ok(Self { value, ..self.clone() })
    }

    /// Whether `self < other`.
    pub fn compare_less(&self, other: &Self) -> Result<Verdict, QuantityError> {
        self.same(other, Operation::Compare)?;
        Ok(self.value.compare_less(&other.value))
    }

    /// Whether `self <= other`.
    pub fn compare_at_most(&self, other: &Self) -> Result<Verdict, QuantityError> {
        self.same(other, Operation::Compare)?;
        Ok(self.value.compare_at_most(&other.value))
    }

    /// Whether both are equal.
    pub fn compare_equal(&self, other: &Self) -> Result<Verdict, QuantityError> {
        self.same(other, Operation::Compare)?;
        Ok(self.value.compare_equal(&other.value))
    }

    fn of_angle(
        &self,
        operation: Operation,
        function: impl Fn(&Bounded) -> Result<Bounded, BoundsProblem>,
    ) -> Result<Self, QuantityError> {
        self.wanted(Kind::Angle, operation)?;
        Ok(Self::plain(Dimension::one(), function(&self.value).map_err(bounds(operation))?))
    }

    fn wanted(&self, kind: Kind, operation: Operation) -> Result<(), QuantityError> {
        if self.is(kind) { Ok(()) } else { Err(QuantityError::Wanted(operation, Box::new(self.facts()), kind)) }
    }

    /// Both measure the same, be they points or differences.
    pub(super) fn like(&self, other: &Self, operation: Operation) -> Result<(), QuantityError> {
        if self.dimension == other.dimension {
            return Ok(());
        }
        Err(QuantityError::Mismatch(operation, Box::new([self.facts(), other.facts()])))
    }

    /// Both measure the same, and both or neither are points.
    pub(super) fn same(&self, other: &Self, operation: Operation) -> Result<(), QuantityError> {
        if self.point == other.point {
            return self.like(other, operation);
        }
        Err(QuantityError::Mismatch(operation, Box::new([self.facts(), other.facts()])))
    }

    fn no_points(&self, other: &Self, operation: Operation) -> Result<(), QuantityError> {
        if self.point || other.point {
            return Err(QuantityError::Point(operation, Box::new([self.facts(), other.facts()])));
        }
        Ok(())
    }

    fn no_point(&self, operation: Operation) -> Result<(), QuantityError> {
        if self.point { Err(QuantityError::Point(operation, Box::new([self.facts()]))) } else { Ok(()) }
    }

    fn both_percent(&self, other: &Self) -> Self {
        Self { percent: self.percent && other.percent, ..self.clone() }
    }
}

/// Sums up where a numeric problem arose.
pub(super) fn bounds(operation: Operation) -> impl Fn(BoundsProblem) -> QuantityError {
    move |problem| QuantityError::Bounds(operation, problem)
}

/// The unknown that a tolerance makes.
pub(super) fn unknown(
    nominal: &Quantity,
    low: f64,
    high: f64,
    source: SourceId,
    operation: Operation,
) -> Result<Quantity, QuantityError> {
    let value = Bounded::known(nominal.value.nominal(), low, high, source).map_err(bounds(operation))?;
    Ok(Quantity { value, ..nominal.clone() })
}
