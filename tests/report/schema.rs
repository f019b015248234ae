//! The published JSON Schema holds for what is written, and for nothing else.

use jsonschema::Validator;
use serde_json::{Value, json};
use withy::report::json::{SCHEMA, render};
use withy::text::Files;

use crate::sample::sample;

fn schema() -> Value {
    serde_json::from_str(include_str!("../../grammar/findings.schema.json")).unwrap()
}

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).unwrap()
}

fn written() -> Value {
    let (files, findings) = sample();
    serde_json::from_str(&render(&findings, &files)).unwrap()
}

#[test]
fn the_schema_is_one_itself_and_carries_its_version() {
    assert!(jsonschema::meta::is_valid(&schema()));
    assert_eq!(schema()["$id"], SCHEMA);
}

#[test]
fn reports_are_valid() {
    let errors: Vec<String> = validator().iter_errors(&written()).map(|error| error.to_string()).collect();
    assert_eq!(errors, Vec::<String>::new());
    let empty = serde_json::from_str(&render(&[], &Files::new())).unwrap();
    assert!(validator().is_valid(&empty));
}

#[test]
fn fields_may_be_added_within_a_version() {
    let mut report = written();
    report["findings"][0]["later"] = json!(1);
    assert!(validator().is_valid(&report));
}

#[test]
fn damaged_reports_are_rejected() {
    let validator = validator();
    let damages: [(&str, Value); 16] = [
        ("/schema", json!("withy:findings:2")),
        ("/findings/3/class", json!("error")),
        ("/findings/4/class", json!("warning")),
        ("/findings/4/class", json!("fatal")),
        ("/findings/3/rule", json!("Not Kebab")),
        ("/findings/0/headline", json!(null)),
        ("/findings/3/places", json!([])),
        ("/findings/3/places/0/line", json!(0)),
        ("/findings/3/places/0/start", json!(-1)),
        ("/findings/3/places/0/column", json!(1.5)),
        ("/findings/3/figures/0/value", json!("31.2 A")),
        ("/findings/3/notes/0", json!(7)),
        ("/findings/2/edits/0/changes_control", json!("yes")),
        ("/findings/2/edits/0/changes", json!([])),
        ("/findings/1/accepted/until", json!("next June")),
        ("/counts/error", json!(-1)),
    ];
    for (pointer, damage) in damages {
        let mut report = written();
        *report.pointer_mut(pointer).unwrap() = damage;
        assert!(!validator.is_valid(&report), "{pointer}");
    }
}

#[test]
fn every_field_is_required() {
    let validator = validator();
    let report = written();
    let mut objects = Vec::new();
    objects_below(&report, "", &mut objects);
    assert!(objects.len() > 20, "{objects:?}");
    for (pointer, key) in objects {
        let mut damaged = written();
        damaged.pointer_mut(&pointer).unwrap().as_object_mut().unwrap().remove(&key);
        assert!(!validator.is_valid(&damaged), "{pointer} without {key}");
    }
}

fn objects_below(value: &Value, pointer: &str, found: &mut Vec<(String, String)>) {
    match value {
        Value::Object(fields) => {
            for (key, field) in fields {
                found.push((pointer.to_owned(), key.clone()));
                objects_below(field, &format!("{pointer}/{key}"), found);
            }
        }
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                objects_below(item, &format!("{pointer}/{index}"), found);
            }
        }
        _ => {}
    }
}
