//! Arithmetic on doubles that is rounded to a chosen side, and exact where the result is exact.
//!
//! The rounding error of a sum, product, quotient or root is itself found by exact arithmetic (Knuth's
//! two-sum and the fused multiply-add; Muller et al., Handbook of Floating-Point Arithmetic, from memory),
//! so a result moves to its neighbour only where it was rounded to the wrong side.

/// Below this size the error of a product may itself be rounded, so the result always moves.
const TINY: f64 = 1e-280;

/// The sum, rounded down.
pub fn add_down(a: f64, b: f64) -> f64 {
    let sum = a + b;
    if sum_error(a, b, sum) < 0.0 { sum.next_down() } else { sum }
}

/// The sum, rounded up.
pub fn add_up(a: f64, b: f64) -> f64 {
    -add_down(-a, -b)
}

/// The product, rounded down.
pub fn mul_down(a: f64, b: f64) -> f64 {
    let product = a * b;
    if a == 0.0 || b == 0.0 {
        return 0.0;
    }
    let too_high = product.abs() < TINY || libm::fma(a, b, -product) < 0.0;
    if too_high { product.next_down() } else { product }
}

/// The product, rounded up.
pub fn mul_up(a: f64, b: f64) -> f64 {
    -mul_down(-a, b)
}

/// The quotient, rounded down; `b` is not 0.
pub fn div_down(a: f64, b: f64) -> f64 {
    let quotient = a / b;
    if a == 0.0 {
        return 0.0;
    }
    let remainder = libm::fma(-quotient, b, a);
    let too_high = a.abs() < TINY || quotient.abs() < TINY || (remainder != 0.0 && (remainder < 0.0) != (b < 0.0));
    if too_high { quotient.next_down() } else { quotient }
}

/// The quotient, rounded up; `b` is not 0.
pub fn div_up(a: f64, b: f64) -> f64 {
    -div_down(-a, b)
}

/// The square root of a number that is not negative, rounded down.
pub fn sqrt_down(x: f64) -> f64 {
    let root = x.sqrt();
    if x == 0.0 {
        return 0.0;
    }
    if x < TINY || libm::fma(-root, root, x) < 0.0 { root.next_down().max(0.0) } else { root }
}

/// The square root of a number that is not negative, rounded up.
pub fn sqrt_up(x: f64) -> f64 {
    let root = x.sqrt();
    if x == 0.0 {
        return 0.0;
    }
    if x < TINY || libm::fma(-root, root, x) > 0.0 { root.next_up() } else { root }
}

/// The number moved down by `count` places of its last digit.
pub fn ulps_down(x: f64, count: u32) -> f64 {
    (0..count).fold(x, |x, _| x.next_down())
}

/// The number moved up by `count` places of its last digit.
pub fn ulps_up(x: f64, count: u32) -> f64 {
    (0..count).fold(x, |x, _| x.next_up())
}

/// What was cut off when `sum` was rounded; exact short of overflow.
fn sum_error(a: f64, b: f64, sum: f64) -> f64 {
    let of_b = sum - a;
    (a - (sum - of_b)) + (b - of_b)
}

#[cfg(test)]
mod tests {
    use super::{add_down, add_up, div_down, div_up, mul_down, mul_up, sqrt_down, sqrt_up};
    use num_rational::BigRational;
    use proptest::prelude::{any, prop_assert, prop_assert_eq, proptest};

    fn exact(x: f64) -> BigRational {
        BigRational::from_float(x).unwrap()
    }

    fn usual(x: f64) -> bool {
        x == 0.0 || (1e-100..1e100).contains(&x.abs())
    }

    #[test]
    fn exact_results_do_not_move() {
        assert_eq!((add_down(0.5, 0.25), add_up(0.5, 0.25)), (0.75, 0.75));
        assert_eq!((mul_down(3.0, 7.0), mul_up(3.0, 7.0)), (21.0, 21.0));
        assert_eq!((div_down(1.0, 4.0), div_up(-1.0, 4.0)), (0.25, -0.25));
        assert_eq!((sqrt_down(9.0), sqrt_up(9.0)), (3.0, 3.0));
    }

    proptest! {
        #[test]
        fn results_enclose_the_exact_value_within_one_place(a in any::<f64>(), b in any::<f64>()) {
            if usual(a) && usual(b) {
                let (x, y) = (exact(a), exact(b));
                let check = |low: f64, high: f64, value: &BigRational| {
                    exact(low) <= *value && *value <= exact(high) && high <= low.next_up()
                };
                prop_assert!(check(add_down(a, b), add_up(a, b), &(&x + &y)));
                prop_assert!(check(mul_down(a, b), mul_up(a, b), &(&x * &y)));
                if b != 0.0 {
                    prop_assert!(check(div_down(a, b), div_up(a, b), &(&x / &y)));
                }
                let (low, high) = (sqrt_down(a.abs()), sqrt_up(a.abs()));
                prop_assert!(exact(low) * exact(low) <= exact(a.abs()));
                prop_assert!(exact(high) * exact(high) >= exact(a.abs()));
                prop_assert_eq!(high.max(low.next_up()).to_bits(), low.next_up().to_bits());
            }
        }
    }
}
