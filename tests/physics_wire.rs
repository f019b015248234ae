//! The wire against the published tables of `wires.toml`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/bends.rs"]
#[expect(dead_code, reason = "shared with the tests of the window")]
mod bends;
#[path = "support/closed.rs"]
#[expect(dead_code, reason = "shared with the check values")]
mod closed;

use bends::{ZERO, about, celsius_table, exact, nichrome};
use toml::{Table, Value};
use withy::physics::circuit::{Circuit, Wiring};
use withy::physics::tension::{growth, sag, spring_force_hot};
use withy::physics::wire::{Alloy, REFERENCE, Wire, cold_resistance};
use withy::units::Gauge;

/// The tables' share of disagreement that the design allows.
const TABLE: f64 = 0.12;

fn gauge_diameter(number: i64) -> f64 {
    Gauge::parse(&number.to_string()).unwrap().diameter()
}

fn wires() -> Table {
    std::fs::read_to_string("tests/reference/wires.toml").unwrap().parse().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    let number = |v: &Value| v.as_float().or_else(|| v.as_integer().map(|whole| whole as f64)).unwrap();
    value.as_array().unwrap().iter().map(number).collect()
}

/// Iron-chromium-aluminium by `wires.toml` (S53, S54, S66).
fn iron_alloy() -> Alloy {
    let ct = [1.0, 1.002, 1.005, 1.008, 1.013, 1.021, 1.03, 1.038, 1.04, 1.042, 1.044, 1.046, 1.047];
    let celsius = [20.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0, 700.0, 800.0, 900.0, 1000.0, 1100.0, 1200.0];
    let points: Vec<(f64, f64)> = celsius.into_iter().zip(ct).collect();
    Alloy {
        resistivity: about(1.35e-6, 0.05),
        resistance_factor: celsius_table(&points),
        specific_heat: celsius_table(&[(20.0, 460.0)]),
        mean_expansion: celsius_table(&[(1000.0, 1.5e-5)]),
        emissivity: exact(0.7),
        density: exact(7250.0),
        max_temperature: 1170.0 + ZERO,
    }
}

/// Compares one published table; returns the ratios of all its figures.
fn ratios(alloy: &Alloy, table: &Table, gauges: std::ops::RangeInclusive<i32>, coldest: f64) -> Vec<(String, f64)> {
    let temperatures = numbers(&table["T"]);
    let mut all = Vec::new();
    for gauge in gauges {
        let diameter = gauge_diameter(i64::from(gauge));
        let resistance = cold_resistance(alloy.resistivity.nominal, 1.0, diameter);
        let emissivity = alloy.emissivity.nominal;
        let wire = Wire { alloy, diameter, length: 1.0, resistance, emissivity };
        for (celsius, printed) in temperatures.iter().zip(numbers(&table[&format!("awg{gauge}")])) {
            let current = wire.current_at_temperature(celsius + ZERO, REFERENCE);
            if *celsius >= coldest {
                all.push((format!("{gauge} AWG at {celsius}"), current / printed));
            }
        }
    }
    all
}

/// Source S51 and S52: straight horizontal nickel-chromium wire in free air.
#[test]
fn currents_of_nickel_chromium_agree_with_the_published_table() {
    let wires = wires();
    let table = wires["current_table"]["nicr"].as_table().unwrap();
    let all = ratios(&nichrome(), table, 20..=30, 0.0);
    let far: Vec<_> = all.iter().filter(|(_, ratio)| (ratio - 1.0).abs() > TABLE).collect();
    assert!(far.is_empty(), "{far:?}");
    // The slope: the ratio drifts by no more than the tolerance from the coldest to the hottest of one gauge.
    for gauge in all.chunks(10) {
        let (first, last) = (gauge[0].1, gauge[9].1);
        assert!((last / first - 1.0).abs() < TABLE, "{gauge:?}");
    }
}

/// The figures that the reference data computed with Morgan and radiation, emissivity 0.88, air at 20 °C.
#[test]
fn currents_agree_with_the_reference_model() {
    let wires = wires();
    let table = wires["model_table"]["nicr80"].as_table().unwrap();
    for (place, ratio) in ratios(&nichrome(), table, 16..=30, 0.0) {
        assert!((ratio - 1.0).abs() < 0.02, "{place}: {ratio}");
    }
}

/// Twenty inches at 12 V (`sanity_20in_12V`): 20 AWG gives about 6.5 W/in and 10.8 to 10.9 A.
#[test]
fn twenty_inches_at_twelve_volts() {
    let alloy = nichrome();
    let wires = wires();
    for row in wires["sanity_20in_12V"]["gauge"].as_array().unwrap() {
        let get = |name: &str| row[name].as_float().or_else(|| row[name].as_integer().map(|n| n as f64)).unwrap();
        let diameter = gauge_diameter(row["awg"].as_integer().unwrap());
        let resistance = cold_resistance(alloy.resistivity.nominal, 0.508, diameter);
        assert!((resistance / get("R20_ohm") - 1.0).abs() < 1e-3, "{row}");
        let wire = Wire { alloy: &alloy, diameter, length: 0.508, resistance, emissivity: 0.88 };
        let circuit = Circuit { volts: 12.0, leads: 0.0, wiring: Wiring::Series };
        let steady = circuit.steady(&[wire], 1.0, REFERENCE).unwrap();
        assert!((steady.temperatures[0] - ZERO - get("T_C")).abs() < 15.0, "{row}: {steady:?}");
        assert!((steady.electric.current / get("I_A") - 1.0).abs() < 0.005, "{row}: {steady:?}");
        if row["awg"].as_integer() == Some(20) {
            // Common practice, no source: what a 20 in line of this size is known to draw.
            let per_inch = steady.electric.powers[0] / 20.0;
            assert!((6.45..6.55).contains(&per_inch), "{per_inch} W/in");
            assert!((10.8..10.9).contains(&steady.electric.current), "{steady:?}");
        }
        let surface = wire.surface_power(steady.electric.powers[0] / 0.508) * 1e-4;
        assert!((surface / get("surface_load_W_per_cm2") - 1.0).abs() < 0.01, "{row}: {surface}");
    }
}

/// Common practice, no source: the same line met with draws up to 15 A has 9 W/in, by a thicker or shorter wire.
#[test]
fn fifteen_amperes_at_twelve_volts_are_nine_watts_an_inch() {
    let alloy = nichrome();
    // Thicker until it draws 15 A hot; the diameter is between those of 18 and 20 AWG.
    let at = |diameter: f64| {
        let resistance = cold_resistance(alloy.resistivity.nominal, 0.508, diameter);
        let wire = Wire { alloy: &alloy, diameter, length: 0.508, resistance, emissivity: 0.88 };
        Circuit { volts: 12.0, leads: 0.0, wiring: Wiring::Series }.steady(&[wire], 1.0, REFERENCE).unwrap()
    };
    let (mut low, mut high) = (gauge_diameter(20), gauge_diameter(18));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if at(middle).electric.current < 15.0 { low = middle } else { high = middle }
    }
    let steady = at(low);
    assert!((steady.electric.current - 15.0).abs() < 1e-6, "{steady:?}");
    assert!((steady.electric.powers[0] / 20.0 - 9.0).abs() < 1e-6, "{steady:?}");
    assert!(steady.temperatures[0] < alloy.max_temperature);
}

/// Growth of the line that 12 V heat, between the rows of `checks.toml` for 600 and 800 °C (S50, published mean
/// coefficients). The half inch (12.7 mm) that is told of such a line has no source and is twice what they give.
#[test]
fn the_hot_line_grows_by_what_its_temperature_gives() {
    let checks: Table = std::fs::read_to_string("tests/reference/checks.toml").unwrap().parse().unwrap();
    let row = |id: &str| {
        let all = checks["check"].as_array().unwrap();
        let case = all.iter().find(|case| case["id"].as_str() == Some(id)).unwrap();
        1e-3 * case["expected"]["nicr80_maker_mm"].as_float().unwrap()
    };
    let alloy = nichrome();
    let diameter = gauge_diameter(20);
    let resistance = cold_resistance(alloy.resistivity.nominal, 0.508, diameter);
    let wire = Wire { alloy: &alloy, diameter, length: 0.508, resistance, emissivity: 0.88 };
    let circuit = Circuit { volts: 12.0, leads: 0.0, wiring: Wiring::Series };
    let hot = circuit.steady(&[wire], 1.0, REFERENCE).unwrap().temperatures[0];
    let share = (hot - ZERO - 600.0) / 200.0;
    let expected = row("bench.growth.600") + share * (row("bench.growth.800") - row("bench.growth.600"));
    let computed = growth(&alloy, 0.508, hot);
    assert!((0.0..1.0).contains(&share) && (computed / expected - 1.0).abs() < 0.01, "{computed} m, {expected} m");
    assert!(computed < 0.5 * 0.0127);
}

/// A handbook's table (S62) by wire gauge: currents for a rise of 500 and 1000 K.
#[test]
fn currents_by_rise_agree_with_the_handbook() {
    let wires = wires();
    let table = wires["current_table"]["nicr_swg"].as_table().unwrap();
    let alloy = nichrome();
    let column = |name: &str| numbers(&table[name]);
    let rows = column("d_mm").into_iter().zip(column("ohm_per_m"));
    for ((diameter, resistance), printed) in rows.zip(column("rise500_A").into_iter().zip(column("rise1000_A"))) {
        let wire = Wire { alloy: &alloy, diameter: 1e-3 * diameter, length: 1.0, resistance, emissivity: 0.88 };
        for (rise, printed) in [(500.0, printed.0), (1000.0, printed.1)] {
            let ratio = wire.current_at_temperature(REFERENCE + rise, REFERENCE) / printed;
            assert!((ratio - 1.0).abs() < TABLE, "{diameter} mm, {rise} K: {ratio}");
        }
    }
}

/// The maker's table for iron-chromium-aluminium (S53) is not met, and cannot be: at one diameter and temperature it
/// has the wire lose up to twice what the nickel-chromium table (S51) has it lose, though neither alloy enters the loss.
/// It was measured in other surroundings that it does not name. What is left is that the loss is underestimated there.
#[test]
fn the_table_of_iron_chromium_aluminium_contradicts_the_other() {
    let wires = wires();
    let iron = wires["current_table"]["fecral815"].as_table().unwrap();
    let nickel = wires["current_table"]["nicr"].as_table().unwrap();
    let loss = |alloy: &Alloy, table: &Table, celsius: f64| {
        let place = numbers(&table["T"]).iter().position(|t| (t - celsius).abs() < 0.5).unwrap();
        let current = numbers(&table["awg24"])[place];
        let resistance = cold_resistance(alloy.resistivity.nominal, 1.0, gauge_diameter(24));
        current * current * resistance * alloy.resistance_factor.at(celsius + ZERO)
    };
    assert!(loss(&iron_alloy(), iron, 600.0) > 1.7 * loss(&nichrome(), nickel, 600.0));
    let ratios = ratios(&iron_alloy(), iron, 24..=30, 300.0);
    assert!(ratios.iter().all(|(_, ratio)| (0.68..1.0).contains(ratio)), "{ratios:?}");
}

#[test]
fn a_wire_settles_within_seconds_and_its_steady_states_agree() {
    let alloy = nichrome();
    let diameter = gauge_diameter(20);
    let resistance = cold_resistance(alloy.resistivity.nominal, 0.508, diameter);
    let wire = Wire { alloy: &alloy, diameter, length: 0.508, resistance, emissivity: 0.88 };
    let circuit = Circuit { volts: 12.0, leads: 0.0, wiring: Wiring::Series };
    let steady = circuit.steady(&[wire], 1.0, REFERENCE).unwrap();
    let hot = steady.temperatures[0];
    assert!((2.0..8.0).contains(&wire.time_constant(hot, REFERENCE)));
    let by_current = wire.temperature_at_current(steady.electric.current, REFERENCE).unwrap();
    assert!((by_current - hot).abs() < 1e-3);
    let power = steady.electric.powers[0] / 0.508;
    let after = |time: f64| wire.temperature_after(power, REFERENCE, time, REFERENCE).unwrap();
    assert!((after(120.0) - hot).abs() < 0.1);
    let tau = wire.time_constant(hot, REFERENCE);
    // Near its end the approach is the exponential of the time constant.
    let left = |time: f64| hot - after(time);
    let observed = 4.0 / libm::log(left(16.0) / left(20.0));
    assert!((observed / tau - 1.0).abs() < 0.05, "{observed} for {tau}");
    // Hot, the wire is longer, its spring slacker, and a taut wire hardly sags.
    let longer = growth(&alloy, 0.508, hot);
    assert!((0.0055..0.0065).contains(&longer));
    let force = spring_force_hot(6.0, 400.0, longer);
    assert!((3.0..4.0).contains(&force));
    assert!(sag(&alloy, 0.508, diameter, force) < 0.0005);
}

#[test]
fn two_lines_share_a_supply_as_they_are_wired() {
    let alloy = nichrome();
    let diameter = gauge_diameter(20);
    let resistance = cold_resistance(alloy.resistivity.nominal, 0.508, diameter);
    let wire = Wire { alloy: &alloy, diameter, length: 0.508, resistance, emissivity: 0.88 };
    let of = |wiring: Wiring, volts: f64| {
        Circuit { volts, leads: 0.0, wiring }.steady(&[wire, wire], 1.0, REFERENCE).unwrap()
    };
    let (parallel, series) = (of(Wiring::Parallel, 12.0), of(Wiring::Series, 24.0));
    assert!((parallel.temperatures[0] - series.temperatures[1]).abs() < 1e-6);
    assert!((parallel.electric.current - 2.0 * series.electric.current).abs() < 1e-6);
    let melted = Circuit { volts: 60.0, leads: 0.0, wiring: Wiring::Series }.steady(&[wire], 1.0, REFERENCE);
    assert_eq!(melted, Err(withy::physics::Fault::WireMelts));
}

/// Still air alone, by the closed form of a cylinder before a plane, would carry less from the wire to a cold sheet 8 mm
/// off than free convection carries, and not by orders of magnitude: the plume's heat is of the right size.
#[test]
fn the_plume_carries_more_than_still_air() {
    let (diameter, hot) = (gauge_diameter(20), 750.0 + ZERO);
    let air = withy::physics::air::Air::at(0.5 * (hot + REFERENCE));
    let still = closed::cylinder_to_plane(0.008, diameter) * air.conductivity * (hot - REFERENCE);
    let moving = withy::physics::wire::convection(diameter, hot, REFERENCE);
    assert!((1.0..4.0).contains(&(moving / still)), "{moving} W/m against {still} W/m");
}
