//! Prints how far every output of every row of a table of thermal cases lies from its reference.
//!
//! `cargo run --example thermal_deviations [FILE]`; without a file it reads the table in `tests/reference`.

#[path = "../support/thermal.rs"]
#[expect(clippy::unwrap_used, clippy::panic, reason = "a broken reference file is to stop this program")]
mod thermal;

use withy::physics::section::{Resolution, Solver};

fn main() {
    let path = std::env::args().nth(1).unwrap_or_else(|| "tests/reference/thermal_cases.csv".to_owned());
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(error) => {
            eprintln!("{path}: {error}");
            std::process::exit(1);
        }
    };
    let mut solver = Solver::new();
    println!("{:4} {:24} {:>10} {:>10} {:>9} {:>8}", "row", "figure", "reference", "withy", "deviation", "allowed");
    let mut missed = 0;
    for case in thermal::read(&text) {
        for deviation in case.deviations(&mut solver, Resolution::NORMAL) {
            let mark = if deviation.holds() { "" } else { "  missed" };
            missed += usize::from(!deviation.holds());
            println!(
                "{:4} {:24} {:10.3} {:10.3} {:9.3} {:8.3}{mark}",
                case.id,
                deviation.name,
                deviation.expected,
                deviation.found,
                deviation.found - deviation.expected,
                deviation.allowed
            );
        }
    }
    println!("{missed} missed");
}
