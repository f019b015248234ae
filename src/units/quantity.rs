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
        Ok(self.joined(other, self.point || other.point, value))
    }

    /// The difference; that of two temperatures on a scale is a temperature difference.
    pub fn sub(&self, other: &Self) -> Result<Self, QuantityError> {
        let operation = Operation::Subtract;
        self.like(other, operation)?;
        if other.point && !self.point {
            return Err(QuantityError::Point(operation, Box::new([self.facts(), other.facts()])));
        }
        let value = self.value.sub(&other.value).map_err(bounds(operation))?;
        Ok(self.joined(other, self.point && !other.point, value))
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
        Ok(self.joined(other, self.point, value))
    }

    /// The larger of two.
    pub fn max(&self, other: &Self) -> Result<Self, QuantityError> {
        self.same(other, Operation::Maximum)?;
        let value = self.value.max(&other.value).map_err(bounds(Operation::Maximum))?;
        Ok(self.joined(other, self.point, value))
    }

    /// Everything either can be; what `if` gives when its condition is undecided.
    pub fn hull(&self, other: &Self) -> Result<Self, QuantityError> {
        self.same(other, Operation::Choose)?;
        let value = self.value.hull(&other.value).map_err(bounds(Operation::Choose))?;
        Ok(self.joined(other, self.point, value))
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

    /// The result of two quantities of one dimension; it is in `%` where both are.
    fn joined(&self, other: &Self, point: bool, value: Bounded) -> Self {
        Self { dimension: self.dimension, point, percent: self.percent && other.percent, value }
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

#[cfg(test)]
mod tests {
    use crate::units::{Kind, Literal, Operation, Quantity, QuantityError, SourceId, Unit, Verdict};

    fn q(text: &str) -> Quantity {
        let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
        let unit = if unit.is_empty() { Unit::one() } else { Unit::parse(unit).unwrap() };
        Quantity::read(&Literal::parse(number).unwrap(), &unit).unwrap()
    }

    fn is_point_error(result: &Result<Quantity, QuantityError>) -> bool {
        matches!(result, Err(QuantityError::Point(..)))
    }

    #[test]
    fn temperatures_and_differences_are_different_types() {
        let (room, hot, step) = (q("20 degC"), q("160 degC"), q("5 K"));
        let difference = hot.sub(&room).unwrap();
        assert!(difference.is(Kind::TemperatureDifference) && !difference.is(Kind::Temperature));
        assert!((difference.value.nominal() - 140.0).abs() < 1e-12);
        assert!(room.add(&step).unwrap().is(Kind::Temperature));
        assert!(step.add(&room).unwrap().is(Kind::Temperature));
        assert!(room.sub(&step).unwrap().is(Kind::Temperature));
        assert!(is_point_error(&room.add(&hot)));
        assert!(is_point_error(&step.sub(&room)));
        assert!(is_point_error(&room.mul(&q("2"))));
        assert!(is_point_error(&q("1").div(&room)));
        assert!(is_point_error(&room.power(2)));
        assert!(is_point_error(&room.neg()));
        assert!(is_point_error(&room.abs()));
        assert!(is_point_error(&room.sqrt()));
        assert!(matches!(room.compare_less(&step), Err(QuantityError::Mismatch(Operation::Compare, _))));
        assert_eq!(room.compare_less(&hot), Ok(Verdict::Always));
    }

    #[test]
    fn a_degree_after_plus_or_minus_is_a_difference() {
        let number = Literal::parse("9").unwrap();
        let read = Quantity::read_difference(&number, &Unit::parse("degF").unwrap()).unwrap();
        assert!(read.is(Kind::TemperatureDifference));
        assert!((read.value.nominal() - 5.0).abs() < 1e-15);
    }

    #[test]
    fn tolerances_follow_their_rules() {
        let id = SourceId(1);
        let lengths = Quantity::one_sided(&q("3 mm"), &q("0.2 mm"), &q("0.5 mm"), id).unwrap().facts().value;
        assert!((lengths.low - 0.0025).abs() < 1e-17 && (lengths.high - 0.0032).abs() < 1e-17);
        assert_eq!(lengths.nominal.to_bits(), 0.003_f64.to_bits());
        let relative = |nominal: &str| Quantity::relative(&q(nominal), &q("5 %"), id);
        assert!(matches!(relative("20 degC"), Err(QuantityError::PercentOfPoint(_))));
        assert!(matches!(relative("40 %"), Err(QuantityError::PercentOfPercent(_))));
        assert!(relative("0.4").is_ok());
        let reversed = Quantity::range(&q("27 degC"), &q("18 degC"), id);
        assert!(matches!(reversed, Err(QuantityError::Reversed(_))));
        let point = Quantity::symmetric(&q("20 degC"), &q("2 degC"), id);
        assert!(matches!(point, Err(QuantityError::Point(Operation::Tolerance, _))));
        let other = Quantity::symmetric(&q("3 mm"), &q("2 s"), id);
        assert!(matches!(other, Err(QuantityError::Mismatch(Operation::Tolerance, _))));
        let negative = Quantity::symmetric(&q("3 mm"), &q("-2 mm"), id);
        assert!(matches!(negative, Err(QuantityError::NegativeTolerance(_))));
        let vague = Quantity::symmetric(&q("3 mm"), &Quantity::range(&q("1 mm"), &q("2 mm"), id).unwrap(), id);
        assert!(matches!(vague, Err(QuantityError::VagueTolerance(_))));
        let middle = Quantity::range(&q("0 deg"), &q("120 deg"), id).unwrap().value.nominal();
        assert!((middle - q("60 deg").value.nominal()).abs() < 1e-15);
    }

    #[test]
    fn angles_never_mix_with_ratios() {
        assert!(matches!(q("0.5").sin(), Err(QuantityError::Wanted(Operation::Sine, _, Kind::Angle))));
        assert!(matches!(q("90 deg").add(&q("1")), Err(QuantityError::Mismatch(Operation::Add, _))));
        assert!(q("90 deg").sin().unwrap().is(Kind::Ratio));
        let arc = q("180 deg").arc(&q("6 mm")).unwrap();
        assert!(arc.is(Kind::Length));
        assert!((arc.value.nominal() - std::f64::consts::PI * 0.006).abs() < 1e-17);
        assert!(q("6 mm").arc(&q("180 deg")).is_err());
    }

    #[test]
    fn products_and_roots_carry_their_dimension() {
        let power = q("12 V").mul(&q("2 A")).unwrap();
        assert!(power.is(Kind::Power));
        assert!(power.div(&q("20 in")).unwrap().is(Kind::LinePower));
        assert!(q("4 mm2").sqrt().unwrap().is(Kind::Length));
        assert!(matches!(q("3 mm").power(200), Err(QuantityError::Dimension(Operation::Power))));
        assert!(!q("5 %").is(Kind::Count) && q("5").is(Kind::Count));
        let rounded = q("3.26 mm").round_to(&q("0.5 mm")).unwrap();
        assert_eq!(rounded.value.nominal().to_bits(), 0.0035_f64.to_bits());
    }
}
