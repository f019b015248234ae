//! The `unit` and `awg` groups of the reference checks.
//!
//! Cases come from `tests/reference/checks.toml` and, where the variable `WITHY_CHECKS` names one, from another file
//! of the same form. Sources stand beside each case in the file.

#![expect(clippy::unwrap_used, reason = "a helper of a test may fail as the test may")]

use std::path::{Path, PathBuf};

use toml::{Table, Value};
use withy::units::{Gauge, Literal, Unit, in_unit, misspelt};

/// Groups of other parts of the compiler, each checked by that part's own tests.
const OTHER_GROUPS: [&str; 17] = [
    "slab", "wire", "bend", "erfc", "time", "bench", "semi", "cyl", "crc", "cu", "line", "rad", "ihex", "pmma",
    "supply", "burn", "sarif",
];

#[test]
fn reference_checks_hold() {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/checks.toml");
    let other = std::env::var_os("WITHY_CHECKS").map(PathBuf::from);
    let mut faults = Vec::new();
    for file in std::iter::once(own).chain(other) {
        let text = std::fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        let (seen, mut found) = run(&text);
        assert!(seen > 0, "{} has no check of units or gauges", file.display());
        faults.append(&mut found);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_wrong_figure_and_an_unknown_shape_are_faults() {
    let case = |group: &str, inputs: &str, expected: &str| {
        let text = format!(
            "[[check]]\nid='x'\ngroup='{group}'\ninputs={inputs}\nexpected={expected}\ntolerance={{rel=1e-9}}\n"
        );
        run(&text).1.len()
    };
    assert_eq!(case("unit", "{value=1.0,unit='inch'}", "{value=0.0254,unit='m'}"), 0);
    assert_eq!(case("unit", "{value=1.0,unit='inch'}", "{value=0.0255,unit='m'}"), 1);
    assert_eq!(case("unit", "{value=1.0,unit='inch'}", "{value=0.0254,unit='s'}"), 1);
    assert_eq!(case("unit", "{value=1.0,unit='smoot'}", "{value=1.7,unit='m'}"), 1);
    assert_eq!(case("unit", "{stones=1.0}", "{value=1.7}"), 1);
    assert_eq!(case("unit", "{F=[32.0,33.0]}", "{C=[0.0]}"), 1);
    assert_eq!(case("awg", "{awg=20}", "{d_mm=0.9}"), 1);
    assert_eq!(case("awg", "{awg=20}", "{d_furlong=0.9}"), 1);
    assert_eq!(case("unheard", "{awg=20}", "{d_mm=0.9}"), 1);
}

/// Runs all cases of one file; returns how many were ours, and the faults.
fn run(text: &str) -> (usize, Vec<String>) {
    let table: Table = text.parse().unwrap();
    let (mut seen, mut faults) = (0, Vec::new());
    for case in table["check"].as_array().unwrap() {
        let id = case["id"].as_str().unwrap();
        let got = match case["group"].as_str().unwrap() {
            "unit" => unit(&case["inputs"], &case["expected"]),
            "awg" => gauge(&case["inputs"], &case["expected"]),
            group if OTHER_GROUPS.contains(&group) => continue,
            group => Err(format!("unknown group {group}")),
        };
        seen += 1;
        match got {
            Err(problem) => faults.push(format!("{id}: {problem}")),
            Ok(pairs) => {
                for (got, wanted) in pairs {
                    if !within(got, wanted, &case["tolerance"]) {
                        faults.push(format!("{id}: {got} instead of {wanted}"));
                    }
                }
            }
        }
    }
    (seen, faults)
}

type Pairs = Result<Vec<(f64, f64)>, String>;

fn unit(inputs: &Value, expected: &Value) -> Pairs {
    let shape: (Vec<&str>, Vec<&str>) = (keys(inputs), keys(expected));
    match (shape.0.as_slice(), shape.1.as_slice()) {
        (["unit", "value"], ["unit", "value"]) => {
            let (from, to) = (inputs["unit"].as_str().unwrap(), expected["unit"].as_str().unwrap());
            let to = Unit::parse(to).map_err(|problem| format!("{to}: {problem:?}"))?;
            let convert = |value: f64| converted(value, from, &to);
            paired(&inputs["value"], &expected["value"], convert)
        }
        (["F"], ["C"]) => paired(&inputs["F"], &expected["C"], |value| converted(value, "degF", &parsed("degC"))),
        (["C"], ["F"]) => paired(&inputs["C"], &expected["F"], |value| converted(value, "degC", &parsed("degF"))),
        (["dF"], ["dK"]) => {
            paired(&inputs["dF"], &expected["dK"], |value| converted(value, "delta_degF", &parsed("K")))
        }
        (["dK"], ["dF"]) => {
            paired(&inputs["dK"], &expected["dF"], |value| converted(value, "K", &parsed("delta_degF")))
        }
        (["codes"], ["kJ"]) => {
            // The language has no Btu: this row is held against the definitions alone.
            let codes = inputs["codes"].as_array().unwrap();
            let known = codes.iter().map(|code| match code.as_str().unwrap() {
                "[Btu]" | "[Btu_th]" => Ok(BTU_THERMOCHEMICAL),
                "[Btu_IT]" => Ok(BTU_IT),
                code => Err(format!("unknown code {code}")),
            });
            let known: Vec<f64> = known.collect::<Result<_, _>>()?;
            let wanted = numbers(&expected["kJ"])?;
            same_length(&known, &wanted)?;
            Ok(known.into_iter().map(|joule| joule / 1e3).zip(wanted).collect())
        }
        shape => Err(format!("unknown shape {shape:?}")),
    }
}

fn gauge(inputs: &Value, expected: &Value) -> Pairs {
    if keys(inputs) != ["awg"] {
        return Err(format!("unknown inputs {inputs}"));
    }
    let size = match &inputs["awg"] {
        Value::Integer(n @ -3..=0) => format!("{}/0", 1 - n),
        Value::Integer(n) => n.to_string(),
        Value::String(text) => text.clone(),
        other => return Err(format!("unknown gauge {other}")),
    };
    let gauge = Gauge::parse(&size).ok_or_else(|| format!("no gauge {size}"))?;
    let figure = |key: &str| match key {
        "d_mm" => Ok(in_unit(gauge.diameter(), &parsed("mm"))),
        "d_in" => Ok(in_unit(gauge.diameter(), &parsed("in"))),
        "A_mm2" | "area_mm2" => Ok(in_unit(gauge.area(), &parsed("mm2"))),
        "cmil" | "area_cmil" => Ok(in_unit(gauge.area(), &parsed("cmil"))),
        _ => Err(format!("unknown figure {key}")),
    };
    keys(expected).into_iter().map(|key| Ok((figure(key)?, number(&expected[key])?))).collect()
}

/// International-table Btu in joules, exactly 1055.05585262 (5th steam table conference, by a secondary source).
const BTU_IT: f64 = 1_055.055_852_62;
/// Thermochemical Btu in joules (UCUM, by a secondary source; the file's own S101).
const BTU_THERMOCHEMICAL: f64 = 1_054.35;

/// Our own conversion; for units the language leaves out on purpose (Btu), the test's arithmetic from our units.
fn converted(value: f64, from: &str, to: &Unit) -> Result<f64, String> {
    let ours = |text: &str| parsed(text).factor().unwrap();
    let btu = match from {
        "Btu_IT_per_h" => Some((BTU_IT / ours("h"), "W")),
        "Btu_h_ft_degF" => Some((BTU_IT / ours("h") / ours("ft") / ours("delta_degF"), "W/(m K)")),
        "Btu_in_h_ft2_degF" => Some((BTU_IT * ours("in") / ours("h") / ours("ft2") / ours("delta_degF"), "W/(m K)")),
        "Btu_h_ft2" => Some((BTU_IT / ours("h") / ours("ft2"), "W/m2")),
        "Btu_h_ft2_degF" => Some((BTU_IT / ours("h") / ours("ft2") / ours("delta_degF"), "W/(m2 K)")),
        "Btu_IT" => Some((BTU_IT, "J")),
        _ => None,
    };
    let (si, dimension) = if let Some((factor, like)) = btu {
        (value * factor, parsed(like).dimension())
    } else {
        let unit = spelt(from)?;
        let literal = Literal::parse(&format!("{value}")).map_err(|problem| format!("{value}: {problem:?}"))?;
        (literal.to_si(&unit).map_err(|problem| format!("{problem:?}"))?, unit.dimension())
    };
    if dimension != to.dimension() {
        return Err(format!("{from} is no {to}"));
    }
    Ok(in_unit(si, to))
}

/// The reference spells out a unit (`lb_per_in3`, `ohm_cmil_per_ft`) that the language writes with signs.
fn spelt(name: &str) -> Result<Unit, String> {
    if let Ok(unit) = Unit::parse(name) {
        return Ok(unit);
    }
    let word = |word: &str| {
        if Unit::parse(word).is_ok() {
            return Ok(word.to_owned());
        }
        misspelt(word, None).map(|meant| meant.unit).ok_or_else(|| format!("unknown unit {word} in {name}"))
    };
    let side = |side: &str| Ok::<_, String>(side.split('_').map(word).collect::<Result<Vec<_>, _>>()?.join(" "));
    let text = match name.split_once("_per_") {
        Some((above, below)) => format!("{}/({})", side(above)?, side(below)?),
        None => side(name)?,
    };
    Unit::parse(&text).map_err(|problem| format!("{name}: {problem:?}"))
}

fn parsed(text: &str) -> Unit {
    Unit::parse(text).unwrap()
}

fn keys(table: &Value) -> Vec<&str> {
    let mut keys: Vec<&str> = table.as_table().unwrap().keys().map(String::as_str).collect();
    keys.sort_unstable();
    keys
}

fn paired(inputs: &Value, expected: &Value, figure: impl Fn(f64) -> Result<f64, String>) -> Pairs {
    let (inputs, expected) = (numbers(inputs)?, numbers(expected)?);
    same_length(&inputs, &expected)?;
    inputs.into_iter().zip(expected).map(|(input, wanted)| Ok((figure(input)?, wanted))).collect()
}

fn same_length(inputs: &[f64], expected: &[f64]) -> Result<(), String> {
    if inputs.len() == expected.len() { Ok(()) } else { Err("inputs and expected differ in number".to_owned()) }
}

fn numbers(value: &Value) -> Result<Vec<f64>, String> {
    value.as_array().map_or_else(|| Ok(vec![number(value)?]), |list| list.iter().map(number).collect())
}

fn number(value: &Value) -> Result<f64, String> {
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64)).ok_or_else(|| format!("no number: {value}"))
}

fn within(got: f64, wanted: f64, tolerance: &Value) -> bool {
    let allowed = |key: &str| tolerance.get(key).and_then(|value| number(value).ok());
    match (allowed("abs"), allowed("rel"), allowed("factor")) {
        (Some(abs), ..) => (got - wanted).abs() <= abs,
        (_, Some(rel), _) => (got - wanted).abs() <= rel * wanted.abs(),
        (_, _, Some(factor)) => got <= wanted * factor && got >= wanted / factor,
        _ => false,
    }
}
