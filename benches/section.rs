//! Times a plain solve of the section and a bend with all its worst cases: `cargo bench --bench section`.
//!
//! With `--plain ID` it prints only the seconds of one plain solve of that row of the thermal table, which
//! `section_scipy.py` sets against a general sparse solver in one run.

#[path = "../tests/support/bends.rs"]
#[expect(clippy::unwrap_used, dead_code, reason = "shared with the tests; broken data are to stop this")]
mod bends;
#[path = "../tests/support/thermal.rs"]
#[expect(clippy::unwrap_used, clippy::panic, dead_code, reason = "shared with the tests; broken data are to stop this")]
mod thermal;

use std::hint::black_box;
use std::time::Instant;

use withy::physics::section::{Follow, Resolution, Solver};
use withy::physics::window::{Bend, solve};

/// Shortest time of one call, s: what else the machine does can only lengthen it.
fn fastest(repeats: usize, mut call: impl FnMut()) -> f64 {
    (0..repeats)
        .map(|_| {
            let start = Instant::now();
            call();
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Seconds of one plain solve of a row: ready, over, and set after its heat.
fn plain(solver: &mut Solver, case: &thermal::Case) -> f64 {
    let table = thermal::specific_heat();
    let section = case.section(&table);
    let resolution = Resolution::NORMAL.for_thickness(section.sheet.thickness);
    fastest(101, || {
        black_box(solver.heat(&section, resolution, Follow::UntilKnown)).ok();
        black_box(solver.run(&section, case.get("heat_s"))).ok();
    })
}

fn bend(solver: &mut Solver, name: &str, bend: &Bend<'_>) {
    let time = fastest(41, || {
        black_box(solve(solver, bend)).ok();
    });
    println!("{name}, all worst cases: {:.1} ms", time * 1e3);
}

fn main() {
    let cases = thermal::read(include_str!("../tests/reference/thermal_cases.csv"));
    let mut solver = Solver::new();
    let wanted = std::env::args().skip_while(|argument| argument != "--plain").nth(1);
    if let Some(id) = wanted {
        for case in cases.iter().filter(|case| case.id == id) {
            println!("{:.9}", plain(&mut solver, case));
        }
        return;
    }
    for case in &cases {
        println!("{} plain solve: {:.0} us", case.id, plain(&mut solver, case) * 1e6);
    }
    let (alloy, heat) = (bends::nichrome(), bends::acrylic_heat());
    let thickness = bends::known(3e-3, 2.7e-3, 3.3e-3);
    let start = bends::starting_point(&alloy, &heat, thickness);
    bend(&mut solver, "3 mm, one face, uncalibrated", &start);
    bend(&mut solver, "2 mm, one face, calibrated", &bends::calibrated(&alloy, &heat, 2e-3));
    let mut both = start.clone();
    bends::both_faces(&mut both);
    bend(&mut solver, "3 mm, both faces, uncalibrated", &both);
}
