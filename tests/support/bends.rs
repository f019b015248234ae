//! Bends with the catalogue's defaults, as the tests and the benchmark need them.
//!
//! Values are those of `tests/reference/materials.toml` and `wires.toml`; bounds that stand nowhere there are common
//! practice without a source.

use withy::physics::Known;
use withy::physics::circuit::Wiring;
use withy::physics::coupling;
use withy::physics::section::Stage;
use withy::physics::table::Table;
use withy::physics::window::{Bend, HeaterLine, Unknown, Unknowns};
use withy::physics::wire::{Alloy, cold_resistance};

/// 0 °C in kelvin.
pub const ZERO: f64 = 273.15;

/// Bounds around a nominal.
pub fn known(nominal: f64, low: f64, high: f64) -> Known {
    Known { nominal, low, high }
}

/// A value known exactly.
pub fn exact(value: f64) -> Known {
    known(value, value, value)
}

/// A value ± a share of it.
pub fn about(nominal: f64, share: f64) -> Known {
    known(nominal, nominal * (1.0 - share), nominal * (1.0 + share))
}

/// A table whose arguments are given in °C.
pub fn celsius_table(points: &[(f64, f64)]) -> Table {
    Table::new(points.iter().map(|(celsius, value)| (celsius + ZERO, *value)).collect()).unwrap()
}

/// Nichrome 80/20 (`wires.toml`, S50), 650 ohm cmil/ft.
pub fn nichrome() -> Alloy {
    let ct = [1.0, 1.01, 1.02, 1.03, 1.04, 1.05, 1.04, 1.04, 1.04, 1.04, 1.05, 1.06, 1.07];
    let heat = [460.0, 460.0, 480.0, 500.0, 520.0, 540.0, 560.0, 600.0, 630.0, 650.0, 670.0, 700.0];
    let hundreds = |values: &[f64]| {
        let celsius = |index: usize| if index == 0 { 20.0 } else { 100.0 * index as f64 };
        let points: Vec<(f64, f64)> = values.iter().enumerate().map(|(i, value)| (celsius(i), *value)).collect();
        celsius_table(&points)
    };
    Alloy {
        resistivity: about(650.0 * 1.662_426_112_52e-9, 0.05),
        resistance_factor: hundreds(&ct),
        specific_heat: hundreds(&heat),
        mean_expansion: celsius_table(&[(250.0, 1.41e-5), (500.0, 1.49e-5), (750.0, 1.6e-5), (1000.0, 1.72e-5)]),
        emissivity: known(0.88, 0.65, 0.9),
        density: known(8300.0, 8300.0, 8410.0),
        max_temperature: 1150.0 + ZERO,
    }
}

/// Specific heat of acrylic (`materials.toml`, S44 and S46).
pub fn acrylic_heat() -> Table {
    celsius_table(&[
        (20.0, 1225.0),
        (25.0, 1254.0),
        (40.0, 1341.0),
        (60.0, 1458.0),
        (80.0, 1574.0),
        (90.0, 1632.0),
        (100.0, 1564.0),
        (105.0, 1594.0),
        (110.0, 1616.0),
        (115.0, 1673.0),
        (120.0, 1751.0),
        (125.0, 1843.0),
        (130.0, 1928.0),
        (140.0, 2001.0),
        (150.0, 2052.0),
        (160.0, 2116.0),
        (170.0, 2230.0),
        (180.0, 2390.0),
    ])
}

/// Twenty inches, m.
pub const LENGTH: f64 = 0.508;

/// The common starting point: 20 in of 20 AWG nichrome at 12 V (6.5 W/in), one face of clear cast acrylic, gap 8 mm,
/// channel 18 mm, room at 22 °C, a right angle over a radius of 6 mm, transfer within 4 s.
pub fn starting_point<'a>(alloy: &'a Alloy, heat: &'a Table, thickness: Known) -> Bend<'a> {
    let diameter = 0.811_82e-3;
    let mut unknowns = Unknowns::defaults();
    for (unknown, known) in [
        (Unknown::Resistance, about(1.0, 0.05)),
        (Unknown::WireEmissivity, alloy.emissivity),
        (Unknown::Gap, about(0.008, 0.06)),
        (Unknown::SecondGap, about(0.008, 0.06)),
        (Unknown::Channel, about(0.018, 0.03)),
        (Unknown::Conductivity, known(0.17, 0.15, 0.19)),
        (Unknown::SpecificHeat, about(1.0, 0.03)),
        (Unknown::Density, known(1190.0, 1150.0, 1210.0)),
        (Unknown::Emissivity, known(0.92, 0.85, 0.96)),
        (Unknown::Softened, known(110.0 + ZERO, 100.0 + ZERO, 116.0 + ZERO)),
        (Unknown::Forming, known(150.0 + ZERO, 143.0 + ZERO, 155.0 + ZERO)),
        (Unknown::Ceiling, known(200.0 + ZERO, 195.0 + ZERO, 205.0 + ZERO)),
        (Unknown::Release, known(80.0 + ZERO, 70.0 + ZERO, 85.0 + ZERO)),
        (Unknown::Thickness, thickness),
        (Unknown::Ambient, known(22.0 + ZERO, 18.0 + ZERO, 27.0 + ZERO)),
        (Unknown::Voltage, about(12.0, 0.01)),
        (Unknown::Transfer, known(3.0, 2.0, 4.0)),
    ] {
        unknowns.set(unknown, known);
    }
    let mut bend = Bend {
        first: HeaterLine {
            alloy,
            diameter,
            length: LENGTH,
            resistance: cold_resistance(alloy.resistivity.nominal, LENGTH, diameter),
            above: false,
        },
        second: None,
        wiring: Wiring::Parallel,
        leads: 0.0,
        shield_capacity: Some(90.0),
        specific_heat: heat,
        setting_radiates: [true, true],
        angle: std::f64::consts::FRAC_PI_2,
        radius: 0.006,
        neutral: 0.5,
        void: 220.0 + ZERO,
        stages: vec![Stage { level: 1.0, duration: 0.0 }],
        part_power: true,
        horizon: 900.0,
        unknowns,
    };
    let rise = bend.warm_up_rise(180.0).unwrap();
    bend.unknowns.set(Unknown::ShieldRise, known(rise, 0.7 * rise, 1.2 * rise));
    bend
}

/// The same with a heater calibrated to ± 4 %, the lot measured and the room, voltage and stop steady.
pub fn calibrated<'a>(alloy: &'a Alloy, heat: &'a Table, thickness: f64) -> Bend<'a> {
    let mut bend = starting_point(alloy, heat, known(thickness, thickness - 3e-5, thickness + 3e-5));
    bend.unknowns.calibrate(about(1.0, 0.03));
    bend.unknowns.set(Unknown::Ambient, known(22.0 + ZERO, 20.0 + ZERO, 24.0 + ZERO));
    bend
}

/// A second line like the first above the sheet.
pub fn both_faces(bend: &mut Bend<'_>) {
    bend.second = Some(HeaterLine { above: true, ..bend.first });
    bend.unknowns.set(Unknown::SecondFace, coupling::HEATED_FACE);
}
