use std::fmt;

/// A wire size of the American wire gauge; `1/0` to `4/0` are kept as 0 to −3.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Gauge(i16);

impl Gauge {
    /// The thickest size, 4/0.
    pub const THICKEST: Self = Self(-3);
    /// The thinnest size of the standard, 56.
    pub const THINNEST: Self = Self(56);

    /// Reads what stands before `AWG`: `20`, `0` or `4/0`; none for a size that does not exist.
    pub fn parse(text: &str) -> Option<Self> {
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse::<i16>().ok());
        let number = match text.split_once('/') {
            Some((zeros, "0")) => {
                let zeros = digits(zeros)??;
                (1..=4).contains(&zeros).then_some(1 - zeros)?
            }
            Some(_) => return None,
            None => digits(text)??,
        };
        (Self::THICKEST.0..=Self::THINNEST.0).contains(&number).then_some(Self(number))
    }

    /// Diameter in metres: `0.127 mm · 92^((36 − n)/39)` (ASTM B258 by a secondary source).
    ///
    /// A good ten digits are right; real wire keeps it to about 1 %.
    pub fn diameter(self) -> f64 {
        0.127e-3 * libm::pow(92.0, f64::from(36 - self.0) / 39.0)
    }

    /// Cross-section in square metres.
    pub fn area(self) -> f64 {
        let diameter = self.diameter();
        std::f64::consts::FRAC_PI_4 * diameter * diameter
    }
}

impl fmt::Display for Gauge {
    /// As the language writes it: `20 AWG`, `4/0 AWG`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0 < 1 { write!(out, "{}/0 AWG", 1 - self.0) } else { write!(out, "{} AWG", self.0) }
    }
}

#[cfg(test)]
mod tests {
    use super::Gauge;

    #[test]
    fn sizes_print_as_they_are_read() {
        for text in ["4/0", "1/0", "1", "20", "56"] {
            assert_eq!(Gauge::parse(text).unwrap().to_string(), format!("{text} AWG"));
        }
        assert_eq!(Gauge::parse("0"), Gauge::parse("1/0"));
        for text in ["5/0", "0/0", "57", "-1", "", "1/2", "2.5", "+3", "99999"] {
            assert_eq!(Gauge::parse(text), None, "{text}");
        }
    }

    #[test]
    fn the_two_sizes_that_define_the_gauge_are_met() {
        // 36 is 0.005 in and 4/0 is 0.46 in by definition (ASTM B258 by a secondary source).
        let of = |text: &str| Gauge::parse(text).unwrap().diameter();
        assert!((of("36") / 0.127e-3 - 1.0).abs() < 1e-15);
        assert!((of("4/0") / 11.684e-3 - 1.0).abs() < 1e-14);
    }
}
