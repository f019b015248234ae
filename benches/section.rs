//! Times one plain solve of the section: `cargo bench --bench section`.

#[path = "../tests/support/thermal.rs"]
#[expect(
    clippy::unwrap_used,
    clippy::panic,
    dead_code,
    reason = "shared with the tests; a broken file is to stop this"
)]
mod thermal;

use std::hint::black_box;
use std::time::Instant;

use withy::physics::section::{Follow, Resolution, Solver};

/// Median time of one call, in seconds.
fn median(repeats: usize, mut call: impl FnMut()) -> f64 {
    let mut times: Vec<f64> = (0..repeats)
        .map(|_| {
            let start = Instant::now();
            call();
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times.get(repeats / 2).copied().unwrap_or(0.0)
}

fn main() {
    let text = include_str!("../tests/reference/thermal_cases.csv");
    let table = thermal::specific_heat();
    let mut solver = Solver::new();
    for case in thermal::read(text) {
        let section = case.section(&table);
        for (name, resolution) in [("normal", Resolution::NORMAL), ("coarse", Resolution::COARSE)] {
            let resolution = resolution.for_thickness(section.sheet.thickness);
            let time = median(51, || {
                black_box(solver.heat(&section, resolution, Follow::UntilKnown)).ok();
                black_box(solver.run(&section, case.get("heat_s"))).ok();
            });
            println!("{} {name}: {:.0} us, {} steps", case.id, time * 1e6, solver.steps());
        }
    }
}
