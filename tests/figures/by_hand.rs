//! A few figures by hand, against tables that nobody here wrote.

use serde_json::Value;

use crate::examples::{figure, input, json_of_example, of_text};

/// 20 in of 80/20 wire on 12 V at the wire, 20 °C, as `tests/reference/wires.toml` has it under `sanity_20in_12V`.
const SANITY: &str = r"language 1
supply s { voltage 12 V at wire, kind dc, rated 30 A, continuous 80 %, fuse 20 A }
wire w { alloy nichrome_80_20, size 20 AWG }
heater h {
  line below { wire w, gap 8 mm }
  length 20 in
  channel 18 mm
  shield { metal aluminium, mass 0.1 kg/m }
  supply s
  switch solid_state
  fuse 15 A
  leads { metal copper, area 2.5 mm2, length 1 m }
  spring { rate 0.4 N/mm, preload 6 N, travel 15 mm }
}
sheet clear { material cast_acrylic, thickness 3 mm ± 0.1 mm, colour clear }
bench b {
  base { depth 600 mm, width 700 mm, thickness 36 mm, surface wood }
  arm a { heater h, depth 80 mm, thickness 18 mm, swings 0..120 deg, place 0 mm }
  fence { reach 12..600 mm, reads 0.5 mm }
  clamp { height 20 mm, depth 30 mm, inset 15 mm, grip 10 mm }
  handling { load 20 s, reposition 15 s, unload 10 s }
  operators 1
}
part p {
  sheet clear
  width 180 mm
  profile outside { leg 60 mm, bend up 90 deg radius 6 mm as only, leg 60 mm }
}
recipe r for p on b {
  ambient 20 degC
  every bend { on a, heat 150 s, set 150 s }
}
";

fn nominal(document: &Value, name: &str) -> f64 {
    figure(document, name)["nominal"].as_f64().unwrap()
}

fn near(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found / expected - 1.0).abs() <= share, "{what}: {found} instead of {expected}");
}

#[test]
fn twenty_inches_on_twelve_volts_are_the_reference_figures() {
    let document = of_text(SANITY, "r");
    // `wires.toml`, sanity_20in_12V.gauge, awg 20: R20 1.0605 ohm, 750 °C, 10.88 A, 130.6 W, 6.53 W/in, 10.08 W/cm².
    for (name, expected, share) in [
        ("cold resistance", 1.0605, 5e-4),
        ("current of the heater", 10.88, 2e-3),
        ("power", 130.6, 2e-3),
        ("line power", 6.53, 2e-3),
        ("surface power", 10.08, 2e-3),
    ] {
        near(nominal(&document, name), expected, share, name);
    }
    assert!((nominal(&document, "wire temperature") - 750.0).abs() < 5.0);
    // 1150 °C is the lowest limit in print (`wires.toml`, [alloy.nicr_80_20], the lowest where makers disagree).
    assert!((nominal(&document, "margin to the alloy's limit") - 400.0).abs() < 5.0);
    // growth_from_20C_mm by_S50_means: 4.52 mm at 600 °C, 6.43 mm at 800 °C; straight between them 5.95 mm at 750 °C.
    near(nominal(&document, "growth"), 5.95, 0.01, "growth");
    // sag_if_not_tensioned_mm by_S50_means: 29.3 mm at 600 °C, 35.0 mm at 800 °C.
    let sag = nominal(&document, "sag without a spring");
    assert!((29.3..35.0).contains(&sag), "{sag}");
}

#[test]
fn the_rest_follows_by_plain_arithmetic() {
    let document = of_text(SANITY, "r");
    let (growth, current) = (nominal(&document, "growth"), nominal(&document, "current of the heater"));
    // Hooke's law with the spring of the text; F / (π d²/4) with d = 0.81182 mm (20 AWG by its definition).
    near(nominal(&document, "spring force hot"), 6.0 - 0.4 * growth, 1e-9, "force");
    near(
        nominal(&document, "hot stress"),
        (6.0 - 0.4 * growth) / (std::f64::consts::FRAC_PI_4 * 0.811_82 * 0.811_82),
        1e-4,
        "stress",
    );
    near(nominal(&document, "travel of the spring left"), 15.0 - growth, 1e-9, "travel");
    // 2 × 1 m of 2.5 mm² copper, 0.017241 ohm mm²/m (S75): 13.79 mohm.
    near(nominal(&document, "resistance of the leads"), 13.793, 1e-4, "leads");
    near(nominal(&document, "drop in the leads"), 0.013_793 * current, 1e-4, "drop");
    near(nominal(&document, "current density in the leads"), current / 2.5, 1e-9, "density");
    near(nominal(&document, "margin of the heater's fuse"), 15.0 * 0.8 - current, 1e-9, "fuse");
    near(nominal(&document, "margin of the supply's fuse"), 20.0 * 0.8 - current, 1e-9, "supply's fuse");
    near(nominal(&document, "energy of the bend"), nominal(&document, "power") * 0.150, 1e-9, "energy");
    // Setback r + h = 9 mm at 90°, arc π/2 (6 + 1.5) = 11.781 mm, 18 − 11.781 = 6.219 mm used.
    near(nominal(&document, "setback"), 9.0, 1e-9, "setback");
    near(nominal(&document, "length of the arc"), 11.781, 1e-4, "arc");
    near(nominal(&document, "length used by the bend"), 6.219, 1e-4, "used");
    near(nominal(&document, "length of the blank"), 120.0 - 6.219, 1e-4, "blank");
}

#[test]
fn bounds_hold_the_nominal_and_every_input_is_told() {
    for name in ["dust_cover_run", "eyepiece_stand_run", "slide_tray_run", "instruction_holder_run", "field_lab"] {
        let document = json_of_example(name);
        for run in document["runs"].as_array().unwrap() {
            for bend in run["bends"].as_array().unwrap() {
                every_input_is_told(bend);
            }
        }
    }
}

fn every_input_is_told(bend: &Value) {
    let names = |list: &str| -> Vec<String> {
        let all = bend[list].as_array().unwrap().iter();
        all.map(|one| one["name"].as_str().unwrap().to_owned()).collect()
    };
    let known = [names("figures"), names("inputs")].concat();
    let mut sorted = known.clone();
    sorted.sort();
    sorted.dedup();
    assert_eq!(sorted.len(), known.len(), "a name stands for two things: {known:?}");
    for one in bend["figures"].as_array().unwrap().iter().chain(bend["inputs"].as_array().unwrap()) {
        if let (Some(low), Some(nominal), Some(high)) =
            (one["low"].as_f64(), one["nominal"].as_f64(), one["high"].as_f64())
        {
            let slack = 1e-9 * nominal.abs();
            assert!(low <= nominal + slack && nominal <= high + slack, "{one}");
        }
        for input in one["inputs"].as_array().into_iter().flatten() {
            assert!(known.iter().any(|known| known == input.as_str().unwrap()), "{input} of {}", one["name"]);
        }
        if let Some(text) = one["source"]["text"].as_str().and_then(|text| text.strip_prefix("from the figure `")) {
            assert!(known.iter().any(|known| text == format!("{known}`")), "{text}");
        }
    }
}

#[test]
fn sources_are_found_where_they_stand() {
    let document = json_of_example("dust_cover_run");
    let source = |name: &str| &input(&document, name)["source"];
    assert_eq!(source("gap")["kind"], "as written");
    assert_eq!(source("gap")["file"], "bench/north.withy");
    assert_eq!(source("gap")["entry"], "gap 8 mm");
    assert_eq!(source("conductivity of the sheet")["file"], "catalogue/materials.withy");
    assert_eq!(source("conductivity of the sheet")["kind"], "published");
    // The points of a curve share the source above the first of them.
    assert_eq!(source("factor on the specific heat")["kind"], "computed");
    assert_eq!(source("hot factor")["kind"], "published");
    assert_eq!(source("resistivity of the leads")["kind"], "published");
    assert_eq!(source("calibration factor")["kind"], "no published source");
    assert_eq!(source("loss of the shield")["kind"], "no published source");
    // A copy takes what it does not say from what it copies.
    let copied = json_of_example("slide_tray_run");
    let entry = &input(&copied, "conductivity of the sheet")["source"]["entry"];
    assert!(entry.as_str().unwrap().starts_with("conductivity"), "{entry}");
    // A calibration answers for all that it takes in.
    let calibrated = json_of_example("eyepiece_stand_run");
    let entry = &input(&calibrated, "reflectance of the shield")["source"]["entry"];
    assert!(entry.as_str().unwrap().starts_with("factor 0.96"), "{entry}");
}

#[test]
fn a_bend_or_recipe_that_is_not_there_is_told() {
    use crate::examples::of_example;
    use withy::library::NoFigures;
    let told = |name, bend| match of_example(name, bend, false) {
        Err(NoFigures::Unknown(why)) => why,
        other => panic!("{other:?}"),
    };
    assert_eq!(
        told("dust_cover_rum", None),
        "there is no recipe or batch `dust_cover_rum`; did you mean `dust_cover_run`?"
    );
    assert_eq!(told("dust_cover_run", Some("7")), "there is no bend `7`; there are front, back, lip");
}
