use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive};

use crate::units::nearest::EXACT_INTEGERS;
use crate::units::{Kind, Literal, Quantity, Unit};

/// Values closer than this share of their size print as the same short number where only bounds are shown.
const SAME: f64 = 1e-12;

/// An SI value as a number in `unit`: the shortest that reads back to the same bits, `25.4`.
pub fn show_number(value: f64, unit: &Unit) -> String {
    shortest(value, unit, |read| read.to_bits() == value.to_bits())
}

/// An SI value with its unit, `25.4 mm`; it reads back to the same bits.
pub fn show_value(value: f64, unit: &Unit) -> String {
    with_unit(&show_number(value, unit), unit)
}

/// A quantity with what is known about it: `3 mm`, `3 mm ± 0.4 mm`, `3 mm +0.2/-0.5 mm` or `18..27 degC`.
///
/// The nominal value reads back to the same bits, bounds to a share of 1e-12.
pub fn show_quantity(quantity: &Quantity, unit: &Unit) -> String {
    let (nominal, low, high) = (quantity.value.nominal(), quantity.value.low(), quantity.value.high());
    if quantity.value.is_exact() {
        return show_value(nominal, unit);
    }
    let close = |a: f64, b: f64, size: f64| (a - b).abs() <= SAME * size.abs();
    // Both digits of a range are what a reader would have written, not what outward rounding made of them.
    let bound = |value: f64| shortest(value, unit, |read| close(read, value, value));
    let middle = low + (high - low) / 2.0;
    let centred = close(nominal, middle, high.abs().max(low.abs()));
    if quantity.percent || (quantity.point && centred) {
        return with_unit(&format!("{}..{}", bound(low), bound(high)), unit);
    }
    let difference = unit.as_difference();
    let size = high.abs().max(low.abs());
    let side = |width: f64| shortest(width, &difference, |read| close(read, width, size));
    let (plus, minus) = (side(high - nominal), side(nominal - low));
    let first = show_value(nominal, unit);
    if centred {
        format!("{first} ± {}", with_unit(&plus, &difference))
    } else {
        with_unit(&format!("{first} +{plus}/-{minus}"), unit)
    }
}

/// A figure for people, with so many significant digits and no zeros at the end: `2.85 mm`.
pub fn show_rounded(value: f64, unit: &Unit, digits: usize) -> String {
    with_unit(&rounded_number(value, unit, digits), unit)
}

/// The bounds of a figure for people: `2.8..3.2 mm`.
pub fn show_rounded_range(low: f64, high: f64, unit: &Unit, digits: usize) -> String {
    let (low, high) = (rounded_number(low, unit, digits), rounded_number(high, unit, digits));
    with_unit(&if low == high { low } else { format!("{low}..{high}") }, unit)
}

/// The value in `unit` as a double, for figures: 0.0254 m is 25.4 in mm.
pub fn in_unit(value: f64, unit: &Unit) -> f64 {
    if let Some(number) = in_unit_at_once(value, unit) {
        return number;
    }
    let offset = unit.offset().to_f64().unwrap_or(0.0);
    let scaled = (value - offset) / unit.factor().unwrap_or(1.0);
    // One rounding of the exact value, where it can be had, is better than three.
    in_unit_exactly(value, unit).and_then(|exact| exact.to_f64()).unwrap_or(scaled)
}

/// The unit to print a kind in where the author wrote none; none for kinds without a unit.
pub fn preferred_unit(kind: Kind, imperial: bool) -> Option<Unit> {
    let word = match (kind, imperial) {
        (Kind::Length, true) => "in",
        (Kind::Area, true) => "in2",
        (Kind::Temperature, true) => "degF",
        (Kind::TemperatureDifference, true) => "delta_degF",
        (Kind::SurfacePower, true) => "W/in2",
        (Kind::ResistancePerLength, true) => "ohm/ft",
        (Kind::Mass, true) => "lb",
        (Kind::Density, true) => "lb/in3",
        (Kind::Force, true) => "lbf",
        (Kind::Stiffness, true) => "lbf/in",
        (Kind::Speed, true) => "in/s",
        (Kind::MassPerLength, true) => "lb/ft",
        (Kind::LinePower, false) => "W/m",
        _ => kind.examples().first()?,
    };
    Unit::parse(word).ok()
}

/// A length as a rule in inches shows it, to the nearest 64th.
#[derive(Clone, Debug, PartialEq)]
pub struct RuleInches {
    /// `4 23/64 in`.
    pub text: String,
    /// What the length exceeds the printed one by, in metres; negative where it falls short.
    pub rest: f64,
}

/// Inches to the nearest 64th in the trade's fractions; none for lengths past 15 km, which no rule shows.
pub fn rule_inches(metres: f64) -> Option<RuleInches> {
    const SIXTY_FOURTH: f64 = 0.0254 / 64.0;
    let count = (metres / SIXTY_FOURTH).round();
    if !count.is_finite() || count.abs() >= 4e7 {
        return None;
    }
    let parts = count.abs().to_u32()?;
    let sign = if count < 0.0 { "-" } else { "" };
    let (whole, mut upper, mut lower) = (parts / 64, parts % 64, 64);
    while upper % 2 == 0 && lower > 1 {
        (upper, lower) = (upper / 2, lower / 2);
    }
    let text = match (whole, upper) {
        (whole, 0) => format!("{sign}{whole} in"),
        (0, upper) => format!("{sign}{upper}/{lower} in"),
        (whole, upper) => format!("{sign}{whole} {upper}/{lower} in"),
    };
    Some(RuleInches { text, rest: metres - count * SIXTY_FOURTH })
}

fn with_unit(number: &str, unit: &Unit) -> String {
    let unit = unit.to_string();
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// The shortest decimal that `accepted` takes after reading it back.
fn shortest(value: f64, unit: &Unit, accepted: impl Fn(f64) -> bool) -> String {
    let reads_back = |text: &str| Literal::parse(text).and_then(|number| number.to_si(unit)).is_ok_and(&accepted);
    if value == 0.0 && !unit.is_point() {
        return "0".to_owned();
    }
    let Some(exact) = in_unit_exactly(value, unit) else { return "0".to_owned() };
    let rough = exact.to_f64().unwrap_or(0.0);
    if unit.is_point() {
        // Digits count from the point: near 0 on the scale, significant digits would only show rounding noise.
        for places in 0..=20 {
            let text = decimal(&exact, places);
            if reads_back(&text) {
                return text;
            }
        }
    }
    for digits in 1..=15 {
        let text = plain(&format!("{rough:.*e}", digits - 1));
        if reads_back(&text) {
            return text;
        }
    }
    let size = libm::floor(libm::log10(rough.abs()));
    let size = size.to_i32().unwrap_or(0);
    let longer = (15..=40).map(|digits| scientific(&exact, digits - size)).find(|text| reads_back(text));
    longer.unwrap_or_else(|| plain(&format!("{rough:e}")))
}

/// The same where one operation on doubles gives it, which rounds once as well: for most figures, of which there are
/// many. None elsewhere, and near the ends of what doubles can hold.
fn in_unit_at_once(value: f64, unit: &Unit) -> Option<f64> {
    let (scale, 0) = unit.small_scale().filter(|_| !unit.is_point())? else { return None };
    let exact = |integer: i128| (0..EXACT_INTEGERS).contains(&integer).then_some(integer as f64);
    let number = match (*scale.numer(), *scale.denom()) {
        (size, 1) => value / exact(size)?,
        (1, parts) => value * exact(parts)?,
        _ => return None,
    };
    (value.is_normal() && number.is_normal()).then_some(number)
}

fn in_unit_exactly(value: f64, unit: &Unit) -> Option<BigRational> {
    let value: BigRational = BigRational::from_float(value)?;
    Some((value - unit.offset()) / unit.scale())
}

/// The number with `places` digits behind its point, halves away from 0.
fn decimal(value: &BigRational, places: usize) -> String {
    let ten = BigRational::from(BigInt::from(10).pow(u32::try_from(places).unwrap_or(0)));
    let digits = (value.abs() * ten).round().to_integer().to_string();
    let padded = format!("{digits:0>width$}", width = places + 1);
    let (whole, behind) = padded.split_at(padded.len() - places);
    let negative = value.is_negative() && padded.bytes().any(|byte| byte != b'0');
    let sign = if negative { "-" } else { "" };
    if behind.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{behind}") }
}

/// The number rounded to a multiple of 10^−places, in the shape [`plain`] gives.
fn scientific(value: &BigRational, places: i32) -> String {
    let ten = BigRational::from(BigInt::from(10).pow(places.unsigned_abs()));
    let scaled = if places < 0 { value / ten } else { value * ten };
    let digits = scaled.round().to_integer();
    let text = digits.abs().to_string();
    let exponent = i32::try_from(text.len()).unwrap_or(0) - 1 - places;
    let (first, behind) = text.split_at(1);
    let sign = if digits.is_negative() { "-" } else { "" };
    plain(&format!("{sign}{first}.{behind}0e{exponent}"))
}

/// Writes `1.5e-2` as `0.015`, keeps very large and small numbers as they are, and drops zeros at the end.
fn plain(scientific: &str) -> String {
    let Some((mantissa, exponent)) = scientific.split_once('e') else { return scientific.to_owned() };
    let exponent = exponent.parse::<i32>().unwrap_or(0);
    let (sign, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |rest| ("-", rest));
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let digits = digits.trim_end_matches('0');
    if digits.is_empty() {
        return "0".to_owned();
    }
    let (first, behind) = digits.split_at(1);
    let count = i32::try_from(digits.len()).unwrap_or(i32::MAX);
    match usize::try_from(exponent) {
        _ if !(-7..=15).contains(&exponent) => {
            let point = if behind.is_empty() { "" } else { "." };
            format!("{sign}{first}{point}{behind}e{exponent}")
        }
        Err(_) => format!("{sign}0.{}{digits}", "0".repeat(exponent.unsigned_abs() as usize - 1)),
        Ok(_) if exponent >= count - 1 => {
            format!("{sign}{digits}{}", "0".repeat((exponent - count + 1).unsigned_abs() as usize))
        }
        Ok(whole) => {
            let (whole, behind) = digits.split_at(whole + 1);
            format!("{sign}{whole}.{behind}")
        }
    }
}

fn rounded_number(value: f64, unit: &Unit, digits: usize) -> String {
    let number = in_unit(value, unit);
    plain(&format!("{number:.*e}", digits.clamp(1, 17) - 1))
}

#[cfg(test)]
mod tests {
    use num_traits::ToPrimitive;
    use proptest::num::f64::{NORMAL, SUBNORMAL, ZERO};
    use proptest::prelude::{prop_assert_eq, proptest};
    use proptest::sample::select;

    use super::{in_unit, in_unit_at_once, in_unit_exactly};
    use crate::units::Unit;
    use crate::units::table::UNITS;

    fn words() -> Vec<&'static str> {
        UNITS.iter().map(|unit| unit.word).chain(["W/m", "mm2", "1/K", "ohm/m", "kg/m3", "mm/s"]).collect()
    }

    proptest! {
        #[test]
        fn what_is_known_at_once_is_what_is_exact(value in NORMAL | SUBNORMAL | ZERO, figure in -1e6..1e6, word in select(words())) {
            let unit = Unit::parse(word).unwrap();
            for value in [value, figure] {
                let exact = in_unit_exactly(value, &unit).and_then(|exact| exact.to_f64()).unwrap();
                prop_assert_eq!(in_unit(value, &unit).to_bits(), exact.to_bits(), "{} in {}", value, word);
            }
        }
    }

    #[test]
    fn the_units_of_most_figures_are_known_at_once() {
        for word in ["mm", "m", "s", "min", "A", "W", "V"] {
            assert!(in_unit_at_once(0.0254, &Unit::parse(word).unwrap()).is_some(), "{word}");
        }
    }
}
