//! What is written as SARIF is SARIF, and says what the findings say.

use serde_json::{Value, json};
use withy::report::sarif::render;
use withy::report::{Class, RuleInfo, sorted};
use withy::text::Files;

use crate::sample::sample;

const RULES: [RuleInfo; 2] = [
    RuleInfo {
        name: "missing-set-time",
        class: Class::Notice,
        summary: "A bend does not say how long it is held.",
        help: "Write `set 110 s`, or:\n\n    bend front { set computed }\n",
    },
    RuleInfo {
        name: "supply-overload",
        class: Class::Danger,
        summary: "More current is drawn than the supply may give.",
        help: "Heat one bend after the other.",
    },
];

/// The OASIS schema as the crate `serde-sarif` 0.8.0 ships it. The pattern it has for languages of a text, which
/// are never written here, is no regular expression of ECMA 262 with its one bracket too many, and is left out.
fn errors(log: &Value) -> Vec<String> {
    let mut schema: Value = serde_json::from_str(include_str!("sarif-2.1.0.schema.json")).unwrap();
    for object in ["run", "toolComponent"] {
        let pattern = &mut schema["definitions"][object]["properties"]["language"]["pattern"];
        assert_eq!(pattern.take(), "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$");
        *pattern = json!("");
    }
    let validator = jsonschema::draft7::new(&schema).unwrap();
    validator.iter_errors(log).map(|error| format!("{} {error}", error.instance_path())).collect()
}

fn written() -> Value {
    let (files, findings) = sample();
    serde_json::from_str(&render(&sorted(findings, &files), &files, &RULES)).unwrap()
}

#[test]
fn logs_are_valid() {
    assert_eq!(errors(&written()), Vec::<String>::new());
    let empty = serde_json::from_str(&render(&[], &Files::new(), &[])).unwrap();
    assert_eq!(errors(&empty), Vec::<String>::new());
}

#[test]
fn a_damaged_log_is_rejected() {
    let damages = [
        ("/version", json!("2.0.0")),
        ("/runs/0/results/0/level", json!("danger")),
        ("/runs/0/results/0/message", json!({})),
        ("/runs/0/results/0/suppressions/0/kind", json!("because")),
        ("/runs/0/results/1/locations/0/physicalLocation/region/startLine", json!(0)),
        ("/runs/0/results/1/fixes/0/artifactChanges/0/replacements", json!([])),
    ];
    for (pointer, damage) in damages {
        let mut log = written();
        *log.pointer_mut(pointer).unwrap() = damage;
        assert!(!errors(&log).is_empty(), "{pointer}");
    }
}

#[test]
fn a_fault_has_its_place_in_characters_and_its_mend() {
    let log = written();
    insta::assert_snapshot!(serde_json::to_string_pretty(&log["runs"][0]["results"][1]).unwrap(), @r#"
    {
      "fixes": [
        {
          "artifactChanges": [
            {
              "artifactLocation": {
                "uri": "recipes/lens%20tray.withy"
              },
              "replacements": [
                {
                  "deletedRegion": {
                    "endColumn": 35,
                    "endLine": 4,
                    "startColumn": 28,
                    "startLine": 4
                  },
                  "insertedContent": {
                    "text": "clear_3"
                  }
                }
              ]
            }
          ],
          "description": {
            "text": "use `clear_3`"
          }
        }
      ],
      "level": "error",
      "locations": [
        {
          "message": {
            "text": "not declared in this file or a file it uses"
          },
          "physicalLocation": {
            "artifactLocation": {
              "uri": "recipes/lens%20tray.withy"
            },
            "region": {
              "endColumn": 35,
              "endLine": 4,
              "startColumn": 28,
              "startLine": 4
            }
          }
        }
      ],
      "message": {
        "text": "nothing is called `clear_5`\nDeclare it, or use the file that declares it.\nedit: use `clear_3`"
      },
      "properties": {
        "class": "error"
      },
      "ruleId": "unknown-name"
    }
    "#);
}

#[test]
fn mends_of_controls_are_named_but_not_offered() {
    let log = written();
    let set = &log["runs"][0]["results"][3];
    assert_eq!(set["fixes"], Value::Null);
    assert_eq!(set["properties"]["controlEdits"], json!(["set 110 s, as computed"]));
    assert_eq!(set["level"], "note");
    assert_eq!(set["ruleIndex"], 0);
}

#[test]
fn an_accepted_finding_is_suppressed_with_its_reason() {
    let log = written();
    insta::assert_snapshot!(log["runs"][0]["results"][0]["suppressions"], @r#"[{"justification":"trial strips planned (until 2027-06-30)","kind":"inSource","status":"accepted"}]"#);
    assert_eq!(log["runs"][0]["results"][1]["suppressions"], Value::Null);
}

#[test]
fn figures_and_other_places_are_there() {
    let log = written();
    let overload = &log["runs"][0]["results"][2];
    insta::assert_snapshot!(overload["message"]["text"].as_str().unwrap(), @"
    bend `front` draws more than `rail_12v` may give
    peak current      31.2 A  (29.8..32.7 A)  limit 24.0 A (80 % of the rating)
    time at the peak  90 s
    The figures hold at 22 °C.
    A fuse of this size opens after
    about a minute.
    ");
    assert_eq!(overload["properties"]["figures"][0]["limit"], 24.0);
    let other = &overload["relatedLocations"][1];
    assert_eq!(other["physicalLocation"]["artifactLocation"]["uri"], "bench/north.withy");
    assert_eq!(other["message"]["text"], "the fuse");
}

#[test]
fn rules_say_what_they_find() {
    let mut tool = written()["runs"][0]["tool"].take();
    assert_eq!(tool["driver"]["semanticVersion"].take(), env!("CARGO_PKG_VERSION"));
    insta::assert_snapshot!(serde_json::to_string_pretty(&tool).unwrap(), @r#"
    {
      "driver": {
        "name": "withy",
        "rules": [
          {
            "defaultConfiguration": {
              "level": "note"
            },
            "help": {
              "markdown": "Write `set 110 s`, or:\n\n    bend front { set computed }\n",
              "text": "Write `set 110 s`, or:\n\n    bend front { set computed }\n"
            },
            "id": "missing-set-time",
            "properties": {
              "class": "notice"
            },
            "shortDescription": {
              "text": "A bend does not say how long it is held."
            }
          },
          {
            "defaultConfiguration": {
              "level": "error"
            },
            "help": {
              "markdown": "Heat one bend after the other.",
              "text": "Heat one bend after the other."
            },
            "id": "supply-overload",
            "properties": {
              "class": "danger"
            },
            "shortDescription": {
              "text": "More current is drawn than the supply may give."
            }
          }
        ],
        "semanticVersion": null
      }
    }
    "#);
}
