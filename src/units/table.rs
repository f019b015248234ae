use std::sync::LazyLock;

use crate::units::Dimension;

/// A unit of the language: how it is written, what it measures and its exact size in SI units.
#[derive(Debug, PartialEq, Eq)]
pub struct UnitDef {
    /// The one spelling that is printed.
    pub word: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Its size in m, kg, s, A, K and rad.
    pub scale: Scale,
    /// For a temperature point: the kelvin at its zero, as a fraction; none for every other unit.
    pub offset: Option<(u64, u64)>,
    /// Other accepted spellings, such as look-alike letters.
    pub aliases: &'static [&'static str],
    /// What it is, in a few words.
    pub meaning: &'static str,
}

/// An exact factor: a fraction times a power of π.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scale {
    /// Upper part of the fraction.
    pub numerator: u64,
    /// Lower part of the fraction; never 0.
    pub denominator: u64,
    /// Exponent of π.
    pub pi: i8,
}

/// The unit written as `word`, by its own spelling or an alias.
pub fn lookup(word: &str) -> Option<&'static UnitDef> {
    let at = SPELLINGS.binary_search_by_key(&word, |(spelling, _)| spelling).ok()?;
    SPELLINGS.get(at).map(|(_, unit)| *unit)
}

/// Every spelling of every unit, sorted: a library of recipes looks up a unit with every number.
static SPELLINGS: LazyLock<Vec<(&str, &UnitDef)>> = LazyLock::new(|| {
    let of = |unit: &'static UnitDef| std::iter::once(&unit.word).chain(unit.aliases).map(move |word| (*word, unit));
    let mut spellings: Vec<_> = UNITS.iter().flat_map(of).collect();
    spellings.sort_unstable_by_key(|(spelling, _)| *spelling);
    spellings
});

impl UnitDef {
    const fn new(word: &'static str, powers: [i8; 6], fraction: (u64, u64), meaning: &'static str) -> Self {
        let scale = Scale { numerator: fraction.0, denominator: fraction.1, pi: 0 };
        Self { word, dimension: Dimension::of(powers), scale, offset: None, aliases: &[], meaning }
    }

    const fn or(mut self, aliases: &'static [&'static str]) -> Self {
        self.aliases = aliases;
        self
    }

    const fn times_pi(mut self) -> Self {
        self.scale.pi = 1;
        self
    }

    const fn zero_at(mut self, offset: (u64, u64)) -> Self {
        self.offset = Some(offset);
        self
    }

    /// The square (`n` = 2) or cube (`n` = 3) of a length of `fraction` metres.
    const fn solid(word: &'static str, n: u8, fraction: (u64, u64), meaning: &'static str) -> Self {
        let (mut numerator, mut denominator, mut k) = (1, 1, 0);
        while k < n {
            numerator *= fraction.0;
            denominator *= fraction.1;
            k += 1;
        }
        Self::new(word, [n.cast_signed(), 0, 0, 0, 0, 0], (numerator, denominator), meaning)
    }
}

const LENGTH: [i8; 6] = [1, 0, 0, 0, 0, 0];
const MASS: [i8; 6] = [0, 1, 0, 0, 0, 0];
const TIME: [i8; 6] = [0, 0, 1, 0, 0, 0];
const CURRENT: [i8; 6] = [0, 0, 0, 1, 0, 0];
const TEMPERATURE: [i8; 6] = [0, 0, 0, 0, 1, 0];
const ANGLE: [i8; 6] = [0, 0, 0, 0, 0, 1];
const FORCE: [i8; 6] = [1, 1, -2, 0, 0, 0];
const STRESS: [i8; 6] = [-1, 1, -2, 0, 0, 0];
const ENERGY: [i8; 6] = [2, 1, -2, 0, 0, 0];
const POWER: [i8; 6] = [2, 1, -3, 0, 0, 0];
const VOLTAGE: [i8; 6] = [2, 1, -3, -1, 0, 0];
const RESISTANCE: [i8; 6] = [2, 1, -3, -2, 0, 0];

/// Metres in an inch, exactly: 25.4 mm (international yard and pound agreement of 1959, by a secondary source).
const INCH: (u64, u64) = (127, 5_000);
/// Metres in a foot of 12 inches.
const FOOT: (u64, u64) = (381, 1_250);
/// Metres in a thousandth of an inch.
const THOU: (u64, u64) = (127, 5_000_000);
/// Kilograms in a pound, exactly (the same agreement).
const POUND: (u64, u64) = (45_359_237, 100_000_000);

/// Every unit. Factors of inch, pound and their kin are exact by definition; standard gravity for the
/// pound-force is 9.80665 m/s² exactly (3rd CGPM 1901, by a secondary source).
#[rustfmt::skip] // Look-alike letters are written as escapes to tell them apart; one row a unit reads as the table it is.
pub static UNITS: [UnitDef; 66] = [
    UnitDef::new("m", LENGTH, (1, 1), "metre"),
    UnitDef::new("mm", LENGTH, (1, 1_000), "millimetre"),
    UnitDef::new("cm", LENGTH, (1, 100), "centimetre"),
    UnitDef::new("um", LENGTH, (1, 1_000_000), "micrometre").or(&["\u{b5}m", "\u{3bc}m"]),
    UnitDef::new("in", LENGTH, INCH, "inch"),
    UnitDef::new("ft", LENGTH, FOOT, "foot"),
    UnitDef::new("thou", LENGTH, THOU, "thousandth of an inch").or(&["mil"]),
    UnitDef::solid("m2", 2, (1, 1), "square metre").or(&["m²"]),
    UnitDef::solid("mm2", 2, (1, 1_000), "square millimetre").or(&["mm²"]),
    UnitDef::solid("cm2", 2, (1, 100), "square centimetre").or(&["cm²"]),
    UnitDef::solid("um2", 2, (1, 1_000_000), "square micrometre").or(&["um²", "\u{b5}m2", "\u{b5}m²", "\u{3bc}m2", "\u{3bc}m²"]),
    UnitDef::solid("in2", 2, INCH, "square inch").or(&["in²"]),
    UnitDef::solid("ft2", 2, FOOT, "square foot").or(&["ft²"]),
    UnitDef::solid("thou2", 2, THOU, "square thousandth of an inch").or(&["thou²", "mil2", "mil²"]),
    UnitDef::solid("m3", 3, (1, 1), "cubic metre").or(&["m³"]),
    UnitDef::solid("mm3", 3, (1, 1_000), "cubic millimetre").or(&["mm³"]),
    UnitDef::solid("cm3", 3, (1, 100), "cubic centimetre").or(&["cm³"]),
    UnitDef::solid("um3", 3, (1, 1_000_000), "cubic micrometre").or(&["um³", "\u{b5}m3", "\u{b5}m³", "\u{3bc}m3", "\u{3bc}m³"]),
    UnitDef::solid("in3", 3, INCH, "cubic inch").or(&["in³"]),
    UnitDef::solid("ft3", 3, FOOT, "cubic foot").or(&["ft³"]),
    // A circular mil is π/4 of a square mil: the area of a circle one mil across.
    UnitDef::new("cmil", [2, 0, 0, 0, 0, 0], (16_129, 100_000_000_000_000), "circular mil").times_pi(),
    UnitDef::new("s", TIME, (1, 1), "second"),
    UnitDef::new("ms", TIME, (1, 1_000), "millisecond"),
    UnitDef::new("min", TIME, (60, 1), "minute"),
    UnitDef::new("h", TIME, (3_600, 1), "hour"),
    UnitDef::new("rad", ANGLE, (1, 1), "radian"),
    UnitDef::new("deg", ANGLE, (1, 180), "degree of angle").times_pi(),
    UnitDef::new("V", VOLTAGE, (1, 1), "volt"),
    UnitDef::new("mV", VOLTAGE, (1, 1_000), "millivolt"),
    UnitDef::new("kV", VOLTAGE, (1_000, 1), "kilovolt"),
    UnitDef::new("A", CURRENT, (1, 1), "ampere"),
    UnitDef::new("mA", CURRENT, (1, 1_000), "milliampere"),
    UnitDef::new("ohm", RESISTANCE, (1, 1), "ohm").or(&["\u{3a9}", "\u{2126}"]),
    UnitDef::new("mohm", RESISTANCE, (1, 1_000), "milliohm").or(&["m\u{3a9}", "m\u{2126}"]),
    UnitDef::new("uohm", RESISTANCE, (1, 1_000_000), "microohm").or(&["\u{b5}\u{3a9}", "\u{b5}\u{2126}", "\u{3bc}\u{3a9}", "\u{3bc}\u{2126}", "\u{b5}ohm", "\u{3bc}ohm"]),
    UnitDef::new("kohm", RESISTANCE, (1_000, 1), "kiloohm").or(&["k\u{3a9}", "k\u{2126}"]),
    UnitDef::new("W", POWER, (1, 1), "watt"),
    UnitDef::new("mW", POWER, (1, 1_000), "milliwatt"),
    UnitDef::new("kW", POWER, (1_000, 1), "kilowatt"),
    UnitDef::new("J", ENERGY, (1, 1), "joule"),
    UnitDef::new("kJ", ENERGY, (1_000, 1), "kilojoule"),
    UnitDef::new("MJ", ENERGY, (1_000_000, 1), "megajoule"),
    UnitDef::new("Wh", ENERGY, (3_600, 1), "watt hour"),
    UnitDef::new("kWh", ENERGY, (3_600_000, 1), "kilowatt hour"),
    UnitDef::new("N", FORCE, (1, 1), "newton"),
    UnitDef::new("mN", FORCE, (1, 1_000), "millinewton"),
    UnitDef::new("kN", FORCE, (1_000, 1), "kilonewton"),
    UnitDef::new("lbf", FORCE, (8_896_443_230_521, 2_000_000_000_000), "pound-force"),
    UnitDef::new("kg", MASS, (1, 1), "kilogram"),
    UnitDef::new("g", MASS, (1, 1_000), "gram"),
    UnitDef::new("mg", MASS, (1, 1_000_000), "milligram"),
    UnitDef::new("lb", MASS, POUND, "pound"),
    UnitDef::new("oz", MASS, (45_359_237, 1_600_000_000), "ounce (avoirdupois)"),
    UnitDef::new("degC", TEMPERATURE, (1, 1), "degree Celsius").zero_at((5_463, 20)).or(&["°C", "℃"]),
    UnitDef::new("degF", TEMPERATURE, (5, 9), "degree Fahrenheit").zero_at((45_967, 180)).or(&["°F", "℉"]),
    UnitDef::new("K", TEMPERATURE, (1, 1), "kelvin, for differences").or(&["\u{212a}"]),
    UnitDef::new("delta_degC", TEMPERATURE, (1, 1), "difference of 1 degree Celsius"),
    UnitDef::new("delta_degF", TEMPERATURE, (5, 9), "difference of 1 degree Fahrenheit"),
    UnitDef::new("%", [0; 6], (1, 100), "per cent"),
    UnitDef::new("Pa", STRESS, (1, 1), "pascal"),
    UnitDef::new("kPa", STRESS, (1_000, 1), "kilopascal"),
    UnitDef::new("MPa", STRESS, (1_000_000, 1), "megapascal"),
    UnitDef::new("GPa", STRESS, (1_000_000_000, 1), "gigapascal"),
    UnitDef::new("psi", STRESS, (8_896_443_230_521, 1_290_320_000), "pound-force per square inch"),
    UnitDef::new("mK", TEMPERATURE, (1, 1_000), "millikelvin"),
    UnitDef::new("us", TIME, (1, 1_000_000), "microsecond").or(&["\u{b5}s", "\u{3bc}s"]),
];
