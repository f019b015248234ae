use num_bigint::{BigInt, BigUint};
use num_rational::BigRational;
use num_traits::{ToPrimitive, Zero};

use crate::units::Unit;
use crate::units::nearest::{quotient, quotient_times_pi, round_to_f64};

/// A number as it is written, held exactly: `12`, `0.5`, `1_000`, `1.2e3`, `1/8`.
#[derive(Clone, Debug, PartialEq)]
pub struct Literal(Exact);

/// Small numbers, which is nearly all of them, need no memory of their own.
#[derive(Clone, Debug, PartialEq)]
enum Exact {
    Small { numerator: i64, denominator: i64 },
    Big(BigRational),
}

/// Why a text is not a number that can be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberProblem {
    /// The text does not have the form of a number.
    NotANumber,
    /// More digits than any measurement has.
    TooManyDigits,
    /// Too large, or too close to 0, to be computed with.
    OutOfRange,
    /// A fraction with 0 below.
    ZeroDenominator,
}

/// Longer texts are refused before any exact arithmetic is done with them.
const MOST_DIGITS: usize = 400;
/// No double reaches further than this power of ten.
const MOST_EXPONENT: i32 = 400;

impl Literal {
    /// Reads a decimal number or a fraction `digits/digits`, with an optional minus in front.
    pub fn parse(text: &str) -> Result<Self, NumberProblem> {
        let (negative, text) = match text.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let number = match text.split_once('/') {
            Some((upper, lower)) => Self::fraction(upper, lower)?,
            None => Self::decimal(text)?,
        };
        Ok(if negative { number.negated() } else { number })
    }

    /// A whole number and a fraction side by side, such as `1` and `1/2`; the sign of the whole holds for both.
    pub fn mixed(whole: &str, fraction: &str) -> Result<Self, NumberProblem> {
        let (upper, lower) = fraction.split_once('/').ok_or(NumberProblem::NotANumber)?;
        let (negative, whole) = match whole.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (true, rest),
            None => (false, whole),
        };
        if whole.contains(['.', 'e', 'E']) {
            return Err(NumberProblem::NotANumber);
        }
        let sum = Self::decimal(whole)?.exact() + Self::fraction(upper, lower)?.exact();
        let number = Self::from_exact(sum);
        Ok(if negative { number.negated() } else { number })
    }

    /// The number with the opposite sign.
    #[must_use]
    pub fn negated(self) -> Self {
        Self(match self.0 {
            Exact::Small { numerator, denominator } => Exact::Small { numerator: -numerator, denominator },
            Exact::Big(value) => Exact::Big(-value),
        })
    }

    /// The double nearest to the exact value of this number in `unit`, in SI units.
    ///
    /// `1 in` and `25.4 mm` therefore give the same bits.
    pub fn to_si(&self, unit: &Unit) -> Result<f64, NumberProblem> {
        match self.quick(unit) {
            Some(value) => Ok(value),
            None => round_to_f64(&(self.exact() * unit.scale() + unit.offset())),
        }
    }

    /// The double nearest to the bare number.
    pub fn to_f64(&self) -> Result<f64, NumberProblem> {
        match self.0 {
            Exact::Small { numerator, denominator } => match quotient(numerator.into(), denominator.into()) {
                Some(value) => Ok(value),
                None => round_to_f64(&self.exact()),
            },
            Exact::Big(ref value) => round_to_f64(value),
        }
    }

    /// The number where it is whole, not negative and fits; counts and ports are read this way.
    pub fn whole(&self) -> Option<u64> {
        let exact = self.exact();
        if exact.is_integer() { exact.numer().to_u64() } else { None }
    }

    /// The exact value.
    pub fn exact(&self) -> BigRational {
        match &self.0 {
            Exact::Small { numerator, denominator } => BigRational::new((*numerator).into(), (*denominator).into()),
            Exact::Big(value) => value.clone(),
        }
    }

    /// Machine integers where they suffice: no memory is asked for, and the result is the same to the bit.
    fn quick(&self, unit: &Unit) -> Option<f64> {
        let Exact::Small { numerator, denominator } = self.0 else { return None };
        let (scale, pi) = unit.small_scale()?;
        let upper = i128::from(numerator).checked_mul(*scale.numer())?;
        let lower = i128::from(denominator).checked_mul(*scale.denom())?;
        let (offset_upper, offset_lower) = unit.small_offset();
        match (offset_upper, pi) {
            (0, 0) => return quotient(upper, lower),
            (0, 1) => return quotient_times_pi(upper, lower),
            (0, _) => return None,
            _ => {}
        }
        let sum = upper.checked_mul(offset_lower)?.checked_add(offset_upper.checked_mul(lower)?)?;
        quotient(sum, lower.checked_mul(offset_lower)?)
    }

    fn from_exact(value: BigRational) -> Self {
        match (value.numer().to_i64(), value.denom().to_i64()) {
            // The smallest integer has no opposite.
            (Some(numerator), Some(denominator)) if numerator != i64::MIN => {
                Self(Exact::Small { numerator, denominator })
            }
            _ => Self(Exact::Big(value)),
        }
    }

    fn fraction(upper: &str, lower: &str) -> Result<Self, NumberProblem> {
        let (upper, lower) = (integer(upper)?, integer(lower)?);
        if lower.is_zero() {
            return Err(NumberProblem::ZeroDenominator);
        }
        Ok(Self::from_exact(BigRational::new(upper.into(), lower.into())))
    }

    fn decimal(text: &str) -> Result<Self, NumberProblem> {
        let (digits, exponent) = match text.split_once(['e', 'E']) {
            Some((digits, exponent)) => (digits, exponent_of(exponent)?),
            None => (text, 0),
        };
        let (whole, behind) = match digits.split_once('.') {
            Some((whole, behind)) => (whole, Some(behind)),
            None => (digits, None),
        };
        grouped(whole)?;
        behind.map_or(Ok(()), grouped)?;
        let behind = behind.unwrap_or("");
        if whole.len() + behind.len() > MOST_DIGITS {
            return Err(NumberProblem::TooManyDigits);
        }
        let places = i32::try_from(behind.bytes().filter(u8::is_ascii_digit).count()).unwrap_or(MOST_EXPONENT);
        let power = exponent - places;
        if let Some(small) = small_decimal(whole.bytes().chain(behind.bytes()), power) {
            return Ok(Self(small));
        }
        let digits: Vec<u8> = whole.bytes().chain(behind.bytes()).filter(u8::is_ascii_digit).collect();
        let mantissa = BigInt::parse_bytes(&digits, 10).ok_or(NumberProblem::NotANumber)?;
        let ten = BigInt::from(10).pow(power.unsigned_abs());
        let value = if power < 0 { BigRational::new(mantissa, ten) } else { BigRational::from(mantissa * ten) };
        Ok(Self::from_exact(value))
    }
}

/// The value where mantissa and power of ten fit machine integers.
fn small_decimal(digits: impl Iterator<Item = u8>, power: i32) -> Option<Exact> {
    let mut mantissa = 0_i64;
    for digit in digits.filter(u8::is_ascii_digit) {
        mantissa = mantissa.checked_mul(10)?.checked_add(i64::from(digit - b'0'))?;
    }
    let ten = 10_i64.checked_pow(power.unsigned_abs())?;
    Some(if power < 0 {
        Exact::Small { numerator: mantissa, denominator: ten }
    } else {
        Exact::Small { numerator: mantissa.checked_mul(ten)?, denominator: 1 }
    })
}

/// Digits with single underscores between them.
fn grouped(text: &str) -> Result<(), NumberProblem> {
    let well_formed = text.split('_').all(|group| !group.is_empty() && group.bytes().all(|byte| byte.is_ascii_digit()));
    if well_formed { Ok(()) } else { Err(NumberProblem::NotANumber) }
}

fn integer(text: &str) -> Result<BigUint, NumberProblem> {
    grouped(text)?;
    if text.len() > MOST_DIGITS {
        return Err(NumberProblem::TooManyDigits);
    }
    let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_digit).collect();
    BigUint::parse_bytes(&digits, 10).ok_or(NumberProblem::NotANumber)
}

fn exponent_of(text: &str) -> Result<i32, NumberProblem> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(NumberProblem::NotANumber);
    }
    let exponent = text.parse::<i32>().map_err(|_| NumberProblem::OutOfRange)?;
    if exponent.abs() > MOST_EXPONENT { Err(NumberProblem::OutOfRange) } else { Ok(exponent) }
}

#[cfg(test)]
mod tests {
    use super::{Literal, NumberProblem};
    use crate::units::Unit;

    fn si(number: &str, unit: &str) -> f64 {
        Literal::parse(number).unwrap().to_si(&Unit::parse(unit).unwrap()).unwrap()
    }

    #[test]
    fn different_spellings_of_one_value_give_the_same_bits() {
        assert_eq!(si("1", "in").to_bits(), si("25.4", "mm").to_bits());
        assert_eq!(si("12", "in").to_bits(), si("1", "ft").to_bits());
        assert_eq!(si("0.125", "in").to_bits(), si("1/8", "in").to_bits());
        assert_eq!(si("72", "degF").to_bits(), si("200/9", "degC").to_bits());
        assert_eq!(si("32", "degF").to_bits(), 273.15_f64.to_bits());
        assert_eq!(si("-40", "degF").to_bits(), si("-40", "degC").to_bits());
        assert_eq!(si("1_000.5e-3", "m").to_bits(), 1.0005_f64.to_bits());
        let mixed = Literal::mixed("1", "1/2").unwrap().to_si(&Unit::parse("in").unwrap()).unwrap();
        assert_eq!(mixed.to_bits(), si("38.1", "mm").to_bits());
    }

    #[test]
    fn angles_use_the_nearest_double() {
        assert_eq!(si("180", "deg").to_bits(), std::f64::consts::PI.to_bits());
        assert_eq!(si("90", "deg").to_bits(), std::f64::consts::FRAC_PI_2.to_bits());
        assert_eq!(si("0", "deg").to_bits(), 0.0_f64.to_bits());
    }

    #[test]
    fn long_numbers_round_like_the_standard_library() {
        for text in [
            "0.1234567890123456789012345678901234567890",
            "9007199254740993",
            // A hair beyond the middle between two doubles.
            "9007199254740993.00000000000000000000000000000000000001",
            "123456789012345678901234567890.5",
            "1.7976931348623157e308",
        ] {
            let value = Literal::parse(text).unwrap().to_f64().unwrap();
            assert_eq!(value.to_bits(), text.parse::<f64>().unwrap().to_bits(), "{text}");
        }
    }

    #[test]
    fn faults_are_told_apart() {
        for text in [
            "", "1.", ".5", "1__0", "_1", "1_", "1e", "1e+", "1e1.5", "0x1", "1/", "/2", "1/2/3", "1.5/2", "--1",
            "inf", "+1",
        ] {
            assert_eq!(Literal::parse(text), Err(NumberProblem::NotANumber), "{text}");
        }
        assert_eq!(Literal::parse("1/0"), Err(NumberProblem::ZeroDenominator));
        assert_eq!(Literal::parse("1e999999999999"), Err(NumberProblem::OutOfRange));
        assert_eq!(Literal::parse("1e401"), Err(NumberProblem::OutOfRange));
        assert_eq!(Literal::parse(&"9".repeat(5000)), Err(NumberProblem::TooManyDigits));
        assert_eq!(Literal::parse("1e400").unwrap().to_f64(), Err(NumberProblem::OutOfRange));
        assert_eq!(Literal::parse("1e-400").unwrap().to_f64(), Err(NumberProblem::OutOfRange));
        assert_eq!(Literal::mixed("1.5", "1/2"), Err(NumberProblem::NotANumber));
    }

    #[test]
    fn counts_are_whole_numbers() {
        let whole = |text: &str| Literal::parse(text).unwrap().whole();
        assert_eq!(whole("40"), Some(40));
        assert_eq!(whole("4e1"), Some(40));
        assert_eq!(whole("2.5"), None);
        assert_eq!(whole("-1"), None);
    }
}
