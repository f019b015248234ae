//! Windows and verdicts at the common starting point, and random points of the box that must stay inside them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/bends.rs"]
mod bends;
#[path = "support/dice.rs"]
mod dice;

use bends::{ZERO, about, acrylic_heat, both_faces, calibrated, exact, known, nichrome, starting_point};
use dice::Dice;
use withy::physics::section::{Drive, Follow, Resolution, Solver, Stage};
use withy::physics::window::{
    Bend, Change, Kind, Unknown, Verdict, rows, search_stages, solve, solve_given, what_opens, worth,
};
use withy::physics::{Fault, Input};

/// Throws a bend's box: a few points in the ordinary run, 2,000 with `WITHY_DEEP`.
fn throws() -> usize {
    if std::env::var_os("WITHY_DEEP").is_some() { 2000 } else { 40 }
}

fn stays_inside(name: &str, bend: &Bend<'_>, seed: u64) {
    let window = solve(&mut Solver::new(), bend).unwrap();
    assert_eq!(dice::escape(bend, &window, throws(), seed), None, "{name}");
}

#[test]
fn random_points_of_the_box_stay_inside_the_stated_windows() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    stays_inside("one face", &starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3)), 1);
    stays_inside("one face, calibrated", &calibrated(&alloy, &heat, 3e-3), 2);
    stays_inside("thin, calibrated", &calibrated(&alloy, &heat, 2e-3), 3);
    let mut both = starting_point(&alloy, &heat, known(4.5e-3, 4.2e-3, 4.8e-3));
    both_faces(&mut both);
    stays_inside("both faces", &both, 4);
    let mut staged = calibrated(&alloy, &heat, 3e-3);
    staged.stages = vec![Stage { level: 1.0, duration: 100.0 }, Stage { level: 0.6, duration: 0.0 }];
    stays_inside("staged", &staged, 5);
}

/// The design's figure: roughly 140 to 165 s, nominal and never proved, the coupling factor named first.
#[test]
fn the_common_starting_point_is_open_at_the_nominal_only() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let bend = starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3));
    let mut solver = Solver::new();
    let window = solve(&mut solver, &bend).unwrap();
    assert_eq!(window.verdict, Verdict::Nominal);
    assert!((135.0..160.0).contains(&window.ready.nominal), "ready {:?}", window.ready);
    assert!((155.0..175.0).contains(&window.over.nominal), "over {:?}", window.over);
    let heat = window.heat.unwrap();
    assert!(window.ready.nominal <= heat && heat <= window.over.nominal && (heat - heat.round()).abs() < 1e-12);
    assert_eq!(window.closings[0].unknown, Unknown::Kappa);
    assert_eq!(window.closings[0].unknown.kind(), Kind::Bench);
    assert!(window.void_after.unwrap() > 10.0);
    let run = window.run.unwrap();
    assert!((740.0..760.0).contains(&(run.wires[0] - ZERO)), "{run:?}");
    assert!(worth(&mut solver, &bend, Unknown::Kappa).unwrap().left.1 > window.over.low);
}

/// What a heat time leads to hangs on nothing but the bend: not on who chose it, nor on what was solved before.
#[test]
fn a_given_heat_leads_to_the_nominal_run_of_that_heat() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut both = starting_point(&alloy, &heat, known(4.5e-3, 4.2e-3, 4.8e-3));
    both_faces(&mut both);
    for bend in [starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3)), calibrated(&alloy, &heat, 2e-3), both] {
        let mut solver = Solver::new();
        let chosen = solve(&mut solver, &bend).unwrap();
        let time = chosen.heat.unwrap();
        assert_eq!(solve_given(&mut solver, &bend, time).unwrap(), chosen);
        let section = bend.section(&bend.unknowns.nominal());
        let mesh = Resolution::NORMAL.for_thickness(section.sheet.thickness);
        // Within the window, short of it, and beyond where the sheet decomposes.
        for time in [time, 0.5 * time, 3.0 * time] {
            let given = solve_given(&mut solver, &bend, time).unwrap();
            assert_eq!((given.ready, given.over, given.heat), (chosen.ready, chosen.over, Some(time)));
            let run = given.run.unwrap();
            solver.heat(&section, mesh, Follow::Until(time)).unwrap();
            let wanted = solver.run(&section, time).unwrap();
            assert!((run.hottest - wanted.hottest).abs() < 0.1, "{time} s: {run:?} {wanted:?}");
            assert!((run.softened_width - wanted.softened_width).abs() < 2e-5, "{time} s: {run:?} {wanted:?}");
            let set = given.set.unwrap();
            assert!(wanted.set.is_none_or(|wanted| set.low <= wanted && wanted <= set.high), "{set:?} {wanted:?}");
        }
    }
}

/// Nominal power of the hot line, W/m.
fn line_power(bend: &Bend<'_>) -> f64 {
    let section = bend.section(&bend.unknowns.nominal());
    let Drive::Wires { circuit, first, .. } = section.drive else { panic!("the bend has no wire") };
    circuit.steady(&[first], 1.0, section.ambient).unwrap().electric.powers[0] / first.length
}

/// The trade's one-face rule (S14): up to 3 mm on a straight wire, thicker from both sides.
#[test]
fn the_one_face_rule_appears_by_itself() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let (thin, thick) = (
        starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3)),
        starting_point(&alloy, &heat, known(6e-3, 5.5e-3, 6.5e-3)),
    );
    let mut solver = Solver::new();
    assert_eq!(line_power(&thin).to_bits(), line_power(&thick).to_bits());
    assert_eq!(solve(&mut solver, &thin).unwrap().verdict, Verdict::Nominal);
    let window = solve(&mut solver, &thick).unwrap();
    assert_eq!((window.verdict, window.heat, window.hold), (Verdict::None, None, None));
    let openings = what_opens(&mut solver, &thick).unwrap();
    assert!(openings.iter().any(|opening| matches!(opening.change, Change::BothFaces(_))), "{openings:?}");
    assert!(openings.iter().any(|opening| matches!(opening.change, Change::Thickness(_))), "{openings:?}");
    for opening in &openings {
        assert!(opening.ready < opening.over, "{opening:?}");
    }
}

#[test]
fn calibrated_and_measured_bends_reach_proved() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut thin = calibrated(&alloy, &heat, 2e-3);
    thin.unknowns.set(Unknown::Voltage, about(12.0, 0.005));
    thin.stages = vec![Stage { level: 0.8, duration: 0.0 }];
    let mut both = calibrated(&alloy, &heat, 3e-3);
    both_faces(&mut both);
    for (name, bend) in [("2 mm at 80 %", thin), ("3 mm, both faces", both)] {
        let window = solve(&mut solver, &bend).unwrap();
        assert_eq!(window.verdict, Verdict::Proved, "{name}: {window:#?}");
        let heat = window.heat.unwrap();
        assert!(window.ready.high <= heat && heat <= window.over.low, "{name}: {heat} in {window:#?}");
        assert!(window.hold.unwrap() >= window.set.unwrap().high, "{name}");
    }
}

#[test]
fn a_staged_heat_opens_what_one_level_cannot() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut bend = starting_point(&alloy, &heat, exact(3.6e-3));
    let closed = solve(&mut solver, &bend).unwrap();
    assert_eq!(closed.verdict, Verdict::None);
    bend.stages = search_stages(&mut solver, &bend).unwrap().expect("a lower second stage opens it");
    assert!(bend.stages.len() > 1);
    assert!(solve(&mut solver, &bend).unwrap().verdict >= Verdict::Nominal);
}

/// A relay is on or off: what is found for it, and what is offered, is full power and soaks.
#[test]
fn a_relay_is_given_no_part_power() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut bend = starting_point(&alloy, &heat, exact(3.6e-3));
    let part = |level: f64| level > 0.0 && level < 1.0;
    let mut parts = |bend: &Bend<'_>| {
        let openings = what_opens(&mut solver, bend).unwrap();
        let levels = openings.into_iter().flat_map(|opening| match opening.change {
            Change::Level(level) | Change::BothFaces(level) => vec![level],
            Change::Staged(stages) => stages.iter().map(|stage| stage.level).collect(),
            Change::Channel(_) | Change::Thickness(_) => Vec::new(),
        });
        levels.filter(|level| part(*level)).count()
    };
    assert!(parts(&bend) > 0, "nothing to be refused");
    bend.part_power = false;
    assert_eq!(parts(&bend), 0);
}

#[test]
fn a_soak_with_the_heater_off_evens_the_sheet_out() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut bend = starting_point(&alloy, &heat, exact(3e-3));
    bend.stages = vec![Stage { level: 1.0, duration: 120.0 }];
    let section = bend.section(&bend.unknowns.nominal());
    solver.heat(&section, Resolution::NORMAL, Follow::Until(120.0)).unwrap();
    let difference = |solver: &mut Solver, time: f64| {
        solver.temperature(0.0, 0.0, time) - solver.temperature(0.0, section.sheet.thickness, time)
    };
    let before = difference(&mut solver, 120.0);
    let soaked = [Stage { level: 1.0, duration: 120.0 }, Stage { level: 0.0, duration: 20.0 }];
    let section = withy::physics::section::Section { stages: &soaked, ..section };
    solver.heat(&section, Resolution::NORMAL, Follow::Until(140.0)).unwrap();
    assert!(difference(&mut solver, 140.0) < 0.4 * before);
}

#[test]
fn rows_grow_with_thickness_and_shrink_with_a_warm_room() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut bend = calibrated(&alloy, &heat, 2e-3);
    bend.unknowns.set(Unknown::Thickness, known(2e-3, 1.9e-3, 2.2e-3));
    let rooms = [18.0 + ZERO, 26.0 + ZERO];
    let table = rows(&mut solver, &bend, &rooms, 2.0).unwrap();
    assert_eq!(table.rows.len(), 8);
    for pair in table.rows.chunks(2) {
        assert!(pair[1].ready.nominal < pair[0].ready.nominal, "{pair:?}");
    }
    for pair in table.rows.windows(3) {
        assert!(pair[2].ready.nominal > pair[0].ready.nominal, "{pair:?}");
    }
    for row in &table.rows {
        assert!(row.heat.is_none_or(|heat| heat <= row.over.nominal), "{row:?}");
    }
}

#[test]
fn two_like_solves_give_the_same_bits() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let bend = starting_point(&alloy, &heat, known(3e-3, 2.7e-3, 3.3e-3));
    let mut used = Solver::new();
    let other = calibrated(&alloy, &heat, 2e-3);
    solve(&mut used, &other).unwrap();
    assert_eq!(solve(&mut used, &bend), solve(&mut Solver::new(), &bend));
}

#[test]
fn absurd_input_is_a_named_fault_and_never_an_endless_loop() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let bend = starting_point(&alloy, &heat, exact(3e-3));
    let mut solver = Solver::new();
    let mut with = |unknown: Unknown, value: f64| {
        let mut absurd = bend.clone();
        absurd.unknowns.set(unknown, exact(value));
        solve(&mut solver, &absurd)
    };
    for (unknown, input) in [
        (Unknown::Thickness, Input::Thickness),
        (Unknown::Gap, Input::Gap),
        (Unknown::Channel, Input::Channel),
        (Unknown::Density, Input::Density),
        (Unknown::Conductivity, Input::Conductivity),
        (Unknown::Ambient, Input::Ambient),
    ] {
        for value in [0.0, -1.0, 1e9] {
            assert_eq!(with(unknown, value), Err(Fault::OutOfRange(input)), "{unknown:?} {value}");
        }
        assert_eq!(with(unknown, f64::NAN), Err(Fault::OutOfRange(Input::Bounds)));
    }
    // Too little power ever to form, and far too much: an answer, not a fault.
    assert_eq!(with(Unknown::Voltage, 2.0).unwrap().verdict, Verdict::None);
    let mains = with(Unknown::Voltage, 240.0).unwrap();
    assert_eq!(mains.verdict, Verdict::None);
    assert!(mains.over.nominal < 5.0);
    let mut reversed = bend.clone();
    reversed.angle = -1.0;
    assert_eq!(solve(&mut solver, &reversed), Err(Fault::OutOfRange(Input::Angle)));
    let mut idle = bend.clone();
    idle.stages.clear();
    assert_eq!(solve(&mut solver, &idle), Err(Fault::OutOfRange(Input::HeatTime)));
}

/// Whatever the checks let through ends, and ends in numbers or a fault.
#[test]
fn anything_that_passes_the_checks_ends_in_numbers() {
    let (alloy, heat) = (nichrome(), acrylic_heat());
    let mut solver = Solver::new();
    let mut dice = Dice(11);
    let ranges = [
        (Unknown::Kappa, 0.0, 20.0),
        (Unknown::Gap, 1e-4, 0.2),
        (Unknown::Channel, 1e-3, 0.4),
        (Unknown::Conductivity, 0.02, 500.0),
        (Unknown::Density, 100.0, 20_000.0),
        (Unknown::Emissivity, 0.0, 1.0),
        (Unknown::SecondFace, 0.0, 5000.0),
        (Unknown::FirstSetting, 0.0, 5000.0),
        (Unknown::ShieldLoss, 0.01, 1000.0),
        (Unknown::Ceiling, 200.0, 1000.0),
        (Unknown::Release, 200.0, 1000.0),
        (Unknown::Thickness, 2e-4, 0.03),
        (Unknown::Ambient, 250.0, 400.0),
        (Unknown::Voltage, 0.0, 300.0),
        (Unknown::Transfer, 0.0, 600.0),
    ];
    let mut answered = 0;
    for _ in 0..throws() {
        let mut bend = starting_point(&alloy, &heat, exact(3e-3));
        for (unknown, low, high) in ranges {
            // Most stay as they are, or nothing but nonsense would be tried.
            if dice.next() < 0.3 {
                bend.unknowns.set(unknown, exact(low + (high - low) * libm::pow(dice.next(), 3.0)));
            }
        }
        let section = bend.section(&bend.unknowns.nominal());
        let resolution = Resolution::COARSE.for_thickness(section.sheet.thickness);
        let Ok(found) = solver.heat(&section, resolution, Follow::ToVoid) else { continue };
        let numbers = [found.ready, found.over, found.void, Some(found.hottest), Some(found.short)];
        assert!(numbers.iter().flatten().all(|number| number.is_finite()), "{found:?} of {section:?}");
        let Ok(run) = solver.run(&section, found.solved) else { continue };
        let numbers = [run.hottest, run.coldest, run.mean, run.softened_width, run.taken, run.set.unwrap_or(0.0)];
        assert!(numbers.iter().all(|number| number.is_finite()), "{run:?} of {section:?}");
        answered += 1;
    }
    assert!(answered > throws() / 4, "only {answered} answered");
}
