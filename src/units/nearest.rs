//! The double nearest to an exact value.

use std::f64::consts::PI;

use num_bigint::BigUint;
use num_rational::{BigRational, Ratio};
use num_traits::{Signed, ToPrimitive, Zero};

use crate::units::NumberProblem;

/// Integers below this are exact in an `f64`.
pub const EXACT_INTEGERS: i128 = 1 << 53;

/// The correctly rounded quotient where both integers, reduced if need be, are exact doubles.
pub fn quotient(upper: i128, lower: i128) -> Option<f64> {
    let fits = |upper: i128, lower: i128| upper.abs() < EXACT_INTEGERS && lower < EXACT_INTEGERS;
    if fits(upper, lower) {
        return Some(upper as f64 / lower as f64);
    }
    if upper == i128::MIN {
        return None;
    }
    let reduced = Ratio::new(upper, lower);
    let (upper, lower) = (*reduced.numer(), *reduced.denom());
    fits(upper, lower).then(|| upper as f64 / lower as f64)
}

/// The correctly rounded `upper/lower · π`; none where the integers are too large or the result is too close to a
/// rounding border to be sure of.
///
/// Quotient and π are each held as a sum of two doubles, which is good to about 100 bits.
pub fn quotient_times_pi(upper: i128, lower: i128) -> Option<f64> {
    /// What π exceeds the double nearest to it by.
    const REST_OF_PI: f64 = 1.224_646_799_147_353_2e-16;
    /// Share of the result by which the sum can be wrong, with room to spare.
    const DOUBT: f64 = 1e-28;
    if upper.abs() >= EXACT_INTEGERS || lower >= EXACT_INTEGERS {
        return None;
    }
    let (upper, lower) = (upper as f64, lower as f64);
    let high = upper / lower;
    let low = libm::fma(-high, lower, upper) / lower;
    let product = high * PI;
    let rest = libm::fma(high, PI, -product) + (high * REST_OF_PI + low * PI);
    let doubt = product.abs() * DOUBT;
    let (least, most) = (product + (rest - doubt), product + (rest + doubt));
    (least.to_bits() == most.to_bits()).then_some(least)
}

/// The double nearest to a fraction, ties to even; an error outside the range of normal doubles.
pub fn round_to_f64(value: &BigRational) -> Result<f64, NumberProblem> {
    if value.is_zero() {
        return Ok(0.0);
    }
    let (upper, lower) = (value.numer().magnitude(), value.denom().magnitude());
    let bits = |number: &BigUint| i64::try_from(number.bits()).unwrap_or(i64::MAX);
    // The quotient then has 62 or 63 bits: more than a double keeps, and it fits an integer of 64.
    let shift = 62 - (bits(upper) - bits(lower));
    let Some(exponent) = i32::try_from(shift).ok().filter(|shift| shift.abs() < 1_200) else {
        return Err(NumberProblem::OutOfRange);
    };
    let (upper, lower) = if exponent >= 0 {
        (upper << exponent, lower.clone())
    } else {
        (upper.clone(), lower << exponent.unsigned_abs())
    };
    let quotient = &upper / &lower;
    let inexact = &quotient * &lower != upper;
    // The lowest bit lies far below the rounding place, so it can stand for all that was cut off.
    let mantissa = quotient.to_u64().ok_or(NumberProblem::OutOfRange)? | u64::from(inexact);
    let size = libm::scalbn(mantissa as f64, -exponent);
    if !size.is_finite() || size < f64::MIN_POSITIVE {
        return Err(NumberProblem::OutOfRange);
    }
    Ok(if value.is_negative() { -size } else { size })
}

#[cfg(test)]
mod tests {
    use super::{quotient, quotient_times_pi, round_to_f64};
    use crate::units::Unit;
    use num_rational::BigRational;
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    proptest! {
        #[test]
        fn the_quick_ways_agree_with_exact_arithmetic(upper in -(1_i64 << 53)..1 << 53, lower in 1..1_i64 << 53, small in 1..20_000_i64) {
            let degree = Unit::parse("deg").unwrap().scale() * BigRational::from_integer(180.into());
            for (upper, lower) in [(upper, lower), (small, 180), (small, 18_000), (upper, small)] {
                let exact = BigRational::new(upper.into(), lower.into());
                let nearest = round_to_f64(&exact).unwrap();
                prop_assert_eq!(quotient(upper.into(), lower.into()).map(f64::to_bits), Some(nearest.to_bits()));
                let nearest = round_to_f64(&(exact * &degree)).unwrap();
                let quick = quotient_times_pi(upper.into(), lower.into());
                prop_assert!(quick.is_none_or(|quick| quick.to_bits() == nearest.to_bits()));
            }
            // The quick way must be taken nearly always, or it is none.
            prop_assert!(quotient_times_pi(small.into(), 180).is_some());
        }
    }
}
