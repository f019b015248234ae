//! The sheet, and the chain from volts to sheet, solved afresh with a finite-element library and a general ODE solver.
//!
//! Source: `tests/reference/solve_afresh.py`, which shares nothing with the compiler. It needs a Python with
//! `scikit-fem`, `scipy` and `numpy`: the one `WITHY_PYTHON` names, else `python3`. Where `WITHY_PYTHON` or `CI` is set,
//! a missing library is a failure; elsewhere the test says that the comparison was not made.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/bends.rs"]
#[expect(dead_code, reason = "shared with the tests of the window")]
mod bends;
#[path = "support/python.rs"]
mod python;
#[path = "support/thermal.rs"]
#[expect(dead_code, reason = "shared with the test that judges the rows")]
mod thermal;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use bends::{acrylic_heat, known, nichrome, starting_point};
use python::python;
use serde_json::{Value, json};
use thermal::ZERO;
use withy::library::{Depth, Disk, Places, Plan, Rehearse, check, load, rehearsal};
use withy::physics::coupling;
use withy::physics::section::{Drive, Follow, Resolution, Section, Solver, Stage};
use withy::physics::table::Table;
use withy::physics::window::Unknown;
use withy::plan::Modelled;

const TABLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/thermal_cases.csv");
const ROWS: [&str; 3] = ["P01", "P04", "P06"];

/// What the script prints, by row and figure.
fn afresh(python: &str, kind: &str, file: &Path, rows: &[&str]) -> BTreeMap<(String, String), f64> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/solve_afresh.py");
    let output = Command::new(python).args([script, kind]).arg(file).args(rows).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines()
        .map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            ((cells[0].to_owned(), cells[1].to_owned()), cells[2].parse().unwrap())
        })
        .collect()
}

/// Both the published table and this solver, against a third solution; the table is met ten times closer.
#[test]
fn three_rows_solved_afresh_agree_with_the_table_and_with_this_solver() {
    let Some(python) = python("skfem, scipy, numpy") else { return };
    let fresh = afresh(&python, "rows", Path::new(TABLE), &ROWS);
    let mut solver = Solver::new();
    let mut compared = 0;
    for case in thermal::read(&std::fs::read_to_string(TABLE).unwrap()) {
        if !ROWS.contains(&case.id.as_str()) {
            continue;
        }
        for deviation in case.deviations(&mut solver, Resolution::NORMAL) {
            let third = fresh[&(case.id.clone(), deviation.name.to_owned())];
            let place = format!("{} {}", case.id, deviation.name);
            let of_table = (third - deviation.expected).abs();
            assert!(of_table <= 0.1 * deviation.allowed, "{place}: {third} afresh, {} printed", deviation.expected);
            let of_ours = (third - deviation.found).abs();
            assert!(of_ours <= deviation.allowed, "{place}: {third} afresh, {} here", deviation.found);
            compared += 1;
        }
    }
    assert_eq!(compared, 42);
}

/// A table with one changed input must be noticed, or the comparison would prove nothing.
#[test]
fn a_changed_input_is_noticed() {
    let Some(python) = python("skfem, scipy, numpy") else { return };
    let text = std::fs::read_to_string(TABLE).unwrap();
    let row = text.lines().find(|line| line.starts_with("P01")).unwrap();
    let changed = text.replace(row, &row.replacen(",0.19,", ",0.2,", 1));
    assert_ne!(text, changed);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("changed.csv");
    std::fs::write(&file, changed).unwrap();
    let fresh = afresh(&python, "rows", &file, &ROWS[..1]);
    let case = &thermal::read(&text)[0];
    let missed = |deviation: &thermal::Deviation| {
        let third = fresh[&(case.id.clone(), deviation.name.to_owned())];
        (third - deviation.expected).abs() > deviation.allowed
    };
    assert!(case.deviations(&mut Solver::new(), Resolution::NORMAL).iter().any(missed));
}

/// The whole chain (volts, wire, shield, plume, warm opening) at the common starting point: two radii of its bend with
/// the defaults, and the design's first suggestions, under which only the tighter radius has a window.
#[test]
fn the_chain_from_volts_to_sheet_agrees_and_so_does_the_starting_window() {
    let Some(python) = python("skfem, scipy, numpy") else { return };
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let defaults = [coupling::PLUME_PEAK.nominal, coupling::SINK_FACTOR.nominal, coupling::OTHER_FACE.nominal];
    let cases = [
        (0.004, defaults, true),
        (0.006, defaults, true),
        (0.004, [0.5, 0.5, 10.0], true),
        (0.006, [0.5, 0.5, 10.0], false),
    ];
    let folder = tempfile::tempdir().unwrap();
    let mut solver = Solver::new();
    for (radius, [peak, sink, other], open) in cases {
        let mut bend = starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3));
        bend.radius = radius;
        for (unknown, value) in [(Unknown::PlumePeak, peak), (Unknown::SinkFactor, sink), (Unknown::SecondFace, other)]
        {
            bend.unknowns.set(unknown, bends::exact(value));
        }
        let section = bend.section(&bend.unknowns.nominal());
        let file = folder.path().join("bend.json");
        std::fs::write(&file, as_json(&section).to_string()).unwrap();
        let fresh = afresh(&python, "chain", &file, &[]);
        let get = |name: &str| fresh[&("bend".to_owned(), name.to_owned())];

        let found = solver.heat(&section, Resolution::NORMAL, Follow::UntilKnown).unwrap();
        let (ready, over) = (found.ready.unwrap(), found.over.unwrap());
        let place = format!("radius {radius} m, {peak}, {sink}, {other}");
        for (name, time) in [("ready_s", ready), ("over_s", over)] {
            let third = get(name);
            assert!((time - third).abs() <= (0.01 * third).max(0.5), "{place} {name}: {third} afresh, {time} here");
        }
        assert_eq!(get("ready_s") < get("over_s"), open, "{place}: {fresh:?}");
        assert_eq!(ready < over, open, "{place}: {ready} to {over}");

        solver.heat(&section, Resolution::NORMAL, Follow::Until(100.0)).unwrap();
        let faces = [solver.temperature(0.0, 0.0, 100.0), solver.temperature(0.0, section.sheet.thickness, 100.0)];
        let run = solver.run(&section, 100.0).unwrap();
        for (name, kelvin, allowed) in [
            ("heated_at_100_c", faces[0], 0.01),
            ("other_at_100_c", faces[1], 0.01),
            ("wire_at_100_c", run.wires[0], 0.005),
            ("shield_at_100_c", run.shields[0], 0.01),
        ] {
            let (third, rise) = (get(name) + ZERO, get(name) + ZERO - section.ambient);
            assert!((kelvin - third).abs() <= (allowed * rise).max(0.5), "{place} {name}: {third} K, {kelvin} K here");
        }
    }
}

/// A rehearsal against the same bend solved afresh: faces of the sheet, wire and shield, a hundred seconds into the heat
/// that the program makes.
#[test]
fn a_rehearsed_sheet_is_as_warm_as_one_that_is_solved_afresh() {
    let Some(python) = python("skfem, scipy, numpy") else { return };
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let places = Places { root: root.clone(), shown_from: root.clone() };
    let (loaded, unreadable) = load(&Disk, &places, &[root.join("recipes/light_table.withy")], None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    let checked = check(&loaded, Depth::Full, None);
    let own = rehearsal(&loaded, &checked, Rehearse { name: None, faults: &[], parts: 1 }).unwrap();
    let Some(Plan::Recipe(plan)) = &checked.made[0].plan else { panic!("no recipe") };
    let modelled = Modelled::new(&plan.recipe, 0, &plan.bends[0].electric, None).ok().unwrap();
    let bend = modelled.bend(vec![Stage { level: 1.0, duration: 0.0 }]);
    let mut section = bend.section(&bend.unknowns.nominal());
    let sheet = &own.sheet_traces[0];
    let heater = &own.heater_traces[0];
    // The shield is warm from the warm-up, as the rehearsal has it.
    let point = |at: f64| {
        let after = heater.points.partition_point(|point| (point.0 as f64) < at).max(1);
        let (before, after) = (&heater.points[after - 1], &heater.points[after]);
        let share = (at - before.0 as f64) / (after.0 - before.0) as f64;
        [before.2 + share * (after.2 - before.2), before.3 + share * (after.3 - before.3)]
    };
    let began = sheet.began as f64;
    section.faces[0].line.as_mut().unwrap().shield.as_mut().unwrap().start = point(began)[1];
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bend.json");
    std::fs::write(&file, as_json(&section).to_string()).unwrap();
    let fresh = afresh(&python, "chain", &file, &[]);
    let get = |name: &str| fresh[&("bend".to_owned(), name.to_owned())] + ZERO;
    let after = sheet.samples.partition_point(|sample| sample.time < 100.0);
    let (before, after) = (&sheet.samples[after - 1], &sheet.samples[after]);
    let share = (100.0 - before.time) / (after.time - before.time);
    let face = |index: usize| before.faces[index] + share * (after.faces[index] - before.faces[index]);
    let [wire, shield] = point(began + 100_000.0);
    // The bench's own shield does not count what the sheet sends back; the sheet's does.
    for (name, found, allowed) in [
        ("heated_at_100_c", face(0), 0.01),
        ("other_at_100_c", face(1), 0.01),
        ("wire_at_100_c", wire, 0.01),
        ("shield_at_100_c", shield, 0.1),
    ] {
        let rise = get(name) - section.ambient;
        assert!(
            (found - get(name)).abs() <= (allowed * rise).max(0.5),
            "{name}: {} K afresh, {found} K here",
            get(name)
        );
    }
    // The same wire on a twentieth more volts is noticed, or the comparison would prove nothing.
    let Drive::Wires { circuit, .. } = &mut section.drive else { panic!("no wires") };
    circuit.volts *= 1.05;
    std::fs::write(&file, as_json(&section).to_string()).unwrap();
    let fresh = afresh(&python, "chain", &file, &[]);
    let hotter = fresh[&("bend".to_owned(), "heated_at_100_c".to_owned())] + ZERO;
    assert!((face(0) - hotter).abs() > 0.01 * (hotter - section.ambient), "{hotter} K");
}

/// A section with one wire below it, in SI units, as the script wants it.
fn as_json(section: &Section<'_>) -> Value {
    let line = section.faces[0].line.unwrap();
    let shield = line.shield.unwrap();
    let Drive::Wires { circuit, first: wire, second: None } = section.drive else { panic!("not one wire") };
    let table = |table: &Table| {
        let (at, value): (Vec<f64>, Vec<f64>) = table.points().iter().copied().unzip();
        json!([at, value])
    };
    json!({
        "thickness": section.sheet.thickness,
        "both": false,
        "kappa": line.coupling.kappa,
        "absorptance": line.coupling.absorptance,
        "reflectance": line.coupling.reflectance,
        "plume_share": line.coupling.plume_share,
        "plume_peak": line.coupling.plume_peak,
        "sink_factor": line.sink_factor,
        "gap": line.coupling.gap,
        "channel": line.coupling.channel,
        "ambient": section.ambient,
        "losses": [section.faces[0].loss, section.faces[1].loss],
        "emissivity": section.sheet.emissivity,
        "conductivity": section.sheet.conductivity,
        "density": section.sheet.density,
        "heat_factor": section.sheet.specific_heat_factor,
        "heat_table": table(section.sheet.specific_heat),
        "setting": section.faces[0].setting_loss,
        "transfer": section.transfer,
        "zone": section.zone,
        "softened": section.limits.softened,
        "forming": section.limits.forming,
        "ceiling": section.limits.ceiling,
        "release": section.limits.release,
        "shield": {
            "capacity": shield.heat_capacity,
            "loss": shield.loss,
            "rise": shield.start - section.ambient,
        },
        "wire": {
            "volts": circuit.volts,
            "length": wire.length,
            "diameter": wire.diameter,
            "emissivity": wire.emissivity,
            "resistance": wire.resistance,
            "density": wire.alloy.density.nominal,
            "resistance_factor": table(&wire.alloy.resistance_factor),
            "specific_heat": table(&wire.alloy.specific_heat),
        },
    })
}
