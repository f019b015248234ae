//! Every conversion between units of like dimension, compared with an independent library of units.
//!
//! Needs a Python with `pint`: the one `WITHY_PYTHON` names, else `python3`. Where `WITHY_PYTHON` or `CI` is set, a
//! missing library is a failure; elsewhere the test says that the comparison was not made.

#![expect(clippy::unwrap_used, reason = "a helper of a test may fail as the test may")]

#[path = "support/python.rs"]
mod python;

use std::fmt::Write as _;
use std::process::Command;

use python::python;
use withy::units::{Kind, Literal, UNITS, Unit, in_unit};

#[test]
fn conversions_agree_with_an_independent_library() {
    let Some(python) = python("pint") else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("conversions.csv");
    let (rows, text) = conversions();
    std::fs::write(&file, text).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/units/pint_check.py");
    let output = Command::new(&python).arg(script).arg(&file).output().unwrap();
    let (stdout, stderr) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    println!("{}", stdout.trim());
    assert!(output.status.success(), "{stdout}{stderr}");
    assert_eq!(stdout.trim(), format!("{rows} conversions agree"));

    // The script must notice a wrong row.
    let wrong = folder.path().join("wrong.csv");
    std::fs::write(&wrong, "from,to,value,result\nin,mm,1,25.400000001\n").unwrap();
    assert!(!Command::new(&python).arg(script).arg(&wrong).output().unwrap().status.success());
}

/// All pairs of units of like dimension, points and differences apart, with a value each.
fn conversions() -> (usize, String) {
    let mut units: Vec<Unit> = UNITS.iter().map(Unit::single).collect();
    units.extend(Kind::ALL.iter().flat_map(|kind| kind.examples()).map(|text| Unit::parse(text).unwrap()));
    for text in [
        "W/cm2",
        "W/mm",
        "W/ft",
        "ohm/in",
        "g/cm3",
        "kg/ft3",
        "J/(g K)",
        "W/(cm K)",
        "lbf/ft",
        "ft/min",
        "thou/s",
        "1/delta_degF",
    ] {
        units.push(Unit::parse(text).unwrap());
    }
    let mut text = String::from("from,to,value,result\n");
    let mut rows = 0;
    for from in &units {
        for to in units.iter().filter(|to| to.dimension() == from.dimension() && to.is_point() == from.is_point()) {
            for value in ["1", "72", "-40", "0.37"] {
                let si = Literal::parse(value).unwrap().to_si(from).unwrap();
                writeln!(text, "{from},{to},{value},{:e}", in_unit(si, to)).unwrap();
                rows += 1;
            }
        }
    }
    (rows, text)
}
