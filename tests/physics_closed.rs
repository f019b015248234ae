//! The solver against closed forms, its observed order, and a published experiment.
//!
//! A flux that is even over a wide opening makes the section one-dimensional at the line, so that the textbook walls can
//! be met; a narrow opening on a thick sheet makes it the line source on a half space.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/bends.rs"]
#[expect(dead_code, reason = "shared with the tests of the window")]
mod bends;
#[path = "support/closed.rs"]
#[expect(dead_code, reason = "shared with the check values")]
mod closed;

use std::f64::consts::PI;

use bends::{ZERO, acrylic_heat};
use withy::physics::coupling::Coupling;
use withy::physics::section::{Drive, Emission, Face, Follow, Limits, Line, Resolution, Section, Sheet, Solver, Stage};
use withy::physics::table::Table;

const ON: [Stage; 1] = [Stage { level: 1.0, duration: 0.0 }];

/// A sheet under an even flux (W/m²) over an opening (m) on the first face, losing nothing.
fn even(flux: f64, channel: f64, thickness: f64, conductivity: f64, density: f64, heat: &Table) -> Section<'_> {
    let line = Line {
        coupling: Coupling {
            kappa: 1.0,
            absorptance: 0.0,
            reflectance: 0.0,
            plume_share: 1.0,
            plume_peak: 0.0,
            gap: 0.01,
            channel,
        },
        sink_factor: 0.0,
        opening_loss: 0.0,
        shield: None,
    };
    let face = |line: Option<Line>| Face { line, loss: 0.0, setting_loss: 0.0, setting_radiates: false };
    Section {
        sheet: Sheet {
            thickness,
            conductivity,
            density,
            specific_heat: heat,
            specific_heat_factor: 1.0,
            emissivity: 0.0,
            start: 20.0 + ZERO,
        },
        faces: [face(Some(line)), face(None)],
        drive: Drive::Constant([Emission { radiated: 0.0, convected: flux * channel }, Emission::default()]),
        ambient: 20.0 + ZERO,
        transfer: 3.0,
        zone: 0.005,
        limits: Limits { softened: 383.0, forming: 423.0, ceiling: 473.0, release: 353.0, void: f64::INFINITY },
        stages: &ON,
        horizon: 400.0,
    }
}

fn constant(value: f64) -> Table {
    Table::new(vec![(300.0, value)]).unwrap()
}

/// Temperature (°C) at a point and time.
fn at(solver: &mut Solver, x: f64, y: f64, time: f64) -> f64 {
    solver.temperature(x, y, time) - ZERO
}

fn heated(section: &Section<'_>, resolution: Resolution, time: f64) -> Solver {
    let mut solver = Solver::new();
    let resolution = resolution.for_thickness(section.sheet.thickness);
    solver.heat(section, resolution, Follow::Until(time)).unwrap();
    solver
}

/// Plane wall under constant flux, the other face insulated: series solution.
#[test]
fn a_wall_under_constant_flux() {
    let table = constant(1470.0);
    for (thickness, time) in [(0.003, 30.0), (0.003, 60.0), (0.003, 120.0), (0.006, 30.0), (0.006, 60.0)] {
        let section = even(5000.0, 0.4, thickness, 0.19, 1190.0, &table);
        for (resolution, share) in [(Resolution::NORMAL, 0.01), (Resolution::FINE, 0.001)] {
            let mut solver = heated(&section, resolution, time);
            let fo = 0.19 / (1190.0 * 1470.0) * time / (thickness * thickness);
            for place in [0.0, 0.5, 1.0] {
                let rise = 5000.0 * thickness / 0.19 * closed::wall_under_flux(fo, place);
                let found = at(&mut solver, 0.0, (1.0 - place) * thickness, time) - 20.0;
                let allowed = (share * rise).max(50.0 * share);
                assert!((found - rise).abs() < allowed, "{thickness} m, {time} s, {place}: {found} for {rise}");
            }
        }
    }
}

/// Semi-infinite solid under constant flux: the first seconds of a thick sheet.
#[test]
fn a_half_space_under_constant_flux() {
    let table = constant(1470.0);
    let section = even(5000.0, 0.4, 0.03, 0.19, 1190.0, &table);
    let mut solver = heated(&section, Resolution::FINE, 60.0);
    let alpha = 0.19 / (1190.0 * 1470.0);
    for time in [10.0, 30.0, 60.0] {
        for depth in [0.0, 0.001, 0.003] {
            let rise = closed::semi_flux(5000.0, 0.19, alpha, depth, time);
            let found = at(&mut solver, 0.0, depth, time) - 20.0;
            assert!((found - rise).abs() < (0.005 * rise).max(0.1), "{depth} m, {time} s: {found} for {rise}");
        }
    }
}

/// Plane wall with convection on both faces: full series, and its one-term table late on.
#[test]
fn a_wall_in_hot_air() {
    let table = constant(1470.0);
    let (h, k) = (60.0, 0.19);
    for thickness in [0.003, 0.006] {
        let mut section = even(0.0, 0.4, thickness, k, 1190.0, &table);
        section.ambient = 220.0 + ZERO;
        for face in &mut section.faces {
            (face.line, face.loss) = (None, h);
        }
        section.drive = Drive::Constant([Emission::default(); 2]);
        let mut solver = heated(&section, Resolution::FINE, 160.0);
        let half = 0.5 * thickness;
        let biot = h * half / k;
        for time in [5.0, 20.0, 64.5, 152.9] {
            let fo = k / (1190.0 * 1470.0) * time / (half * half);
            for (place, y) in [(0.0, half), (1.0, 0.0), (1.0, thickness)] {
                let expected = 220.0 - 200.0 * closed::plane_wall(biot, fo, place, 30);
                let found = at(&mut solver, 0.0, y, time);
                assert!((found - expected).abs() < 0.15, "{thickness} m, {time} s, {place}: {found} for {expected}");
            }
            let zeta = closed::eigenvalue(biot, 0);
            let one_term = closed::coefficient(zeta) * libm::exp(-zeta * zeta * fo);
            if fo > 0.5 {
                let found = at(&mut solver, 0.0, half, time);
                assert!((found - (220.0 - 200.0 * one_term)).abs() < 0.5);
            }
        }
    }
}

/// Lumped cooling: a plate that conducts so well that it has one temperature.
#[test]
fn a_thin_metal_plate_cools_as_one_lump() {
    let table = constant(900.0);
    let mut section = even(0.0, 0.4, 0.002, 200.0, 2700.0, &table);
    section.sheet.start = 120.0 + ZERO;
    for face in &mut section.faces {
        (face.line, face.loss) = (None, 10.0);
    }
    let mut solver = heated(&section, Resolution { tolerance: 0.02, ..Resolution::NORMAL }, 300.0);
    for time in [30.0, 120.0, 300.0] {
        let expected = 20.0 + 100.0 * libm::exp(-2.0 * 10.0 * time / (2700.0 * 900.0 * 0.002));
        assert!((at(&mut solver, 0.0, 0.001, time) - expected).abs() < 0.1);
    }
}

/// Line source on a half space: rise `Q' / (2 π k) · E1(r² / 4αt)` (Carslaw and Jaeger, from memory).
#[test]
fn a_narrow_opening_is_a_line_source() {
    let table = constant(1470.0);
    let (k, channel, power) = (0.19, 0.001, 60.0);
    let alpha = k / (1190.0 * 1470.0);
    let section = even(power / channel, channel, 0.03, k, 1190.0, &table);
    let resolution = Resolution { through: 60, pitch: 1e-4, widening: 1.06, tolerance: 0.02 };
    let mut solver = Solver::new();
    solver.heat(&section, resolution, Follow::Until(120.0)).unwrap();
    // E1 by its substitution u = z / s: ∫₀¹ exp(−z / s) / s ds.
    let e1 = |z: f64| {
        let slices = 20_000;
        (0..slices).map(|i| (f64::from(i) + 0.5) / f64::from(slices)).map(|s| libm::exp(-z / s) / s).sum::<f64>()
            / f64::from(slices)
    };
    for (x, y) in [(0.004, 0.0), (0.0, 0.004), (0.003, 0.003)] {
        for time in [60.0, 120.0] {
            let rise = power / (2.0 * PI * k) * e1((x * x + y * y) / (4.0 * alpha * time));
            let found = at(&mut solver, x, y, time) - 20.0;
            assert!((found - rise).abs() < (0.02 * rise).max(0.1), "({x}, {y}) at {time}: {found} for {rise}");
        }
    }
}

/// Temperatures that the convergence tests follow, with all that is non-linear on, and the steps they took.
fn probes(resolution: Resolution) -> (Vec<f64>, usize) {
    let table = acrylic_heat();
    let mut section = even(6000.0, 0.018, 0.003, 0.17, 1190.0, &table);
    section.sheet.emissivity = 0.92;
    for face in &mut section.faces {
        face.loss = 8.0;
    }
    let mut solver = Solver::new();
    solver.heat(&section, resolution, Follow::Until(60.0)).unwrap();
    let places = [(0.0, 0.0), (0.002, 0.0), (0.006, 0.0), (0.0, 0.0015), (0.006, 0.0015), (0.002, 0.003)];
    let values = places.map(|(x, y)| solver.temperature(x, y, 60.0)).to_vec();
    (values, solver.steps())
}

#[test]
fn second_order_in_space() {
    let at = |factor: u16| {
        let finer = f64::from(factor);
        let widening = libm::pow(1.6, 1.0 / finer);
        probes(Resolution { through: 6 * factor, pitch: 0.0015 / finer, widening, tolerance: 0.002 }).0[1]
    };
    let (coarse, middle, fine) = (at(1), at(2), at(4));
    let order = libm::log2((coarse - middle).abs() / (middle - fine).abs());
    assert!((1.7..2.5).contains(&order), "observed order {order}: {coarse} {middle} {fine}");
}

/// The error falls with the square of the number of steps, however the steps are chosen.
#[test]
fn second_order_in_time() {
    let at = |tolerance: f64| probes(Resolution { through: 8, pitch: 1e-3, widening: 1.3, tolerance });
    let (exact, _) = at(1e-6);
    let errors: Vec<(f64, f64)> = [1.0, 0.1, 0.01, 0.001]
        .map(|tolerance| {
            let (values, steps) = at(tolerance);
            let error = values.iter().zip(&exact).map(|(value, exact)| (value - exact).abs()).sum::<f64>();
            (error, steps as f64)
        })
        .to_vec();
    let (first, last) = (errors[0], errors[3]);
    let order = libm::log(first.0 / last.0) / libm::log(last.1 / first.1);
    assert!((1.7..2.8).contains(&order), "observed order {order}: {errors:?}");
}

/// The published slab: 5.8 mm black cast acrylic under 25 kW/m², its back face over the first 75 s.
///
/// Source and boundary conditions: header of `slab_experiment.csv`. The front loses to air of 330 K, which is written as
/// a loss to the back's 300 K and a constant share of flux; the foil and the depth of absorption are left out.
#[test]
fn the_slab_experiment_within_five_kelvin() {
    let text = std::fs::read_to_string("tests/reference/slab_experiment.csv").unwrap();
    let rows: Vec<(f64, f64)> = text
        .lines()
        .filter(|line| !line.starts_with('#') && !line.starts_with("time"))
        .map(|line| line.split_once(',').unwrap())
        .map(|(time, celsius)| (time.parse().unwrap(), celsius.parse().unwrap()))
        .collect();
    let table = acrylic_heat();
    let mut section = even(0.95 * 25_000.0 + 8.6 * 30.0, 0.4, 0.0058, 0.17, 1190.0, &table);
    section.sheet.emissivity = 0.95;
    section.ambient = 300.0;
    section.sheet.start = 24.4 + ZERO;
    section.faces[1].loss = 4.0;
    if let Some(line) = &mut section.faces[0].line {
        (line.opening_loss, line.sink_factor) = (8.6, 1.0);
    }
    let mut solver = heated(&section, Resolution::NORMAL, 80.0);
    let mut worst = 0.0_f64;
    for (time, measured) in rows.into_iter().filter(|(time, _)| *time <= 76.0) {
        worst = worst.max((at(&mut solver, 0.0, 0.0058, time) - measured).abs());
    }
    println!("back face of the slab: within {worst:.2} K over the first 75 s");
    assert!(worst < 5.0, "{worst} K");
}
