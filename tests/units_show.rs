//! What is printed reads back to what it was.

#![expect(clippy::unwrap_used, reason = "a helper of a test may fail as the test may")]

use proptest::prelude::{prop, prop_assert, prop_assert_eq, prop_assume, proptest};
use withy::units::{
    Bounded, Kind, Literal, Quantity, SourceId, UNITS, Unit, preferred_unit, rule_inches, show_quantity, show_rounded,
    show_rounded_range, show_value,
};

fn unit(word: &str) -> Unit {
    Unit::parse(word).unwrap()
}

fn read(text: &str) -> f64 {
    let (number, word) = text.split_once(' ').unwrap_or((text, ""));
    let unit = if word.is_empty() { Unit::one() } else { unit(word) };
    Literal::parse(number).unwrap().to_si(&unit).unwrap()
}

fn composite() -> Vec<Unit> {
    let mut units: Vec<Unit> = UNITS.iter().map(Unit::single).collect();
    for kind in Kind::ALL {
        units.extend(kind.examples().iter().map(|example| unit(example)));
    }
    units
}

proptest! {
    #![proptest_config(proptest::test_runner::Config::with_cases(3_000))]

    #[test]
    fn printing_reads_back_to_the_same_bits(
        value in prop::num::f64::NORMAL,
        index in 0..1_000_usize,
    ) {
        let units = composite();
        let unit = &units[index % units.len()];
        // Sizes that could be a measurement in any unit.
        let value = libm::scalbn(value, -libm::ilogb(value) + i32::try_from(index).unwrap() % 120 - 60);
        let text = show_value(value, unit);
        prop_assert_eq!(read(&text).to_bits(), value.to_bits(), "{}", text);
    }

    #[test]
    fn what_is_written_short_is_printed_short(whole in 1..10_000_u32, places in 0..4_usize, index in 0..1_000_usize) {
        let units = composite();
        let unit = &units[index % units.len()];
        let digits = format!("{whole:04}");
        let text = match digits.split_at(digits.len() - places) {
            (whole, "") => whole.to_owned(),
            ("", behind) => format!("0.{behind}"),
            (whole, behind) => format!("{whole}.{behind}"),
        };
        let value = Literal::parse(&text).unwrap().to_si(unit).unwrap();
        let shown = show_value(value, unit);
        let number = shown.split(' ').next().unwrap();
        let (shown, written) = (Literal::parse(number).unwrap().exact(), Literal::parse(&text).unwrap().exact());
        prop_assert_eq!(shown, written);
    }

    #[test]
    fn a_rule_is_right_to_half_a_64th(metres in -5.0..5.0_f64) {
        let shown = rule_inches(metres).unwrap();
        prop_assert!(shown.rest.abs() <= 0.0254 / 128.0 * (1.0 + 1e-9));
        let number = shown.text.trim_end_matches(" in");
        let literal = match number.split_once(' ') {
            Some((whole, fraction)) => Literal::mixed(whole, fraction).unwrap(),
            None => Literal::parse(number).unwrap(),
        };
        prop_assert!((literal.to_si(&unit("in")).unwrap() + shown.rest - metres).abs() < 1e-15 * 1e3);
    }
}

#[test]
fn numbers_are_as_short_as_they_were_written() {
    for text in [
        "25.4 mm",
        "1 in",
        "22 degC",
        "72 degF",
        "0 degC",
        "-40 degF",
        "90 deg",
        "6.5 W/in",
        "0.17 W/(m K)",
        "80 %",
        "1.2e-9 ohm*m",
        "650 ohm*cmil/ft",
        "1220 mm",
        "0.000001 m",
        "0 K",
        "-3.5 mm",
    ] {
        let (_, word) = text.split_once(' ').unwrap();
        assert_eq!(show_value(read(text), &unit(word)), text);
    }
    assert_eq!(show_value(0.5, &Unit::one()), "0.5");
    assert_eq!(show_value(-0.0, &unit("mm")), "0 mm");
}

#[test]
fn bounds_are_printed_as_a_reader_would_write_them() {
    let of = |text: &str| {
        let (number, word) = text.split_once(' ').unwrap();
        Quantity::read(&Literal::parse(number).unwrap(), &unit(word)).unwrap()
    };
    let id = SourceId(1);
    let mm = unit("mm");
    let symmetric = Quantity::symmetric(&of("3 mm"), &of("0.4 mm"), id).unwrap();
    assert_eq!(show_quantity(&symmetric, &mm), "3 mm ± 0.4 mm");
    let lopsided = Quantity::one_sided(&of("3 mm"), &of("0.2 mm"), &of("0.5 mm"), id).unwrap();
    assert_eq!(show_quantity(&lopsided, &mm), "3 mm +0.2/-0.5 mm");
    let voltage = Quantity::relative(&of("12.1 V"), &of("1 %"), id).unwrap();
    assert_eq!(show_quantity(&voltage, &unit("V")), "12.1 V ± 0.121 V");
    let room = Quantity::range(&of("18 degC"), &of("27 degC"), id).unwrap();
    assert_eq!(show_quantity(&room, &unit("degC")), "18..27 degC");
    let difference = Quantity::symmetric(&of("72 degF"), &of("2 delta_degF"), id).unwrap();
    assert_eq!(show_quantity(&difference, &unit("degF")), "70..74 degF");
    let share = Quantity::range(&of("40 %"), &of("60 %"), id).unwrap();
    assert_eq!(show_quantity(&share, &unit("%")), "40..60 %");
    assert_eq!(show_quantity(&of("3 mm"), &unit("in")), "0.11811023622047244 in");
}

#[test]
fn figures_are_rounded_for_people() {
    let mm = unit("mm");
    assert_eq!(show_rounded(0.002_853, &mm, 3), "2.85 mm");
    assert_eq!(show_rounded(0.003, &mm, 3), "3 mm");
    assert_eq!(show_rounded(433.15, &unit("degC"), 3), "160 degC");
    assert_eq!(show_rounded_range(0.0028, 0.0032, &mm, 2), "2.8..3.2 mm");
    assert_eq!(show_rounded(0.0, &mm, 3), "0 mm");
    assert_eq!(rule_inches(4.359_375 * 0.0254).unwrap().text, "4 23/64 in");
    assert_eq!(rule_inches(0.0254 / 2.0).unwrap().text, "1/2 in");
    assert_eq!(rule_inches(-0.0254).unwrap().text, "-1 in");
    assert_eq!(rule_inches(0.0).unwrap().text, "0 in");
    assert_eq!(rule_inches(f64::NAN), None);
    assert_eq!(rule_inches(f64::INFINITY), None);
}

#[test]
fn preferred_units_measure_their_kind() {
    for kind in Kind::ALL {
        for imperial in [false, true] {
            if let Some(unit) = preferred_unit(kind, imperial) {
                assert_eq!(Some(unit.dimension()), kind.dimension(), "{kind:?}");
                assert_eq!(unit.is_point(), kind == Kind::Temperature, "{kind:?}");
            }
        }
    }
    assert_eq!(preferred_unit(Kind::Text, false), None);
}

#[test]
fn any_finite_number_can_be_printed() {
    for value in [f64::MAX, f64::MIN_POSITIVE, 5e-324, -1e300, 1e-300] {
        let bounded = Bounded::exact(value).unwrap();
        for unit in composite() {
            let quantity = Quantity::plain(unit.dimension(), bounded.clone());
            assert!(!show_quantity(&quantity, &unit).is_empty());
            assert!(!show_rounded(value, &unit, 3).is_empty());
        }
    }
}

proptest! {
    #[test]
    fn printed_bounds_read_back(nominal in 1..5_000_u32, plus in 1..900_u32, minus in 0..900_u32, index in 0..1_000_usize) {
        let units = composite();
        let unit = &units[index % units.len()];
        let number = |value: u32| Literal::parse(&format!("{}.{:02}", value / 100, value % 100)).unwrap();
        let side = |value: u32| Quantity::read_difference(&number(value), unit).unwrap();
        let id = SourceId(1);
        let written = Quantity::read(&number(nominal), unit).unwrap();
        prop_assume!(!written.percent);
        let made = Quantity::one_sided(&written, &side(plus), &side(minus), id).unwrap();
        let text = show_quantity(&made, unit);
        let word = unit.as_difference().to_string();
        let read = |text: &str, unit: &Unit| Quantity::read(&Literal::parse(text).unwrap(), unit).unwrap();
        let again = if let Some((first, rest)) = text.split_once(" +") {
            let (plus, minus) = rest.strip_suffix(&format!(" {unit}")).unwrap().split_once("/-").unwrap();
            let nominal = read(first.strip_suffix(&format!(" {unit}")).unwrap(), unit);
            let difference = unit.as_difference();
            Quantity::one_sided(&nominal, &read(plus, &difference), &read(minus, &difference), id).unwrap()
        } else if let Some((first, rest)) = text.split_once(" ± ") {
            let nominal = read(first.strip_suffix(&format!(" {unit}")).unwrap(), unit);
            let plus = rest.strip_suffix(&format!(" {word}")).unwrap();
            Quantity::symmetric(&nominal, &read(plus, &unit.as_difference()), id).unwrap()
        } else {
            let (low, high) = text.strip_suffix(&format!(" {unit}")).unwrap().split_once("..").unwrap();
            Quantity::range(&read(low, unit), &read(high, unit), id).unwrap()
        };
        let (made, again) = (made.facts().value, again.facts().value);
        let size = 4e-12 * made.high.abs().max(made.low.abs());
        for (a, b) in [(made.nominal, again.nominal), (made.low, again.low), (made.high, again.high)] {
            prop_assert!((a - b).abs() <= size, "{} is {:?} instead of {:?}", text, again, made);
        }
    }
}
