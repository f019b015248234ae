use std::fmt;

/// What a quantity measures: a product of base kinds, each to a rational power.
///
/// The form is canonical, so two dimensions are equal exactly when they measure the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension([Exponent; 6]);

/// The base kinds in the order in which a [`Dimension`] keeps and prints them.
const BASE_KINDS: [&str; 6] = ["length", "mass", "time", "current", "temperature", "angle"];

/// A reduced fraction with a positive lower part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
struct Exponent {
    upper: i8,
    lower: i8,
}

impl Dimension {
    /// The dimension of a plain number.
    pub const fn one() -> Self {
        Self::of([0; 6])
    }

    /// Whole powers of length, mass, time, current, temperature and angle, in this order.
    pub const fn of(powers: [i8; 6]) -> Self {
        let [length, mass, time, current, temperature, angle] = powers;
        Self([
            Exponent { upper: length, lower: 1 },
            Exponent { upper: mass, lower: 1 },
            Exponent { upper: time, lower: 1 },
            Exponent { upper: current, lower: 1 },
            Exponent { upper: temperature, lower: 1 },
            Exponent { upper: angle, lower: 1 },
        ])
    }

    /// The dimension of a product; none where an exponent grows out of range.
    pub fn times(self, other: Self) -> Option<Self> {
        self.combine(other, 1)
    }

    /// The dimension of a quotient; none where an exponent grows out of range.
    pub fn over(self, other: Self) -> Option<Self> {
        self.combine(other, -1)
    }

    /// The dimension of the `n`-th power; none where an exponent grows out of range.
    pub fn power(self, n: i32) -> Option<Self> {
        self.each(|exponent| Exponent::reduced(i32::from(exponent.upper).checked_mul(n)?, exponent.lower.into()))
    }

    /// The dimension of the `n`-th root; none for the zeroth root or an exponent out of range.
    pub fn root(self, n: i32) -> Option<Self> {
        self.each(|exponent| Exponent::reduced(exponent.upper.into(), i32::from(exponent.lower).checked_mul(n)?))
    }

    /// Whether this is the dimension of a plain number.
    pub fn is_one(self) -> bool {
        self == Self::one()
    }

    fn combine(self, other: Self, sign: i32) -> Option<Self> {
        let mut result = self;
        for (exponent, added) in result.0.iter_mut().zip(other.0) {
            let (a, b) = (i32::from(exponent.upper), i32::from(exponent.lower));
            let (c, d) = (i32::from(added.upper), i32::from(added.lower));
            *exponent = Exponent::reduced(a * d + sign * c * b, b * d)?;
        }
        Some(result)
    }

    fn each(self, change: impl Fn(Exponent) -> Option<Exponent>) -> Option<Self> {
        let mut result = self;
        for exponent in &mut result.0 {
            *exponent = change(*exponent)?;
        }
        Some(result)
    }
}

impl Exponent {
    /// The fraction in lowest terms; none where it has no meaning or does not fit.
    fn reduced(upper: i32, lower: i32) -> Option<Self> {
        let shared = i32::try_from(shared_divisor(upper.unsigned_abs(), lower.unsigned_abs())).ok()?;
        if lower == 0 {
            return None;
        }
        let sign = lower.signum();
        Some(Self {
            upper: i8::try_from((upper / shared).checked_mul(sign)?).ok()?,
            lower: i8::try_from((lower / shared).checked_mul(sign)?).ok()?,
        })
    }
}

/// Euclid's algorithm.
fn shared_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { shared_divisor(b, a % b) }
}

impl fmt::Display for Dimension {
    /// Plain words: `length² · mass / time³`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named = || BASE_KINDS.iter().zip(self.0);
        let above: Vec<String> = named()
            .filter(|(_, exponent)| exponent.upper > 0)
            .map(|(word, exponent)| powered(word, exponent))
            .collect();
        let below: Vec<String> = named()
            .filter(|(_, exponent)| exponent.upper < 0)
            .map(|(word, exponent)| powered(word, exponent))
            .collect();
        match (above.is_empty(), below.len()) {
            (true, 0) => out.write_str("plain number"),
            (false, 0) => out.write_str(&above.join(" · ")),
            (nothing_above, count) => {
                let above = if nothing_above { "1".to_owned() } else { above.join(" · ") };
                let below = below.join(" · ");
                if count == 1 { write!(out, "{above} / {below}") } else { write!(out, "{above} / ({below})") }
            }
        }
    }
}

/// A base kind with the size of its exponent; the side of the fraction bar carries the sign.
fn powered(word: &str, exponent: Exponent) -> String {
    let upper = exponent.upper.unsigned_abs();
    match (upper, exponent.lower) {
        (1, 1) => word.to_owned(),
        (_, 1) => format!("{word}{}", superscript(upper)),
        (_, lower) => format!("{word}^({upper}/{lower})"),
    }
}

fn superscript(number: u8) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let digits = number.to_string();
    digits.bytes().filter_map(|digit| DIGITS.get(usize::from(digit.wrapping_sub(b'0')))).collect()
}

#[cfg(test)]
mod tests {
    use super::Dimension;

    const LENGTH: Dimension = Dimension::of([1, 0, 0, 0, 0, 0]);
    const POWER: Dimension = Dimension::of([2, 1, -3, 0, 0, 0]);

    #[test]
    fn prints_in_plain_words() {
        assert_eq!(POWER.to_string(), "length² · mass / time³");
        assert_eq!(Dimension::one().to_string(), "plain number");
        assert_eq!(Dimension::one().over(LENGTH).unwrap().to_string(), "1 / length");
        assert_eq!(LENGTH.root(2).unwrap().to_string(), "length^(1/2)");
        assert_eq!(Dimension::of([1, 1, -3, 0, -1, 0]).to_string(), "length · mass / (time³ · temperature)");
    }

    #[test]
    fn roots_undo_powers() {
        assert_eq!(POWER.power(6).unwrap().root(6), Some(POWER));
        assert_eq!(POWER.root(-3).unwrap().power(-3), Some(POWER));
        assert_eq!(POWER.over(POWER), Some(Dimension::one()));
        assert_eq!(POWER.power(0), Some(Dimension::one()));
    }

    #[test]
    fn exponents_out_of_range_are_refused() {
        assert_eq!(POWER.power(1000), None);
        assert_eq!(POWER.power(i32::MIN), None);
        assert_eq!(LENGTH.root(0), None);
        assert_eq!(LENGTH.root(i32::MIN), None);
        assert_eq!(Dimension::one().power(i32::MAX), Some(Dimension::one()));
        let steep = LENGTH.power(127).unwrap();
        assert_eq!(steep.times(LENGTH), None);
    }
}
