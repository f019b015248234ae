//! Bounds enclose every value the unknowns allow, and are tight where identity matters.

#![expect(clippy::unwrap_used, reason = "a helper of a test may fail as the test may")]

use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive, Zero};
use proptest::prelude::{Just, Strategy, any, prop, prop_assert, prop_assert_eq, prop_assume, prop_oneof, proptest};
use withy::units::{Bounded, BoundsProblem, SourceId, Verdict};

/// A random expression over three unknowns.
#[derive(Clone, Debug)]
enum Tree {
    Source(usize),
    Number(f64),
    Negated(Box<Tree>),
    Absolute(Box<Tree>),
    Power(Box<Tree>, i32),
    Pair(Pair, Box<Tree>, Box<Tree>),
    Smooth(Smooth, Box<Tree>),
}

#[derive(Clone, Copy, Debug)]
enum Pair {
    Sum,
    Difference,
    Product,
    Quotient,
    Smaller,
    Larger,
    Hull,
}

#[derive(Clone, Copy, Debug)]
enum Smooth {
    Root,
    Sine,
    Cosine,
    Tangent,
    Exponential,
    Logarithm,
}

fn algebra() -> impl Strategy<Value = Tree> {
    let leaf = prop_oneof![(0..3_usize).prop_map(Tree::Source), (-8.0..8.0_f64).prop_map(Tree::Number)];
    leaf.prop_recursive(5, 24, 2, |inner| {
        prop_oneof![
            inner.clone().prop_map(|x| Tree::Negated(Box::new(x))),
            inner.clone().prop_map(|x| Tree::Absolute(Box::new(x))),
            (inner.clone(), -3..5_i32).prop_map(|(x, n)| Tree::Power(Box::new(x), n)),
            (pair(), inner.clone(), inner).prop_map(|(pair, x, y)| Tree::Pair(pair, Box::new(x), Box::new(y))),
        ]
    })
}

fn pair() -> impl Strategy<Value = Pair> {
    prop_oneof![
        Just(Pair::Sum),
        Just(Pair::Difference),
        Just(Pair::Product),
        Just(Pair::Quotient),
        Just(Pair::Smaller),
        Just(Pair::Larger),
        Just(Pair::Hull),
    ]
}

fn smooth() -> impl Strategy<Value = Tree> {
    let function = prop_oneof![
        Just(Smooth::Root),
        Just(Smooth::Sine),
        Just(Smooth::Cosine),
        Just(Smooth::Tangent),
        Just(Smooth::Exponential),
        Just(Smooth::Logarithm),
    ];
    (function, algebra(), algebra(), pair())
        .prop_map(|(function, x, y, pair)| Tree::Pair(pair, Box::new(Tree::Smooth(function, Box::new(x))), Box::new(y)))
}

/// Bounds of a source: any two numbers of a usual size, in order.
fn span() -> impl Strategy<Value = (f64, f64)> {
    (-4.0..4.0_f64, prop_oneof![Just(0.0), 0.0..0.5_f64, 0.0..6.0_f64]).prop_map(|(low, width)| (low, low + width))
}

fn bounded(tree: &Tree, sources: &[Bounded]) -> Result<Bounded, BoundsProblem> {
    let of = |tree: &Tree| bounded(tree, sources);
    match tree {
        Tree::Source(index) => Ok(sources[*index].clone()),
        Tree::Number(value) => Bounded::exact(*value),
        Tree::Negated(x) => Ok(of(x)?.neg()),
        Tree::Absolute(x) => of(x)?.abs(),
        Tree::Power(x, n) => of(x)?.powi(*n),
        Tree::Pair(pair, x, y) => {
            let (x, y) = (of(x)?, of(y)?);
            match pair {
                Pair::Sum => x.add(&y),
                Pair::Difference => x.sub(&y),
                Pair::Product => x.mul(&y),
                Pair::Quotient => x.div(&y),
                Pair::Smaller => x.min(&y),
                Pair::Larger => x.max(&y),
                Pair::Hull => x.hull(&y),
            }
        }
        Tree::Smooth(function, x) => {
            let x = of(x)?;
            match function {
                Smooth::Root => x.sqrt(),
                Smooth::Sine => x.sin(),
                Smooth::Cosine => x.cos(),
                Smooth::Tangent => x.tan(),
                Smooth::Exponential => x.exp(),
                Smooth::Logarithm => x.log(),
            }
        }
    }
}

/// The exact value where the unknowns have the given values; the hull takes its second operand to be harder to meet.
fn exact(tree: &Tree, values: &[BigRational]) -> BigRational {
    let of = |tree: &Tree| exact(tree, values);
    match tree {
        Tree::Source(index) => values[*index].clone(),
        Tree::Number(value) => rational(*value),
        Tree::Negated(x) => -of(x),
        Tree::Absolute(x) => of(x).abs(),
        Tree::Power(x, n) => of(x).pow(*n),
        Tree::Pair(pair, x, y) => {
            let (x, y) = (of(x), of(y));
            match pair {
                Pair::Sum => x + y,
                Pair::Difference => x - y,
                Pair::Product => x * y,
                Pair::Quotient => x / y,
                Pair::Smaller => x.min(y),
                Pair::Larger => x.max(y),
                Pair::Hull => y,
            }
        }
        Tree::Smooth(..) => unreachable!("checked against doubles instead"),
    }
}

/// The value in doubles, with the size of the largest number met on the way to judge rounding by.
fn rough(tree: &Tree, values: &[f64], size: &mut f64) -> f64 {
    let value = match tree {
        Tree::Smooth(function, x) => {
            let x = rough(x, values, size);
            match function {
                Smooth::Root => x.max(0.0).sqrt(),
                Smooth::Sine => libm::sin(x),
                Smooth::Cosine => libm::cos(x),
                Smooth::Tangent => libm::tan(x),
                Smooth::Exponential => libm::exp(x),
                Smooth::Logarithm => libm::log(x),
            }
        }
        Tree::Pair(pair, x, y) => {
            let (x, y) = (rough(x, values, size), rough(y, values, size));
            match pair {
                Pair::Sum => x + y,
                Pair::Difference => x - y,
                Pair::Product => x * y,
                Pair::Quotient => x / y,
                Pair::Smaller => x.min(y),
                Pair::Larger => x.max(y),
                Pair::Hull => y,
            }
        }
        algebra => {
            let exact = exact(algebra, &values.iter().map(|value| rational(*value)).collect::<Vec<_>>());
            exact.to_f64().unwrap()
        }
    };
    *size = size.max(value.abs());
    value
}

/// The number to 300 binary places, so that exact sums stay short.
fn short(value: BigRational) -> BigRational {
    let scale = BigRational::from(num_bigint::BigInt::from(1) << 300);
    (value * &scale).trunc() / scale
}

fn rational(value: f64) -> BigRational {
    BigRational::from_float(value).unwrap()
}

fn source(id: u128, (low, high): (f64, f64)) -> Bounded {
    Bounded::known(low + (high - low) / 4.0, low, high, SourceId(id)).unwrap()
}

proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(4_000))]

    #[test]
    fn algebra_encloses_every_exact_sample(
        tree in algebra(),
        spans in prop::array::uniform3(span()),
        samples in prop::collection::vec(prop::array::uniform3(0..=16_i32), 12),
    ) {
        let sources: Vec<Bounded> = (0..).zip(spans).map(|(id, span)| source(id, span)).collect();
        let Ok(result) = bounded(&tree, &sources) else { return Ok(()) };
        prop_assert!(result.low() <= result.nominal() && result.nominal() <= result.high());
        prop_assert!(result.low().is_finite() && result.high().is_finite());
        for sample in samples {
            let values: Vec<BigRational> = spans.iter().zip(sample).map(|((low, high), step)| {
                let (low, high) = (rational(*low), rational(*high));
                &low + (high - &low) * BigRational::new(step.into(), 16.into())
            }).collect();
            let value = exact(&tree, &values);
            prop_assert!(rational(result.low()) <= value && value <= rational(result.high()), "{value} outside {result:?}");
        }
    }

    #[test]
    fn smooth_functions_enclose_every_sample(
        tree in smooth(),
        spans in prop::array::uniform3(span()),
        samples in prop::collection::vec(prop::array::uniform3(0..=16_i32), 12),
    ) {
        let sources: Vec<Bounded> = (0..).zip(spans).map(|(id, span)| source(id, span)).collect();
        let Ok(result) = bounded(&tree, &sources) else { return Ok(()) };
        prop_assert!(result.low() <= result.nominal() && result.nominal() <= result.high());
        for sample in samples {
            let values: Vec<f64> =
                spans.iter().zip(sample).map(|((low, high), step)| (low + (high - low) * f64::from(step) / 16.0).clamp(*low, *high)).collect();
            let mut size = 0.0;
            let value = rough(&tree, &values, &mut size);
            // The sample itself is rounded; its slope is bounded by what the size allows in these trees.
            let slack = 1e-11 * (size * size).max(1.0);
            prop_assert!(result.low() - slack <= value && value <= result.high() + slack, "{value} outside {result:?}");
        }
    }

    #[test]
    fn independent_products_are_as_tight_as_intervals(a in span(), b in span()) {
        let product = source(1, a).mul(&source(2, b)).unwrap();
        let corners = [a.0 * b.0, a.0 * b.1, a.1 * b.0, a.1 * b.1];
        let low = corners.iter().copied().fold(f64::INFINITY, f64::min);
        let high = corners.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(product.low() >= low.next_down() && product.high() <= high.next_up());
    }

    #[test]
    fn a_value_cancels_against_itself(a in span(), b in span(), k in 1..9_i32) {
        let (x, y) = (source(1, a), source(2, b));
        let mixed = x.add(&y).unwrap();
        let nothing = x.sub(&x).unwrap();
        prop_assert_eq!((nothing.low().to_bits(), nothing.high().to_bits()), (0, 0));
        let scaled = Bounded::exact(f64::from(k)).unwrap().mul(&x).unwrap();
        let again = x.mul(&Bounded::exact(f64::from(k)).unwrap()).unwrap();
        prop_assert!(scaled.compare_less(&again) != Verdict::Always);
        let rest = mixed.sub(&x).unwrap().sub(&y).unwrap();
        prop_assert!(rest.low() >= -1e-14 && rest.high() <= 1e-14, "{rest:?}");
        let square = x.mul(&x).unwrap();
        prop_assert!(square.low() >= 0.0);
        let tight = if a.0 <= 0.0 && a.1 >= 0.0 { 0.0 } else { (a.0 * a.0).min(a.1 * a.1) };
        prop_assert!(square.low() >= tight.next_down().next_down().max(0.0));
    }

    #[test]
    fn rounded_coefficients_stay_inside(a in span(), factors in prop::collection::vec((-3.0..3.0_f64, any::<bool>()), 1..40)) {
        let x = source(1, a);
        let mut sum = Bounded::exact(0.0).unwrap();
        let mut slope = rational(0.0);
        for (factor, flip) in factors {
            let factor = if flip { factor / 3.0 } else { factor };
            sum = sum.add(&x.mul(&Bounded::exact(factor).unwrap()).unwrap()).unwrap();
            slope += rational(factor);
        }
        for end in [a.0, a.1] {
            let value = &slope * rational(end);
            prop_assert!(rational(sum.low()) <= value && value <= rational(sum.high()), "{value} outside {sum:?}");
        }
    }

    #[test]
    fn a_named_result_cancels_too(a in span(), b in span()) {
        let product = source(1, a).mul(&source(2, b)).unwrap().named(SourceId(3));
        let rest = product.sub(&product).unwrap();
        prop_assert_eq!((rest.low(), rest.high()), (0.0, 0.0));
    }

    #[test]
    fn rounding_encloses_every_sample(a in span(), step in 0.01..2.0_f64, part in 0..=16_i32) {
        let rounded = source(1, a).round_to(step).unwrap();
        let value = rational(a.0) + (rational(a.1) - rational(a.0)) * BigRational::new(part.into(), 16.into());
        let exact = (value / rational(step)).round() * rational(step);
        prop_assert!(rational(rounded.low()) <= exact && exact <= rational(rounded.high()), "{rounded:?}");
    }

    #[test]
    fn no_operation_ever_gives_what_is_not_finite(a in any::<f64>(), b in any::<f64>(), n in any::<i32>()) {
        prop_assume!(a.is_finite() && b.is_finite());
        let x = Bounded::known(a.min(b), a.min(b), a.max(b), SourceId(1)).unwrap();
        let y = Bounded::known(b, b.min(0.0), b.max(0.0), SourceId(2)).unwrap();
        let results = [
            x.add(&y), x.sub(&y), x.mul(&y), x.div(&y), y.div(&x), x.powi(n), x.powi(2), x.powi(-2), x.abs(), x.min(&y),
            x.max(&y), x.hull(&y), x.sqrt(), x.sin(), x.cos(), x.tan(), x.exp(), x.log(), x.round_to(b),
            Ok(x.neg()),
        ];
        for result in results.into_iter().flatten() {
            prop_assert!(result.low().is_finite() && result.high().is_finite());
            prop_assert!(result.low() <= result.nominal() && result.nominal() <= result.high());
        }
    }
}

proptest! {
    // Exact series are slow, and each case checks five functions.
    #![proptest_config(proptest::test_runner::Config::with_cases(250))]

    #[test]
    fn transcendental_values_lie_within_what_is_stated(x in -6.0..6.0_f64) {
        // Taylor series in exact arithmetic, far past the last digit of a double.
        let (mut term, mut sums) = (rational(1.0), [rational(0.0), rational(0.0), rational(0.0)]);
        for n in 0..70_i32 {
            let sign = rational(if n % 4 < 2 { 1.0 } else { -1.0 });
            sums[0] += &term;
            sums[if n % 2 == 0 { 1 } else { 2 }] += &term * sign;
            term = short(term * rational(x) / rational(f64::from(n + 1)));
        }
        let [exp, cos, sin] = sums;
        let exact = Bounded::exact(x).unwrap();
        let tan = &sin / &cos;
        for (bounds, value) in [(exact.exp(), &exp), (exact.cos(), &cos), (exact.sin(), &sin), (exact.tan(), &tan)] {
            let bounds = bounds.unwrap();
            prop_assert!(rational(bounds.low()) < *value && *value < rational(bounds.high()), "{bounds:?} at {x}");
        }
        // The logarithm of e^x, rounded to a double, is x to within that rounding.
        let power = exp.to_f64().unwrap();
        let log = Bounded::exact(power).unwrap().log().unwrap();
        let slack = rational(1.2e-16);
        prop_assert!(rational(log.low()) - &slack < rational(x) && rational(x) < rational(log.high()) + slack);
    }
}

#[test]
fn what_has_no_value_is_an_error() {
    let around_zero = source(1, (-1.0, 1.0));
    let positive = source(2, (1.0, 2.0));
    assert_eq!(positive.div(&around_zero), Err(BoundsProblem::DivisionByZero));
    assert_eq!(around_zero.powi(-1), Err(BoundsProblem::DivisionByZero));
    assert_eq!(around_zero.sqrt(), Err(BoundsProblem::NotPositive));
    assert_eq!(around_zero.log(), Err(BoundsProblem::NotPositive));
    assert_eq!(positive.tan(), Err(BoundsProblem::Pole));
    assert_eq!(positive.round_to(0.0), Err(BoundsProblem::StepNotPositive));
    assert_eq!(Bounded::exact(f64::NAN), Err(BoundsProblem::OutOfRange));
    assert_eq!(Bounded::known(0.0, 1.0, 2.0, SourceId(1)), Err(BoundsProblem::NominalOutside));
    assert_eq!(Bounded::known(0.0, 2.0, 1.0, SourceId(1)), Err(BoundsProblem::Reversed));
    let large = Bounded::exact(1e200).unwrap();
    assert_eq!(large.mul(&large), Err(BoundsProblem::OutOfRange));
    assert!(Bounded::exact(1000.0).unwrap().exp().is_err());
}

#[test]
fn transcendental_results_are_no_wider_than_stated() {
    // Two units to each side of a result, and what the enclosure of a single point adds to it.
    let places = |value: &Bounded| value.high().to_bits() - value.low().to_bits();
    let one = Bounded::exact(1.0).unwrap();
    for value in [one.sin(), one.cos(), one.tan(), one.exp(), Bounded::exact(2.0).unwrap().log()] {
        assert!(places(&value.unwrap()) <= 4, "two to each side");
    }
    assert_eq!(places(&Bounded::exact(2.0).unwrap().sqrt().unwrap()), 1);
    assert_eq!(places(&Bounded::exact(9.0).unwrap().sqrt().unwrap()), 0);
}

#[test]
fn comparison_counts_identity() {
    let x = source(1, (1.0, 3.0));
    let y = source(2, (2.0, 4.0));
    let more = x.add(&Bounded::exact(0.5).unwrap()).unwrap();
    assert_eq!(x.compare_less(&more), Verdict::Always);
    assert_eq!(more.compare_less(&x), Verdict::Never);
    assert_eq!(x.compare_less(&y), Verdict::Undecided);
    assert_eq!(x.compare_less(&x), Verdict::Never);
    assert_eq!(x.compare_at_most(&x), Verdict::Always);
    assert_eq!(x.compare_equal(&x), Verdict::Always);
    assert_eq!(x.compare_equal(&more), Verdict::Never);
    assert!(x.div(&x).unwrap().is_exact());
    assert!(rational(x.sub(&x).unwrap().low()).is_zero());
}

#[test]
fn a_shared_unknown_keeps_its_pull_through_curved_functions() {
    // sin(x)² + cos(x)² over x = 0.5 ± 0.01: intervals alone give a width near 0.034.
    let x = source(1, (0.49, 0.51));
    let one = x.sin().unwrap().powi(2).unwrap().add(&x.cos().unwrap().powi(2).unwrap()).unwrap();
    assert!(one.low() <= 1.0 && one.high() >= 1.0);
    assert!(one.high() - one.low() < 1e-3, "{one:?}");
}
