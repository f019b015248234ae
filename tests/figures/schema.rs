//! The published JSON Schemas hold for what is written, and for nothing else.

use jsonschema::Validator;
use serde_json::{Value, json};
use withy::library::catalogue_report;

use crate::examples::json_of_example;

fn validator(schema: &str) -> Validator {
    let schema: Value = serde_json::from_str(schema).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    jsonschema::draft202012::new(&schema).unwrap()
}

fn figures() -> Validator {
    validator(include_str!("../../grammar/figures.schema.json"))
}

fn catalogue() -> (Validator, Value) {
    let written = serde_json::from_str(&catalogue_report(None, 110).unwrap().json).unwrap();
    (validator(include_str!("../../grammar/catalogue.schema.json")), written)
}

fn errors(validator: &Validator, value: &Value) -> Vec<String> {
    validator.iter_errors(value).map(|error| format!("{error} at {}", error.instance_path())).collect()
}

#[test]
fn the_figures_of_the_examples_are_valid() {
    let validator = figures();
    for name in ["dust_cover_run", "eyepiece_stand_run", "instruction_holder_run", "specimen_tray_run", "field_lab"] {
        assert_eq!(errors(&validator, &json_of_example(name)), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn damaged_figures_are_rejected() {
    let validator = figures();
    let whole = json_of_example("eyepiece_stand_run");
    let bend = "/runs/0/bends/0";
    let damages: [(&str, Value); 12] = [
        ("/schema", json!("withy:figures:2")),
        ("/runs", json!([])),
        (&format!("{bend}/verdict"), json!("sure")),
        (&format!("{bend}/figures/0/nominal"), json!("1.06 ohm")),
        (&format!("{bend}/figures/0/formula"), json!("")),
        (&format!("{bend}/figures/0/group"), json!("wires")),
        (&format!("{bend}/figures/7/limit/holds"), json!("maybe")),
        (&format!("{bend}/inputs/0/source/kind"), json!("hearsay")),
        (&format!("{bend}/inputs/0/source/line"), json!(0)),
        (&format!("{bend}/closings/0/kind"), json!("later")),
        (&format!("{bend}/worths/0/ready_latest_s"), json!(-1)),
        (&format!("{bend}/rows/0/thickness_mm"), json!(0)),
    ];
    for (pointer, damage) in damages {
        let mut damaged = whole.clone();
        *damaged.pointer_mut(pointer).unwrap_or_else(|| panic!("no {pointer}")) = damage;
        assert!(!validator.is_valid(&damaged), "{pointer}");
    }
    for required in ["figures", "inputs", "closings", "heat"] {
        let mut damaged = whole.clone();
        damaged.pointer_mut(bend).unwrap().as_object_mut().unwrap().remove(required);
        assert!(!validator.is_valid(&damaged), "without {required}");
    }
}

#[test]
fn the_catalogue_is_valid_and_damages_are_not() {
    let (validator, written) = catalogue();
    assert_eq!(errors(&validator, &written), Vec::<String>::new());
    for (pointer, damage) in [
        ("/schema", json!("withy:catalogue:0")),
        ("/items", json!([])),
        ("/items/0/kind", json!("sheet")),
        ("/items/0/entries/0/values/0/low", json!(null)),
        ("/items/0/entries/0/source/kind", json!("rumour")),
    ] {
        let mut damaged = written.clone();
        *damaged.pointer_mut(pointer).unwrap() = damage;
        assert!(!validator.is_valid(&damaged), "{pointer}");
    }
}

/// Every figure of the catalogue says of what kind its source is.
#[test]
fn every_value_of_the_catalogue_has_a_kind() {
    let (_, written) = catalogue();
    let mut bare = Vec::new();
    for item in written["items"].as_array().unwrap() {
        for entry in item["entries"].as_array().unwrap() {
            let measured = !entry["values"].as_array().unwrap().is_empty();
            if measured && entry["source"]["kind"] == "as written" {
                bare.push(format!("{} {}", item["name"], entry["shown"]));
            }
        }
    }
    assert_eq!(bare, Vec::<String>::new());
}
