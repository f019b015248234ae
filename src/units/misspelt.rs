use crate::units::table::{UNITS, UnitDef, lookup};
use crate::units::{Kind, Unit};

/// A unit to write instead of one that is wrong here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// What to write.
    pub unit: String,
    /// Why that is probably meant.
    pub reason: Reason,
}

/// Why a unit is suggested; the wording is made elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// Another spelling of the same unit, such as `seconds`.
    Spelling,
    /// The same letters in the wrong case, such as `MM`.
    LetterCase,
    /// A unit that exists but measures something else, such as `m` for minutes.
    OtherMeaning,
    /// A temperature on a scale where a difference is wanted, or the other way round.
    PointOrDifference,
    /// A power written with `^`, such as `mm^2`.
    PowerSign,
    /// Nothing better than the nearest spelling.
    Nearest,
}

/// Other spellings, in lower case, with the unit they mean.
#[rustfmt::skip] // Reads as the table it is.
const SPELLINGS: [(&str, &[&str]); 36] = [
    ("s", &["sec", "secs", "second", "seconds"]),
    ("min", &["mins", "minute", "minutes"]),
    ("h", &["hr", "hrs", "hour", "hours"]),
    ("ms", &["msec", "millisecond", "milliseconds"]),
    ("in", &["\"", "inch", "inches", "\u{201d}", "\u{2033}"]),
    ("ft", &["'", "foot", "feet", "\u{2019}", "\u{2032}"]),
    ("mm", &["millimetre", "millimetres", "millimeter", "millimeters"]),
    ("cm", &["centimetre", "centimetres", "centimeter", "centimeters"]),
    ("m", &["metre", "metres", "meter", "meters"]),
    ("um", &["micron", "microns", "micrometre", "micrometres", "micrometer", "micrometers"]),
    ("thou", &["mils"]),
    ("mm2", &["sqmm"]),
    ("in2", &["sqin"]),
    ("V", &["volt", "volts", "vdc", "vac"]),
    ("mV", &["millivolt", "millivolts"]),
    ("A", &["amp", "amps", "ampere", "amperes"]),
    ("mA", &["milliamp", "milliamps"]),
    ("W", &["watt", "watts"]),
    ("kW", &["kilowatt", "kilowatts"]),
    ("ohm", &["ohms"]),
    ("mohm", &["mohms", "milliohm", "milliohms"]),
    ("J", &["joule", "joules"]),
    ("kWh", &["kw/h"]),
    ("Wh", &["w/h"]),
    ("N", &["newton", "newtons"]),
    ("lbf", &["lbsf"]),
    ("g", &["gram", "grams", "gr", "gramme", "grammes"]),
    ("kg", &["kilo", "kilos", "kilogram", "kilograms", "kgs"]),
    ("lb", &["lbs", "pound", "pounds"]),
    ("oz", &["ounce", "ounces"]),
    ("%", &["percent", "pct", "\u{2030}"]),
    ("deg", &["\u{b0}", "degree", "degrees", "degs"]),
    ("rad", &["radian", "radians"]),
    ("degC", &["c", "\u{b0}c", "deg_c", "deg c", "celsius", "centigrade", "\u{ba}c"]),
    ("degF", &["f", "\u{b0}f", "deg_f", "deg f", "fahrenheit", "\u{ba}f"]),
    ("K", &["kelvin", "kelvins", "\u{b0}k", "degk", "deg k"]),
];

/// Units that exist but often stand for another one where `wanted` is expected: what stands, what is wanted, what
/// is meant.
const OTHER_MEANINGS: [(&str, Kind, &str); 9] = [
    ("m", Kind::Time, "min"),
    ("mm", Kind::Time, "min"),
    ("in", Kind::Time, "min"),
    ("min", Kind::Length, "mm"),
    ("lb", Kind::Force, "lbf"),
    ("kg", Kind::Force, "N"),
    ("g", Kind::Force, "N"),
    ("lbf", Kind::Mass, "lb"),
    ("A", Kind::Voltage, "V"),
];

/// What was probably meant by `word` where `wanted` is expected; none where nothing is near, or nothing is wrong.
pub fn misspelt(word: &str, wanted: Option<Kind>) -> Option<Suggestion> {
    let word = word.trim();
    match lookup(word) {
        Some(unit) => of_another_kind(unit, wanted?),
        None => of_no_unit(word, wanted),
    }
}

fn of_another_kind(unit: &'static UnitDef, wanted: Kind) -> Option<Suggestion> {
    let fits = Some(unit.dimension) == wanted.dimension();
    if fits && unit.offset.is_some() == (wanted == Kind::Temperature) {
        return None;
    }
    if fits {
        let meant = match (unit.word, wanted) {
            ("degC", _) => "K",
            ("degF", _) => "delta_degF",
            ("delta_degF", _) => "degF",
            _ => "degC",
        };
        return Some(Suggestion { unit: meant.to_owned(), reason: Reason::PointOrDifference });
    }
    if unit.word == "deg" && matches!(wanted, Kind::Temperature) {
        return Some(Suggestion { unit: "degC".to_owned(), reason: Reason::OtherMeaning });
    }
    let listed = OTHER_MEANINGS.iter().find(|(word, kind, _)| *word == unit.word && *kind == wanted);
    let meant = listed.map(|(_, _, meant)| *meant).or_else(|| other_case(unit.word, Some(wanted)))?;
    let reason = if meant.eq_ignore_ascii_case(unit.word) { Reason::LetterCase } else { Reason::OtherMeaning };
    Some(Suggestion { unit: meant.to_owned(), reason })
}

fn of_no_unit(word: &str, wanted: Option<Kind>) -> Option<Suggestion> {
    let found = |unit: &str, reason| Some(Suggestion { unit: unit.to_owned(), reason });
    if let Some(powerless) = without_power_sign(word) {
        return found(&powerless, Reason::PowerSign);
    }
    let lower = word.to_lowercase();
    let spelt = SPELLINGS.iter().find(|(_, spellings)| spellings.contains(&lower.as_str())).map(|(unit, _)| *unit);
    let wants = |kind| wanted == Some(kind);
    match spelt {
        Some("degC") if wants(Kind::TemperatureDifference) => return found("K", Reason::Spelling),
        Some("degF") if wants(Kind::TemperatureDifference) => return found("delta_degF", Reason::Spelling),
        Some("deg" | "K") if wants(Kind::Temperature) => return found("degC", Reason::Spelling),
        Some("lb") if wants(Kind::Force) => return found("lbf", Reason::Spelling),
        Some(unit) => return found(unit, Reason::Spelling),
        None => {}
    }
    if let Some(unit) = other_case(word, wanted) {
        return found(unit, Reason::LetterCase);
    }
    nearest(word, wanted).and_then(|unit| found(unit, Reason::Nearest))
}

/// `mm^2`, `mm**2` or `mm²` as `mm2`, where that is a unit.
fn without_power_sign(word: &str) -> Option<String> {
    let (base, exponent) = word.split_once('^').or_else(|| word.split_once("**"))?;
    let unit = Unit::parse(base.trim()).ok()?.power(exponent.trim().parse().ok()?).ok()?;
    let text = unit.to_string();
    (!text.is_empty()).then_some(text)
}

/// The unit of the same letters in another case; one of the wanted kind where there are several.
fn other_case(word: &str, wanted: Option<Kind>) -> Option<&'static str> {
    let same = || UNITS.iter().filter(|unit| unit.word != word && unit.word.eq_ignore_ascii_case(word));
    let fitting = same().find(|unit| wanted.and_then(Kind::dimension) == Some(unit.dimension));
    match wanted {
        Some(_) if lookup(word).is_some() => fitting.map(|unit| unit.word),
        _ => fitting.or_else(|| same().next()).map(|unit| unit.word),
    }
}

/// The most similar spelling of a unit that fits, if it is similar at all.
fn nearest(word: &str, wanted: Option<Kind>) -> Option<&'static str> {
    let fits = |unit: &&UnitDef| wanted.and_then(Kind::dimension).is_none_or(|dimension| dimension == unit.dimension);
    let near = UNITS.iter().filter(fits).map(|unit| (strsim::damerau_levenshtein(word, unit.word), unit.word));
    let (distance, unit) = near.min_by_key(|(distance, _)| *distance)?;
    let longest = word.chars().count().max(unit.chars().count());
    // A one-letter unit is one letter away from everything short.
    (distance * 2 <= longest && longest > 2).then_some(unit)
}

#[cfg(test)]
mod tests {
    use super::{Reason, SPELLINGS, misspelt};
    use crate::units::Kind;
    use crate::units::table::lookup;

    fn meant(word: &str, wanted: Option<Kind>) -> Option<(String, Reason)> {
        misspelt(word, wanted).map(|suggestion| (suggestion.unit, suggestion.reason))
    }

    #[test]
    fn words_of_other_trades_are_understood() {
        let cases = [
            ("sec", Some(Kind::Time), "s", Reason::Spelling),
            ("m", Some(Kind::Time), "min", Reason::OtherMeaning),
            ("volts", Some(Kind::Voltage), "V", Reason::Spelling),
            ("\"", Some(Kind::Length), "in", Reason::Spelling),
            ("'", None, "ft", Reason::Spelling),
            ("°", Some(Kind::Angle), "deg", Reason::Spelling),
            ("°", Some(Kind::Temperature), "degC", Reason::Spelling),
            ("C", Some(Kind::Temperature), "degC", Reason::Spelling),
            ("F", Some(Kind::TemperatureDifference), "delta_degF", Reason::Spelling),
            ("degC", Some(Kind::TemperatureDifference), "K", Reason::PointOrDifference),
            ("K", Some(Kind::Temperature), "degC", Reason::PointOrDifference),
            ("mm^2", Some(Kind::Area), "mm2", Reason::PowerSign),
            ("MM", Some(Kind::Length), "mm", Reason::LetterCase),
            ("w", None, "W", Reason::LetterCase),
            ("Ohm", None, "ohm", Reason::LetterCase),
            ("mw", Some(Kind::Power), "mW", Reason::LetterCase),
            ("MS", Some(Kind::Time), "ms", Reason::LetterCase),
            ("pounds", Some(Kind::Force), "lbf", Reason::Spelling),
            ("lb", Some(Kind::Force), "lbf", Reason::OtherMeaning),
            ("deg", Some(Kind::Temperature), "degC", Reason::OtherMeaning),
            ("delta_degc", None, "delta_degC", Reason::LetterCase),
            ("deltadegC", None, "delta_degC", Reason::Nearest),
        ];
        for (word, wanted, unit, reason) in cases {
            assert_eq!(meant(word, wanted), Some((unit.to_owned(), reason)), "{word} for {wanted:?}");
        }
    }

    #[test]
    fn nothing_is_suggested_for_what_is_right_or_far_off() {
        assert_eq!(meant("mm", Some(Kind::Length)), None);
        assert_eq!(meant("mm", None), None);
        assert_eq!(meant("furlong", None), None);
        assert_eq!(meant("x", Some(Kind::Length)), None);
        assert_eq!(meant("", None), None);
    }

    #[test]
    fn every_listed_spelling_leads_to_a_unit_and_is_none_itself() {
        for (unit, spellings) in SPELLINGS {
            assert!(lookup(unit).is_some(), "{unit}");
            for spelling in spellings {
                assert!(lookup(spelling).is_none(), "{spelling} is a unit");
                assert_eq!(spelling.to_lowercase(), *spelling);
            }
        }
    }
}
