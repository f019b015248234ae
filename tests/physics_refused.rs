//! Bad physics written in the language: every case gives a clear message and an end, never a panic and no number that is
//! none in what is written.

use std::time::{Duration, Instant};

use serde_json::Value;
use withy::library::compile;

use crate::common::{checked, examples, memory, shown};

const BENCH: &str = "bench/north.withy";
const STOCK: &str = "stock/acrylic.withy";
const PART: &str = "parts/dust_cover.withy";
const RECIPE: &str = "recipes/dust_cover.withy";

/// Longest time one case may take, in the unoptimised build on a busy machine.
const PATIENCE: Duration = Duration::from_mins(1);

/// What is changed in the examples (file, old text, new text), and the message that must come: its name, and words of
/// its headline.
type Case = (&'static str, &'static str, &'static str, &'static str, &'static str);

const VOLTS: &str = "voltage 12.1 V ± 1 % at wire";
const FRONT: &str = "bend up 90 deg within 1 deg radius 6 mm as front";
const WARM_UP: &str = "  warm_up 3 min\n}";
const MATERIAL: &str = "material cast_acrylic\n  thickness 3 mm";

const CASES: &[Case] = &[
    (STOCK, "thickness 3 mm", "thickness 0 mm", "out-of-range", "thickness 0 mm"),
    (STOCK, "thickness 3 mm", "thickness -3 mm", "out-of-range", "thickness -3 mm"),
    (STOCK, "thickness 3 mm", "thickness 3 mm ± 3 mm", "out-of-range", "thickness 3 mm"),
    (STOCK, "thickness 3 mm", "thickness 300 mm ± 1 mm", "out-of-range", "thickness 300 mm"),
    (STOCK, "thickness 3 mm", "thickness 1 um ± 0.1 um", "out-of-range", "thickness 1 um"),
    (STOCK, "thickness 3 mm", "thickness 25 mm ± 24 mm", "heat-out-of-range", "thickness"),
    (STOCK, "thickness 3 mm", "thickness 20 mm ± 1 mm", "no-heat-window", "no heat time is right"),
    (BENCH, "{ wire hot_20, gap 8 mm }", "{ gap 8 mm }", "missing-entry", "`wire`"),
    (BENCH, "  line below { wire hot_20, gap 8 mm }\n", "", "missing-entry", "needs `line`"),
    // Too little ever to reach forming.
    (BENCH, VOLTS, "voltage 3 V ± 1 % at wire", "no-heat-window", "no heat time is right"),
    (BENCH, "length 508 mm", "length 5 m", "no-heat-window", "no heat time is right"),
    // Far too much.
    (BENCH, VOLTS, "voltage 240 V ± 1 % at wire", "wire-out-of-range", "melt"),
    (BENCH, VOLTS, "voltage 20 V ± 1 % at wire", "no-heat-window", "no heat time is right"),
    (BENCH, VOLTS, "voltage 0 V at wire", "out-of-range", "voltage 0 V"),
    (BENCH, VOLTS, "voltage 1000000000000 V at wire", "out-of-range", "voltage"),
    (BENCH, "length 508 mm", "length 25 mm", "wire-out-of-range", "melt"),
    (BENCH, "length 508 mm", "length 1 mm", "out-of-range", "length 1 mm"),
    (BENCH, "gap 8 mm", "gap 0.5 mm", "no-heat-window", "no heat time is right"),
    (BENCH, "gap 8 mm", "gap 0 mm", "out-of-range", "gap 0 mm"),
    (BENCH, "gap 8 mm", "gap 1 m", "out-of-range", "gap 1 m"),
    (BENCH, "gap 8 mm", "gap 8 mm ± 7.9 mm", "out-of-range", "gap 8 mm"),
    (BENCH, "channel 18 mm", "channel 0 mm", "out-of-range", "channel 0 mm"),
    (BENCH, "channel 18 mm", "channel 1 m", "out-of-range", "channel 1 m"),
    (BENCH, "size 20 AWG", "diameter 0 mm", "out-of-range", "diameter 0 mm"),
    (BENCH, "size 20 AWG", "diameter 50 mm", "out-of-range", "diameter 50 mm"),
    (BENCH, "size 20 AWG", "diameter 1 um", "out-of-range", "diameter 1 um"),
    (BENCH, "mass 0.1 kg/m", "mass 0 kg/m", "out-of-range", "mass 0 kg/m"),
    (BENCH, "mass 0.1 kg/m", "mass 100000 kg/m", "out-of-range", "mass"),
    (BENCH, "area 2.5 mm2", "area 0 mm2", "out-of-range", "area 0 mm2"),
    (BENCH, "warm_up 3 min", "warm_up 1000 h", "out-of-range", "warm_up 1000 h"),
    (
        BENCH,
        WARM_UP,
        "  warm_up 3 min\n  calibrated { factor 50 ± 3 %, sheet clear_3, on 2026-11-20, trials 12 }\n}",
        "out-of-range",
        "factor 50",
    ),
    (
        BENCH,
        WARM_UP,
        "  warm_up 3 min\n  calibrated { factor 0, sheet clear_3, on 2026-11-20, trials 12 }\n}",
        "out-of-range",
        "factor 0",
    ),
    (STOCK, MATERIAL, "material bare\n  thickness 3 mm ± 0.2 mm", "material-incomplete", "`conductivity`"),
    (STOCK, MATERIAL, "material petg\n  thickness 3 mm ± 0.2 mm", "material-from-memory", "from memory"),
    (RECIPE, "set computed", "set computed\n    transfer 60 s", "no-heat-window", "no heat time is right"),
    (RECIPE, "set computed", "set computed\n    transfer 0 s", "out-of-range", "transfer 0 s"),
    (RECIPE, "ambient 18..27 degC", "ambient -300 degC", "out-of-range", "ambient -300 degC"),
    (RECIPE, "ambient 18..27 degC", "ambient 150 degC", "out-of-range", "ambient 150 degC"),
    (RECIPE, "heat 148 s", "heat 0 s", "no-heat", "no time"),
    (RECIPE, "heat 148 s", "heat 148 s at 0 %", "no-heat", "no time"),
    (RECIPE, "heat 148 s", "heat 5 h", "out-of-range", "heat 5 h"),
    // A sharp corner is small, and so is its zone: it bends.
    (PART, "radius 6 mm as front", "radius 0 mm as front", "unproved-window", "`front`"),
    (PART, "radius 6 mm as front", "radius 1 m as front", "out-of-range", "1 m"),
    (PART, FRONT, "bend up 0 deg radius 6 mm as front", "out-of-range", "0 deg"),
    (PART, FRONT, "bend up 720 deg radius 6 mm as front", "out-of-range", "720 deg"),
];

#[test]
fn bad_physics_gives_a_message_and_no_number_that_is_none() {
    let huge = "9".repeat(400);
    let huge = [("gap 8 mm", format!("gap {huge} mm")), ("mass 0.1 kg/m", format!("mass {huge} kg/m"))];
    let huge = huge.iter().map(|(old, new)| (BENCH, *old, new.as_str(), "bad-number", "too large or too small"));
    let missed: Vec<String> = CASES.iter().copied().chain(huge).filter_map(missed).collect();
    assert!(missed.is_empty(), "{missed:#?}");
}

/// The case and what came instead, if its message did not come.
fn missed((file, old, new, name, words): (&str, &str, &str, &str, &str)) -> Option<String> {
    let case = format!("{file}: {old:?} by {new:.80?}");
    let mut library = examples();
    let text = library.get_mut(file).unwrap();
    assert!(text.contains(old), "{case}: not there");
    *text = text.replacen(old, new, 1);
    if new.contains("bare") {
        text.push_str("\nmaterial bare {\n  density 1190 kg/m3\n  specific_heat 1470 J/(kg*K) at 20 degC\n}\n");
    }
    let began = Instant::now();
    let (loaded, checked) = checked(&memory(&library), &[RECIPE]);
    let (compiled, _) = compile(&loaded, &checked, 110);
    assert!(began.elapsed() < PATIENCE, "{case}: took {:?}", began.elapsed());
    let found = checked.findings.iter().any(|finding| finding.name() == name && finding.headline.contains(words));
    let all: Vec<String> = checked.findings.iter().map(|finding| shown(&loaded, finding)).collect();
    for finding in &checked.findings {
        let texts = finding.labels.iter().map(|label| &label.text).chain(&finding.notes).chain(&finding.helps);
        for text in texts.chain([&finding.headline]) {
            let odd = text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "NaN" || word == "inf");
            assert!(!odd, "{case}: {text}");
        }
        for figure in &finding.figures {
            // What is never reached is infinite, and shown as `never`.
            let numbers = [figure.value, figure.low, figure.high];
            assert!(!numbers.iter().any(|number| number.is_nan()), "{case}: {figure:?}");
        }
    }
    for output in compiled.iter().flat_map(|one| &one.outputs) {
        let text = String::from_utf8_lossy(&output.bytes);
        // A figure that is no number would be written as a word here, and could not be read back there.
        let odd = text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "NaN" || word == "inf");
        assert!(!odd, "{case}: {}", output.name);
        if output.name == "steps.json" {
            let document: Value = serde_json::from_str(&text).unwrap();
            times_are_numbers(&document, &case);
        }
    }
    (!found).then(|| format!("{case}: wanted {name}, {words:?}; got {all:#?}"))
}

/// Every `time_s`, `heat_s`, `start_s` and `lasts_s` is a number: JSON has no word for what is none, only `null`.
fn times_are_numbers(value: &Value, case: &str) {
    match value {
        Value::Object(fields) => {
            for (key, field) in fields {
                let is_time = ["time_s", "set_s", "start_s", "lasts_s"].contains(&key.as_str());
                assert!(!is_time || !field.is_null(), "{case}: {key} is null in {value}");
                times_are_numbers(field, case);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| times_are_numbers(item, case)),
        _ => {}
    }
}
