use std::fmt;

use num_bigint::BigInt;
use num_rational::{BigRational, Ratio};
use num_traits::{One, Pow, Zero};
use smallvec::{SmallVec, smallvec};

use crate::units::Dimension;
use crate::units::nearest::{quotient, quotient_times_pi, round_to_f64};
use crate::units::table::{UnitDef, lookup};

/// Nearly every unit is one word or two, and a library holds one with every number: they need no memory of their own.
type Factors = SmallVec<[(&'static UnitDef, i32); 2]>;

/// A unit as it is written: a product of table units, each to a whole power, such as `W/(m K)`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    factors: Factors,
    dimension: Dimension,
}

/// Why a unit cannot be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitProblem {
    /// No unit has this spelling.
    Unknown(String),
    /// A temperature point in a product, quotient or power; a rate uses K.
    PointInProduct(&'static str),
    /// An exponent is out of range.
    TooSteep,
    /// The text is not a product or quotient of units.
    Malformed,
}

/// π to 80 digits, without its point.
const PI_DIGITS: &[u8] = b"314159265358979323846264338327950288419716939937510582097494459230781640628620899";

impl Unit {
    /// The unit of plain numbers, which prints as nothing.
    pub fn one() -> Self {
        Self { factors: Factors::new(), dimension: Dimension::one() }
    }

    /// A unit of the table by itself.
    pub fn single(unit: &'static UnitDef) -> Self {
        Self { factors: smallvec![(unit, 1)], dimension: unit.dimension }
    }

    /// The product of two units.
    pub fn times(&self, other: &Self) -> Result<Self, UnitProblem> {
        self.combine(other, 1)
    }

    /// The quotient of two units.
    pub fn over(&self, other: &Self) -> Result<Self, UnitProblem> {
        self.combine(other, -1)
    }

    /// A whole power of a unit.
    pub fn power(&self, n: i32) -> Result<Self, UnitProblem> {
        self.refuse_point()?;
        if n == 0 {
            return Ok(Self::one());
        }
        let dimension = self.dimension.power(n).ok_or(UnitProblem::TooSteep)?;
        let mut factors = self.factors.clone();
        for (_, exponent) in &mut factors {
            *exponent = small(exponent.checked_mul(n))?;
        }
        Ok(Self { factors, dimension })
    }

    /// Reads a unit as the language writes it, such as `W/(m K)`, `ohm*cmil/ft` or `um/(m K)`.
    pub fn parse(text: &str) -> Result<Self, UnitProblem> {
        let (above, below) = match text.split_once('/') {
            Some((above, below)) => (above.trim(), Some(below.trim())),
            None => (text.trim(), None),
        };
        let upper = if above == "1" && below.is_some() { Self::one() } else { Self::product(above)? };
        match below {
            None => Ok(upper),
            Some(below) => match below.strip_prefix('(') {
                Some(inner) => upper.over(&Self::product(inner.strip_suffix(')').ok_or(UnitProblem::Malformed)?)?),
                None if below.contains(char::is_whitespace) => Err(UnitProblem::Malformed),
                None => upper.over(&Self::product(below)?),
            },
        }
    }

    /// What values in this unit measure.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// Whether the unit marks temperatures on a scale, such as `degC`.
    pub fn is_point(&self) -> bool {
        self.point().is_some()
    }

    /// Whether the unit is the per cent sign alone.
    pub fn is_percent(&self) -> bool {
        matches!(self.factors.as_slice(), [(unit, 1)] if unit.word == "%")
    }

    /// The unit of differences: `delta_degF` for `degF`, every other unit itself.
    #[must_use]
    pub fn as_difference(&self) -> Self {
        let difference = match self.point().map(|unit| unit.word) {
            Some("degC") => lookup("delta_degC"),
            Some("degF") => lookup("delta_degF"),
            _ => None,
        };
        difference.map_or_else(|| self.clone(), Self::single)
    }

    /// The size of the unit in SI units, correctly rounded; none where it is too large or small.
    pub fn factor(&self) -> Option<f64> {
        let quick = match self.small_scale() {
            Some((scale, 0)) => quotient(*scale.numer(), *scale.denom()),
            Some((scale, 1)) => quotient_times_pi(*scale.numer(), *scale.denom()),
            _ => None,
        };
        quick.or_else(|| round_to_f64(&self.scale()).ok())
    }

    /// The exact size of the unit in SI units; π stands as a fraction that is right to 80 digits.
    pub fn scale(&self) -> BigRational {
        let mut scale = BigRational::one();
        for (unit, exponent) in &self.factors {
            let mut factor = BigRational::new(unit.scale.numerator.into(), unit.scale.denominator.into());
            if unit.scale.pi != 0 {
                factor *= pi().pow(i32::from(unit.scale.pi));
            }
            scale *= factor.pow(*exponent);
        }
        scale
    }

    /// The kelvin at the zero of a temperature point; 0 for every other unit.
    pub fn offset(&self) -> BigRational {
        match self.small_offset() {
            (0, _) => BigRational::zero(),
            (upper, lower) => BigRational::new(upper.into(), lower.into()),
        }
    }

    /// The scale where it fits machine integers: a fraction, and the exponent of π.
    pub(super) fn small_scale(&self) -> Option<(Ratio<i128>, i32)> {
        let (mut upper, mut lower, mut pi) = (1_i128, 1_i128, 0);
        for (unit, exponent) in &self.factors {
            pi += i32::from(unit.scale.pi) * exponent;
            let (mut above, mut below) = (i128::from(unit.scale.numerator), i128::from(unit.scale.denominator));
            if *exponent < 0 {
                std::mem::swap(&mut above, &mut below);
            }
            let n = exponent.unsigned_abs();
            upper = upper.checked_mul(above.checked_pow(n)?)?;
            lower = lower.checked_mul(below.checked_pow(n)?)?;
        }
        let scale = if self.factors.len() > 1 { Ratio::new(upper, lower) } else { Ratio::new_raw(upper, lower) };
        Some((scale, pi))
    }

    /// The offset as a fraction.
    pub(super) fn small_offset(&self) -> (i128, i128) {
        let (upper, lower) = self.point().and_then(|unit| unit.offset).unwrap_or((0, 1));
        (upper.into(), lower.into())
    }

    fn point(&self) -> Option<&'static UnitDef> {
        match self.factors.as_slice() {
            [(unit, 1)] if unit.offset.is_some() => Some(unit),
            _ => None,
        }
    }

    fn refuse_point(&self) -> Result<(), UnitProblem> {
        self.point().map_or(Ok(()), |unit| Err(UnitProblem::PointInProduct(unit.word)))
    }

    /// Words with spaces between them, multiplied.
    fn product(text: &str) -> Result<Self, UnitProblem> {
        let mut words = text.split(|c: char| c.is_whitespace() || c == '*').filter(|word| !word.is_empty());
        let mut product = Self::word(words.next().ok_or(UnitProblem::Malformed)?)?;
        for word in words {
            product = product.times(&Self::word(word)?)?;
        }
        Ok(product)
    }

    fn word(word: &str) -> Result<Self, UnitProblem> {
        if word.contains(['/', '(', ')']) {
            return Err(UnitProblem::Malformed);
        }
        lookup(word).map(Self::single).ok_or_else(|| UnitProblem::Unknown(word.to_owned()))
    }

    fn combine(&self, other: &Self, sign: i32) -> Result<Self, UnitProblem> {
        self.refuse_point()?;
        other.refuse_point()?;
        let dimension =
            if sign > 0 { self.dimension.times(other.dimension) } else { self.dimension.over(other.dimension) };
        let mut result = Self { factors: self.factors.clone(), dimension: dimension.ok_or(UnitProblem::TooSteep)? };
        for (unit, exponent) in &other.factors {
            let added = exponent * sign;
            match result.factors.iter_mut().find(|(present, _)| std::ptr::eq(*present, *unit)) {
                Some((_, exponent)) => *exponent = small(exponent.checked_add(added))?,
                None => result.factors.push((unit, added)),
            }
        }
        result.factors.retain(|(_, exponent)| *exponent != 0);
        Ok(result)
    }
}

/// Exponents stay far below what could make the exact arithmetic slow.
fn small(exponent: Option<i32>) -> Result<i32, UnitProblem> {
    exponent.filter(|exponent| exponent.abs() <= 16).ok_or(UnitProblem::TooSteep)
}

fn pi() -> BigRational {
    let digits = BigInt::parse_bytes(PI_DIGITS, 10).unwrap_or_default();
    BigRational::new(digits, BigInt::from(10).pow(80_u32))
}

impl fmt::Display for Unit {
    /// As the language writes it: `W/(m K)`, `ohm/ft`, `W/in2`, `1/K`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let above: Vec<String> =
            self.factors.iter().filter(|(_, exponent)| *exponent > 0).flat_map(|(unit, n)| words(unit, *n)).collect();
        let below: Vec<String> =
            self.factors.iter().filter(|(_, exponent)| *exponent < 0).flat_map(|(unit, n)| words(unit, -n)).collect();
        out.write_str(&above.join("*"))?;
        if below.is_empty() {
            return Ok(());
        }
        let bar = if above.is_empty() { "1/" } else { "/" };
        if let [word] = below.as_slice() {
            write!(out, "{bar}{word}")
        } else {
            write!(out, "{bar}({})", below.join(" "))
        }
    }
}

/// The words of a positive power: the language has squares and cubes of lengths, all else is repeated.
fn words(unit: &'static UnitDef, exponent: i32) -> Vec<String> {
    let mut left = usize::try_from(exponent).unwrap_or(0);
    let mut words = Vec::new();
    for step in [3, 2] {
        let powered = format!("{}{step}", unit.word);
        while left >= step && lookup(&powered).is_some() {
            words.push(powered.clone());
            left -= step;
        }
    }
    words.extend(std::iter::repeat_n(unit.word.to_owned(), left));
    words
}

#[cfg(test)]
mod tests {
    use super::{Unit, UnitProblem};
    use crate::units::table::UNITS;

    #[test]
    fn prints_as_the_language_writes() {
        for text in
            ["W/(m K)", "J/(kg K)", "ohm/ft", "W/in2", "W/in", "kg/m3", "1/K", "ohm*cmil/ft", "mm", "%", "m/(s s)"]
        {
            assert_eq!(Unit::parse(text).unwrap().to_string(), text);
        }
        let mm = Unit::parse("mm").unwrap();
        assert_eq!(mm.power(2).unwrap().to_string(), "mm2");
        assert_eq!(mm.power(4).unwrap().to_string(), "mm3*mm");
        assert_eq!(mm.over(&mm).unwrap(), Unit::one());
    }

    #[test]
    fn faults_are_told_apart() {
        assert_eq!(Unit::parse("W/degC"), Err(UnitProblem::PointInProduct("degC")));
        assert_eq!(Unit::parse("furlong"), Err(UnitProblem::Unknown("furlong".into())));
        for malformed in ["", "/", "W/", "W/(m", "W/m K", "W/m/K", "(m)", "1"] {
            assert!(Unit::parse(malformed).is_err(), "{malformed}");
        }
        assert_eq!(Unit::parse("mm").unwrap().power(40), Err(UnitProblem::TooSteep));
    }

    #[test]
    fn the_table_has_no_spelling_twice() {
        let spellings = || UNITS.iter().flat_map(|unit| unit.aliases.iter().chain(std::iter::once(&unit.word)));
        let distinct: std::collections::BTreeSet<_> = spellings().collect();
        assert_eq!(distinct.len(), spellings().count());
    }

    #[test]
    fn factors_are_correctly_rounded() {
        let factor = |text: &str| Unit::parse(text).unwrap().factor().unwrap();
        assert_eq!(factor("in").to_bits(), 0.0254_f64.to_bits());
        assert_eq!(factor("lbf").to_bits(), 4.448_221_615_260_5_f64.to_bits());
        assert_eq!(factor("deg").to_bits(), (std::f64::consts::PI / 180.0).to_bits());
    }

    #[test]
    fn units_that_are_made_of_others_agree_with_them_exactly() {
        let same = [("psi", "lbf/in2"), ("Wh", "W h"), ("Pa", "N/m2"), ("V", "W/A"), ("ohm", "V/A"), ("J", "N m")];
        for (one, other) in same {
            let (one, other) = (Unit::parse(one).unwrap(), Unit::parse(other).unwrap());
            assert_eq!((one.dimension(), one.scale()), (other.dimension(), other.scale()), "{one} and {other}");
        }
    }

    #[test]
    fn a_difference_unit_stands_for_its_point() {
        assert_eq!(Unit::parse("degF").unwrap().as_difference().to_string(), "delta_degF");
        assert_eq!(Unit::parse("mm").unwrap().as_difference().to_string(), "mm");
    }
}
