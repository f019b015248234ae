use crate::physics::window::{Verdict, Window};
use crate::units::{Bounded, Kind, Unit, preferred_unit, rule_inches, show_rounded, show_rounded_range};

/// Whether lengths are shown in inches or in millimetres: as the author wrote the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Units {
    /// Millimetres.
    Metric,
    /// Inches, to the nearest 64th.
    Inches,
}

impl Units {
    /// A length in m, for the bench.
    pub fn length(self, metres: f64) -> String {
        match self {
            Self::Metric => {
                unit("mm").map_or_else(String::new, |mm| show_rounded(metres, &mm, significant(metres * 1e3, 1)))
            }
            Self::Inches => match (rule_inches(metres), unit("thou")) {
                (Some(rule), Some(thou)) if rule.rest.abs() >= 0.000_012_7 => {
                    let sign = if rule.rest > 0.0 { "+" } else { "-" };
                    format!("{} {sign}{}", rule.text, show_rounded(rule.rest.abs(), &thou, 2))
                }
                (Some(rule), _) => rule.text,
                (None, _) => String::new(),
            },
        }
    }

    /// A length with what is known about it.
    pub fn known_length(self, value: &Bounded) -> String {
        let shown = self.length(value.nominal());
        let unit = if self == Self::Metric { unit("mm") } else { unit("in") };
        match unit {
            Some(unit) if !value.is_exact() => {
                format!("{shown} (known {})", show_rounded_range(value.low(), value.high(), &unit, 5))
            }
            _ => shown,
        }
    }
}

fn unit(word: &str) -> Option<Unit> {
    Unit::parse(word).ok()
}

/// The number of significant digits that leaves so many decimals.
fn significant(value: f64, decimals: usize) -> usize {
    let mut whole = 1;
    let mut rest = value.abs();
    while rest >= 10.0 && whole < 12 {
        rest /= 10.0;
        whole += 1;
    }
    whole + decimals
}

/// How far a window is open.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::None => "none",
        Verdict::Nominal => "nominal",
        Verdict::Proved => "proved",
    }
}

/// The verdict on a heat time: that of its window, unless the time lies outside it.
pub fn judged(window: &Window, heat: f64) -> &'static str {
    if window.verdict == Verdict::None {
        return verdict(Verdict::None);
    }
    if window.verdict == Verdict::Proved && heat >= window.ready.high && heat <= window.over.low {
        return verdict(Verdict::Proved);
    }
    let inside = heat >= window.ready.nominal && heat <= window.over.nominal;
    if inside { verdict(Verdict::Nominal) } else { "outside" }
}

/// `2 min 20 s`; tenths only where there are any.
pub fn time(seconds: f64) -> String {
    let tenths = libm::round(seconds * 10.0);
    let minutes = libm::floor(tenths / 600.0);
    let rest = (tenths - minutes * 600.0) / 10.0;
    if minutes >= 60.0 {
        // Over an hour, seconds are of no use to a person.
        let (hours, minutes) = (libm::floor(seconds / 3600.0), libm::ceil((seconds % 3600.0) / 60.0));
        return if minutes >= 60.0 { format!("{} h", hours + 1.0) } else { format!("{hours} h {minutes} min") };
    }
    match (minutes > 0.0, rest > 0.0) {
        (true, true) => format!("{minutes} min {rest} s"),
        (true, false) => format!("{minutes} min"),
        _ => format!("{rest} s"),
    }
}

/// `3:05`, or `1:03:05`.
pub fn clock(seconds: f64) -> String {
    let whole = libm::round(seconds);
    let hours = libm::floor(whole / 3600.0);
    let minutes = libm::floor((whole - hours * 3600.0) / 60.0);
    let rest = whole - hours * 3600.0 - minutes * 60.0;
    if hours > 0.0 { format!("{hours}:{minutes:02}:{rest:02}") } else { format!("{minutes}:{rest:02}") }
}

/// A figure of a kind, with so many significant digits.
pub fn figure(kind: Kind, value: f64, digits: usize) -> String {
    preferred_unit(kind, false).map_or_else(String::new, |unit| show_rounded(value, &unit, digits))
}

/// A figure of a kind with what is known about it.
pub fn known(kind: Kind, value: &Bounded, digits: usize) -> String {
    let shown = figure(kind, value.nominal(), digits);
    match preferred_unit(kind, false) {
        Some(unit) if !value.is_exact() => {
            format!("{shown} ({})", show_rounded_range(value.low(), value.high(), &unit, digits))
        }
        _ => shown,
    }
}

#[cfg(test)]
mod tests {
    use super::{Units, clock, time};

    #[test]
    fn times_and_lengths_read_as_at_the_bench() {
        assert_eq!(time(140.0), "2 min 20 s");
        assert_eq!(time(60.0), "1 min");
        assert_eq!(time(3.5), "3.5 s");
        assert_eq!(time(0.0), "0 s");
        assert_eq!(time(60_900.0), "16 h 55 min");
        assert_eq!(time(7190.0), "2 h");
        assert_eq!(clock(185.4), "3:05");
        assert_eq!(clock(3785.0), "1:03:05");
        assert_eq!(Units::Metric.length(0.062_54), "62.5 mm");
        assert_eq!(Units::Metric.length(0.383_14), "383.1 mm");
    }
}
