use crate::units::quantity::{bounds, unknown};
use crate::units::rounding::{add_down, add_up, mul_up};
use crate::units::{Bounded, Kind, Operation, Quantity, QuantityError, SourceId};

/// What `±` and ranges make: one unknown each. The parts must be exactly known, as literals are.
impl Quantity {
    /// `3 mm ± 0.4 mm`; after a temperature the tolerance must have been read as a difference.
    pub fn symmetric(nominal: &Self, plus: &Self, source: SourceId) -> Result<Self, QuantityError> {
        Self::one_sided(nominal, plus, plus, source)
    }

    /// `12 V ± 3 %`; meaningless for temperatures, and ambiguous for what is itself written in `%`.
    pub fn relative(nominal: &Self, percent: &Self, source: SourceId) -> Result<Self, QuantityError> {
        let facts = || Box::new([nominal.facts(), percent.facts()]);
        if !percent.is(Kind::Ratio) {
            return Err(QuantityError::Wanted(Operation::Tolerance, Box::new(percent.facts()), Kind::Ratio));
        }
        if nominal.point {
            return Err(QuantityError::PercentOfPoint(facts()));
        }
        if nominal.percent {
            return Err(QuantityError::PercentOfPercent(facts()));
        }
        let (centre, share) = (exact(nominal)?, tolerance(percent)?);
        let half = mul_up(centre.abs(), share);
        unknown(nominal, add_down(centre, -half), add_up(centre, half), source, Operation::Tolerance)
    }

    /// `3 mm +0.2/-0.5 mm`; `minus` is given without its sign.
    pub fn one_sided(nominal: &Self, plus: &Self, minus: &Self, source: SourceId) -> Result<Self, QuantityError> {
        for side in [plus, minus] {
            nominal.like(side, Operation::Tolerance)?;
            if side.point {
                return Err(QuantityError::Point(Operation::Tolerance, Box::new([nominal.facts(), side.facts()])));
            }
            if side.percent && !nominal.percent {
                return Err(QuantityError::Mismatch(Operation::Tolerance, Box::new([nominal.facts(), side.facts()])));
            }
            if side.percent {
                return Err(QuantityError::PercentOfPercent(Box::new([nominal.facts(), side.facts()])));
            }
        }
        let (centre, plus, minus) = (exact(nominal)?, tolerance(plus)?, tolerance(minus)?);
        unknown(nominal, add_down(centre, -minus), add_up(centre, plus), source, Operation::Tolerance)
    }

    /// `18..27 degC`; the nominal value is the middle.
    pub fn range(low: &Self, high: &Self, source: SourceId) -> Result<Self, QuantityError> {
        low.same(high, Operation::Range)?;
        let (bottom, top) = (exact(low)?, exact(high)?);
        if bottom > top {
            return Err(QuantityError::Reversed(Box::new([low.facts(), high.facts()])));
        }
        let middle = bottom + (top - bottom) / 2.0;
        let value = Bounded::exact(middle).map_err(bounds(Operation::Range))?;
        let nominal = Self { value, percent: low.percent && high.percent, ..low.clone() };
        unknown(&nominal, bottom, top, source, Operation::Range)
    }
}

fn exact(quantity: &Quantity) -> Result<f64, QuantityError> {
    if quantity.value.is_exact() {
        return Ok(quantity.value.nominal());
    }
    Err(QuantityError::VagueTolerance(Box::new(quantity.facts())))
}

fn tolerance(quantity: &Quantity) -> Result<f64, QuantityError> {
    let size = exact(quantity)?;
    if size < 0.0 { Err(QuantityError::NegativeTolerance(Box::new(quantity.facts()))) } else { Ok(size) }
}
