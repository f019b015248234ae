//! The check values of `checks.toml` that concern the physics, each group with every shape of input it comes in.
//!
//! Each case carries its own source in the file. Rows that are none of this code (the sheet-metal rule of DIN 6935, the
//! closed forms themselves) are checked against the tests' own arithmetic, which the solver is then compared with.
//! Kept-aside cases come through `WITHY_CHECKS`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "support/bends.rs"]
#[expect(dead_code, reason = "shared with the tests of the window")]
mod bends;
#[path = "support/closed.rs"]
#[expect(dead_code, reason = "shared with the tests of the wire")]
mod closed;

use std::collections::BTreeMap;
use std::f64::consts::PI;

use bends::{ZERO, acrylic_heat, nichrome};
use toml::{Table, Value};
use withy::model::CONTINUOUS;
use withy::physics::circuit::{Circuit, Wiring};
use withy::physics::coupling::Coupling;
use withy::physics::supply::{continuous_limit, lead_drop};
use withy::physics::tension::{growth, slack_sag};
use withy::physics::wire::{REFERENCE, Wire, area, cold_resistance, lead_resistance, nusselt_morgan, radiation};
use withy::units::Gauge;

/// The groups checked here; `bend` is checked through the language, in `bend_checks.rs`, and units in `units_checks.rs`.
const GROUPS: [&str; 12] =
    ["slab", "semi", "erfc", "cyl", "rad", "line", "pmma", "awg", "wire", "bench", "cu", "supply"];

/// Resistivity of annealed copper at 20 °C, ohm m (S75: 100 % IACS).
const COPPER: f64 = 1.7241e-8;

/// Temperature coefficient of copper's resistance, 1/K (S76b).
const COPPER_COEFFICIENT: f64 = 0.003_93;

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const OHM_CMIL_PER_FOOT: f64 = 1.662_426_112_52e-9;

/// Inputs of one case.
struct Inputs<'a>(&'a Table);

impl Inputs<'_> {
    fn number(&self, name: &str) -> f64 {
        number(&self.0[name])
    }

    fn list(&self, name: &str) -> Vec<f64> {
        self.0[name].as_array().unwrap().iter().map(number).collect()
    }

    fn gauge(&self) -> f64 {
        Gauge::parse(&self.0["awg"].to_string()).unwrap().diameter()
    }
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).unwrap()
}

/// What a case's inputs lead to; `None` for a shape that nobody knows.
type Answer = Option<Vec<(&'static str, Vec<f64>)>>;

#[expect(clippy::unnecessary_wraps, reason = "it stands beside a shape that nobody knows")]
fn one(pairs: &[(&'static str, f64)]) -> Answer {
    Some(pairs.iter().map(|(name, value)| (*name, vec![*value])).collect())
}

fn slab(shape: &str, i: &Inputs<'_>) -> Answer {
    match shape {
        "Bi" => {
            let zeta = closed::eigenvalue(i.number("Bi"), 0);
            one(&[("zeta1", zeta), ("C1", closed::coefficient(zeta))])
        }
        "D L Ti Tinf alpha cp h k rho t" => {
            let (h, k, length) = (i.number("h"), i.number("k"), i.number("L"));
            let (biot, fo) = (h * length / k, i.number("alpha") * i.number("t") / (length * length));
            let zeta = closed::eigenvalue(biot, 0);
            let centre = closed::coefficient(zeta) * libm::exp(-zeta * zeta * fo);
            let (start, outside) = (i.number("Ti"), i.number("Tinf"));
            let at = |share: f64| outside + (start - outside) * share;
            let lost = 1.0 - libm::sin(zeta) / zeta * centre;
            let full = i.number("rho") * i.number("cp") * PI * i.number("D") * length * (start - outside);
            one(&[
                ("Bi", biot),
                ("Fo", fo),
                ("T_insulated_C", at(centre)),
                ("q_W_m2", h * (at(centre * libm::cos(zeta)) - outside)),
                ("Q_J_per_m", full * lost),
            ])
        }
        "Ti Tinf alpha h k t thickness" => {
            let half = 0.5 * i.number("thickness");
            let (biot, fo) = (i.number("h") * half / i.number("k"), i.number("alpha") * i.number("t") / (half * half));
            let share = closed::plane_wall(biot, fo, 1.0, 20);
            one(&[("T_surface_C", i.number("Tinf") + (i.number("Ti") - i.number("Tinf")) * share)])
        }
        "L T0 cp k q rho t" => {
            let (k, length) = (i.number("k"), i.number("L"));
            let fo = k / (i.number("rho") * i.number("cp")) * i.number("t") / (length * length);
            let at = |place: f64| i.number("T0") + i.number("q") * length / k * closed::wall_under_flux(fo, place);
            one(&[("T_face_C", at(1.0)), ("T_mid_C", at(0.5)), ("T_back_C", at(0.0))])
        }
        "T_centre Ti Tinf cp h k rho thickness" => {
            let (half, k) = (0.5 * i.number("thickness"), i.number("k"));
            let biot = i.number("h") * half / k;
            let zeta = closed::eigenvalue(biot, 0);
            let (start, outside) = (i.number("Ti"), i.number("Tinf"));
            let share = (i.number("T_centre") - outside) / (start - outside);
            let fo = libm::log(closed::coefficient(zeta) / share) / (zeta * zeta);
            let time = fo * half * half * i.number("rho") * i.number("cp") / k;
            let surface = outside + (start - outside) * share * libm::cos(zeta);
            one(&[
                ("Bi", biot),
                ("zeta1", zeta),
                ("C1", closed::coefficient(zeta)),
                ("t_s", time),
                ("T_surface_C", surface),
            ])
        }
        _ => None,
    }
}

fn semi(shape: &str, i: &Inputs<'_>) -> Answer {
    match shape {
        "Ti alpha k q t x" => {
            let rise = closed::semi_flux(i.number("q"), i.number("k"), i.number("alpha"), i.number("x"), i.number("t"));
            one(&[("T_C", i.number("Ti") + rise)])
        }
        "Q Ti alpha cp rho t" => {
            let (alpha, t) = (i.number("alpha"), i.number("t"));
            let peak = i.number("Q") / (i.number("rho") * i.number("cp") * (PI * alpha * t).sqrt());
            let at = |x: f64| i.number("Ti") + peak * libm::exp(-x * x / (4.0 * alpha * t));
            one(&[("T_x0_C", at(0.0)), ("T_x2mm_C", at(0.002))])
        }
        "Ti_K Ts_K alpha t x" => {
            let share = libm::erf(i.number("x") / (2.0 * (i.number("alpha") * i.number("t")).sqrt()));
            one(&[("T_K", i.number("Ts_K") + (i.number("Ti_K") - i.number("Ts_K")) * share)])
        }
        "Ti alpha b k q t x" => {
            let (b, k, x) = (i.number("b"), i.number("k"), i.number("x"));
            let rise = closed::semi_flux(i.number("q") + k * b, k, i.number("alpha"), x, i.number("t"));
            one(&[("T", i.number("Ti") + b * x + rise)])
        }
        "T_body T_burn T_flame alpha h k" => {
            let theta = (i.number("T_flame") - i.number("T_burn")) / (i.number("T_flame") - i.number("T_body"));
            // At the surface Θ = exp(β²) erfc(β), β = h √(α t) / k.
            let (mut low, mut high) = (0.0, 20.0);
            for _ in 0..100 {
                let beta = 0.5 * (low + high);
                if libm::exp(beta * beta) * libm::erfc(beta) > theta { low = beta } else { high = beta }
            }
            let time = libm::pow(low * i.number("k") / i.number("h"), 2.0) / i.number("alpha");
            one(&[("Theta", theta), ("t_s", time)])
        }
        _ => None,
    }
}

fn cylinder(shape: &str, i: &Inputs<'_>) -> Answer {
    const GRAVITY: f64 = 9.81;
    match shape {
        "D Pr Tinf Ts alpha beta eps k nu" => {
            let (d, rise) = (i.number("D"), i.number("Ts") - i.number("Tinf"));
            let rayleigh = GRAVITY * i.number("beta") * rise * d * d * d / (i.number("nu") * i.number("alpha"));
            let h = closed::churchill_chu(rayleigh, i.number("Pr")) * i.number("k") / d;
            let radiated = radiation(d, i.number("eps"), i.number("Ts") + ZERO, i.number("Tinf") + ZERO);
            one(&[("q_W_m", PI * d * h * rise + radiated)])
        }
        "D Ra_factor dT k" => {
            let (d, rise) = (i.number("D"), i.number("dT"));
            let rayleigh = i.number("Ra_factor") * rise * d * d * d;
            one(&[("q_W_m", PI * i.number("k") * 0.53 * libm::pow(rayleigh, 0.25) * rise)])
        }
        "D L Pr Tinf Ts k nu" => {
            let (d, rise) = (i.number("D"), i.number("Ts") - i.number("Tinf"));
            let film = 0.5 * (i.number("Ts") + i.number("Tinf")) + 273.0;
            let grashof = GRAVITY * rise / film * d * d * d / (i.number("nu") * i.number("nu"));
            let rayleigh = grashof * i.number("Pr");
            // The source's small-Ra correlation is Morgan's first band, so this is the code under test.
            let nusselt = nusselt_morgan(rayleigh);
            let h = nusselt * i.number("k") / d;
            one(&[("Ra", rayleigh), ("Nu", nusselt), ("h", h), ("q_W", PI * d * i.number("L") * h * rise)])
        }
        "D Pr Tinf Ts k nu" => {
            let (d, rise) = (i.number("D"), i.number("Ts") - i.number("Tinf"));
            let film = 0.5 * (i.number("Ts") + i.number("Tinf")) + ZERO;
            let rayleigh = GRAVITY * rise / film * d * d * d / (i.number("nu") * i.number("nu")) * i.number("Pr");
            let nusselt = 0.53 * libm::pow(rayleigh, 0.25);
            let h = nusselt * i.number("k") / d;
            one(&[("Nu", nusselt), ("h", h), ("q_kW_m", 1e-3 * PI * d * h * rise)])
        }
        "Gr Pr" => one(&[("Nu", closed::churchill_chu(i.number("Gr") * i.number("Pr"), i.number("Pr")))]),
        _ => None,
    }
}

fn radiative(shape: &str, i: &Inputs<'_>) -> Answer {
    let fourth = |celsius: f64, zero: f64| libm::pow(celsius + zero, 4.0);
    match shape {
        "A F T1 T2 sigma" => {
            let difference = fourth(i.number("T1"), 273.0) - fourth(i.number("T2"), 273.0);
            one(&[("q_kW", 1e-3 * i.number("sigma") * i.number("A") * i.number("F") * difference)])
        }
        "Tinf Ts eps" => {
            let per_metre = radiation(1.0, i.number("eps"), i.number("Ts") + ZERO, i.number("Tinf") + ZERO);
            one(&[("q_W_m2", per_metre / PI)])
        }
        "T1 T2 eps1 eps2" => {
            let grey = 1.0 / (1.0 / i.number("eps1") + 1.0 / i.number("eps2") - 1.0);
            one(&[("q_W_m2", radiation(1.0, grey, i.number("T1") + ZERO, i.number("T2") + ZERO) / PI)])
        }
        _ => None,
    }
}

fn line(shape: &str, i: &Inputs<'_>) -> Answer {
    let bare = |channel: f64| Coupling {
        kappa: 1.0,
        absorptance: 1.0,
        reflectance: 0.0,
        plume_share: 0.0,
        plume_peak: 0.0,
        gap: 1e-3 * i.number("H_mm"),
        channel,
    };
    match shape {
        "H_mm w_mm" => one(&[("F", bare(1e-3 * i.number("w_mm")).direct())]),
        "H_mm P_W_m" => {
            let (power, coupling) = (i.number("P_W_m"), bare(1.0));
            let at = |x: f64| power * coupling.share_at(x).radiated;
            one(&[("E0", at(0.0)), ("E_xH", at(coupling.gap))])
        }
        "H_mm" => one(&[("F", bare(1e6).direct())]),
        _ => None,
    }
}

fn wire_group(shape: &str, i: &Inputs<'_>) -> Answer {
    match shape {
        "awg ohm_cmil_ft" => {
            let resistivity = i.number("ohm_cmil_ft") * OHM_CMIL_PER_FOOT;
            one(&[("ohm_ft", cold_resistance(resistivity, FOOT, i.gauge()))])
        }
        "awg" => {
            let resistivity = nichrome().resistivity;
            let at = |value: f64| cold_resistance(value, FOOT, i.gauge());
            one(&[("min", at(resistivity.low)), ("nom", at(resistivity.nominal)), ("max", at(resistivity.high))])
        }
        "P V ohm_m" => {
            let resistance = i.number("V") * i.number("V") / i.number("P");
            let electric = Circuit { volts: i.number("V"), leads: 0.0, wiring: Wiring::Series }.solve(resistance, None);
            one(&[("I", electric.current), ("R", resistance), ("L_m", resistance / i.number("ohm_m"))])
        }
        "T awg" => {
            let (alloy, diameter) = (nichrome(), i.gauge());
            let resistance = cold_resistance(alloy.resistivity.nominal, 1.0, diameter);
            let wire = Wire { alloy: &alloy, diameter, length: 1.0, resistance, emissivity: 0.88 };
            let current = |celsius: f64| wire.current_at_temperature(celsius + ZERO, REFERENCE);
            Some(vec![("I", i.list("T").into_iter().map(current).collect())])
        }
        _ => None,
    }
}

fn bench(shape: &str, i: &Inputs<'_>) -> Answer {
    match shape {
        "L_in V W_in" => {
            let power = i.number("W_in") * i.number("L_in");
            let resistance = i.number("V") * i.number("V") / power;
            let electric = Circuit { volts: i.number("V"), leads: 0.0, wiring: Wiring::Series }.solve(resistance, None);
            let metres = i.number("L_in") * INCH;
            one(&[
                ("P", electric.powers[0]),
                ("I", electric.current),
                ("R_hot", resistance),
                ("W_m", electric.powers[0] / metres),
            ])
        }
        "I L_in V" => {
            let power = i.number("V") * i.number("I");
            let length = i.number("L_in");
            one(&[
                ("P", power),
                ("W_in", power / length),
                ("R", i.number("V") / i.number("I")),
                ("W_m", power / (length * INCH)),
            ])
        }
        "I L_in R" => {
            let volts = i.number("I") * i.number("R");
            let electric = Circuit { volts, leads: 0.0, wiring: Wiring::Series }.solve(i.number("R"), None);
            let power = electric.powers[0];
            one(&[("P", power), ("W_in", power / i.number("L_in")), ("V_needed", volts)])
        }
        "L_mm T" => {
            let (length, celsius) = (i.number("L_mm"), i.number("T"));
            let by = |mean: f64| length * mean * (celsius - 20.0);
            one(&[
                ("nicr80_maker_mm", growth(&nichrome(), length, celsius + ZERO)),
                ("nicr_18e6_mm", by(18e-6)),
                ("nicr_14e6_mm", by(14e-6)),
            ])
        }
        "L_mm dL_mm" => one(&[("sag_mm", slack_sag(i.number("L_mm"), i.number("dL_mm")))]),
        _ => None,
    }
}

fn copper(shape: &str, i: &Inputs<'_>) -> Answer {
    // The function gives leads out and back, so half the loop goes in.
    let loop_of =
        |metres: f64, section: f64| lead_resistance(COPPER, 0.5 * metres, section, COPPER_COEFFICIENT, REFERENCE);
    match shape {
        "awg" => one(&[("ohm_km", loop_of(1000.0, area(i.gauge())))]),
        "I awg loop_m" => one(&[("dV", lead_drop(i.number("I"), loop_of(i.number("loop_m"), area(i.gauge()))))]),
        "I loop_m ohm_km" => one(&[("dV", lead_drop(i.number("I"), 1e-3 * i.number("ohm_km") * i.number("loop_m")))]),
        _ => None,
    }
}

fn answer(group: &str, shape: &str, i: &Inputs<'_>) -> Answer {
    match (group, shape) {
        ("slab", _) => slab(shape, i),
        ("semi", _) => semi(shape, i),
        ("erfc", "x") => one(&[("erfc", libm::erfc(i.number("x"))), ("ierfc", closed::ierfc(i.number("x")))]),
        ("cyl", _) => cylinder(shape, i),
        ("rad", _) => radiative(shape, i),
        ("line", _) => line(shape, i),
        ("pmma", "T") => {
            let table = acrylic_heat();
            Some(vec![("cp", i.list("T").into_iter().map(|celsius| table.at(celsius + ZERO)).collect())])
        }
        ("pmma", "T1 T2") => {
            let (from, to) = (i.number("T1"), i.number("T2"));
            let rise = acrylic_heat().integral(from + ZERO, to + ZERO);
            one(&[("dh_kJ_kg", 1e-3 * rise), ("mean_cp", rise / (to - from))])
        }
        ("awg", "awg") => one(&[("d_mm", 1e3 * i.gauge())]),
        ("wire", _) => wire_group(shape, i),
        ("bench", _) => bench(shape, i),
        ("cu", _) => copper(shape, i),
        ("supply", "rating_A") => {
            one(&[("max_continuous_A", continuous_limit(i.number("rating_A"), CONTINUOUS).unwrap())])
        }
        _ => None,
    }
}

/// How far a figure may lie from an expected one; `abs_T` is for temperatures only.
fn allowed(tolerance: &Table, name: &str, expected: f64) -> f64 {
    let of = |key: &str| tolerance.get(key).map(number);
    if let Some(abs) = of("abs_T").filter(|_| name.starts_with("T_")) {
        return abs;
    }
    let relative = of("rel").map(|rel| rel * expected.abs());
    of("abs").or(relative).unwrap_or_else(|| panic!("no tolerance known in {tolerance:?}"))
}

fn check(case: &Table, faults: &mut Vec<String>) {
    let id = case["id"].as_str().unwrap();
    let group = case["group"].as_str().unwrap();
    let inputs = case["inputs"].as_table().unwrap();
    let mut names: Vec<&str> = inputs.keys().map(String::as_str).collect();
    names.sort_unstable();
    let shape = names.join(" ");
    let Some(found) = answer(group, &shape, &Inputs(inputs)) else {
        faults.push(format!("{id}: group {group} has inputs of a shape nobody knows: {shape}"));
        return;
    };
    let found: BTreeMap<&str, Vec<f64>> = found.into_iter().collect();
    let tolerance = case["tolerance"].as_table().unwrap();
    for (name, expected) in case["expected"].as_table().unwrap() {
        let expected: Vec<f64> = match expected {
            Value::Array(list) => list.iter().map(number).collect(),
            single => vec![number(single)],
        };
        let Some(found) = found.get(name.as_str()) else {
            faults.push(format!("{id}: nobody computes {name} from {shape}"));
            continue;
        };
        assert_eq!(found.len(), expected.len(), "{id} {name}");
        for (found, expected) in found.iter().zip(expected) {
            // Written so that a figure that is no number is a fault.
            let close = (found - expected).abs() <= allowed(tolerance, name, expected);
            if !close {
                faults.push(format!("{id} {name}: {found} instead of {expected}"));
            }
        }
    }
}

#[test]
fn check_values() {
    let mut files = vec!["tests/reference/checks.toml".to_owned()];
    files.extend(std::env::var("WITHY_CHECKS"));
    let mut faults = Vec::new();
    for path in files {
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
        let all: Table = text.parse().unwrap_or_else(|error| panic!("{path}: {error}"));
        let mut seen = 0;
        for case in all["check"].as_array().unwrap() {
            let case = case.as_table().unwrap();
            if GROUPS.contains(&case["group"].as_str().unwrap()) {
                seen += 1;
                check(case, &mut faults);
            }
        }
        assert!(seen > 0, "{path} has no case of the groups checked here");
    }
    assert!(faults.is_empty(), "{faults:#?}");
}

/// A shape that nobody knows must not pass in silence.
#[test]
fn an_unknown_shape_is_a_fault_that_names_it() {
    let case: Table =
        "id = \"x\"\ngroup = \"cu\"\ninputs = { furlongs = 1.0 }\nexpected = { dV = 1.0 }\ntolerance = { abs = 1.0 }"
            .parse()
            .unwrap();
    let mut faults = Vec::new();
    check(&case, &mut faults);
    assert!(faults[0].contains("furlongs"), "{faults:?}");
}
