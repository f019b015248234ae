//! The sheet solver against the finite-element reference table, and its energy balance on every row.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/thermal.rs"]
mod thermal;

use withy::physics::section::{Follow, Resolution, Solver};

/// The table in `tests/reference`, or another of the same columns named by `WITHY_THERMAL_CASES`.
fn table() -> String {
    let path = std::env::var("WITHY_THERMAL_CASES").unwrap_or_else(|_| "tests/reference/thermal_cases.csv".to_owned());
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Source: finite-element solutions described in `tests/reference/README.md`.
#[test]
fn thermal_cases() {
    let mut solver = Solver::new();
    let cases = thermal::read(&table());
    assert!(!cases.is_empty(), "the table has no rows");
    let mut missed = Vec::new();
    for case in &cases {
        for deviation in case.deviations(&mut solver, Resolution::NORMAL) {
            if !deviation.holds() {
                missed.push(format!(
                    "{} {}: {} instead of {} ± {}",
                    case.id, deviation.name, deviation.found, deviation.expected, deviation.allowed
                ));
            }
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}

/// A converged run of this solver meets the reference far inside the tolerance: the model is the same, not only near.
#[test]
fn a_fine_mesh_meets_the_reference_ten_times_closer() {
    let mut solver = Solver::new();
    for case in thermal::read(&table()).iter().take(4) {
        for deviation in case.deviations(&mut solver, Resolution::FINE) {
            let away = (deviation.found - deviation.expected).abs();
            let close = deviation.expected.is_nan() || away <= 0.15 * deviation.allowed;
            assert!(close, "{} {}: {away} of {}", case.id, deviation.name, deviation.allowed);
        }
    }
}

#[test]
fn the_energy_balance_closes_on_every_row() {
    let mut solver = Solver::new();
    let table_of_heat = thermal::specific_heat();
    for case in thermal::read(&table()) {
        let section = case.section(&table_of_heat);
        let resolution = Resolution::NORMAL.for_thickness(section.sheet.thickness);
        let heat = solver.heat(&section, resolution, Follow::UntilKnown).unwrap();
        for part in [0.1, 0.5, 1.0] {
            let (taken, held) = solver.balance(&section, part * heat.solved);
            assert!((taken - held).abs() <= 1e-3 * held, "{} at {part}: took {taken}, holds {held} J/m", case.id);
        }
    }
}
