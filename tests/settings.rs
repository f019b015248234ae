//! The schema of `withy.toml` for editors against the reader of `withy.toml`: both take the same, and refuse the same.
//!
//! `WITHY_UPDATE=1` writes `grammar/settings.schema.json` anew, since it lists rules and groups: then read the difference.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use withy::lint::{Level, RULES, groups};
use withy::report::{Class, Diagnostic};

use crate::common::{checked, memory, root};

/// What the file says, made from the rules that there are.
fn published() -> Value {
    let classes: Vec<&str> = Class::ALL.map(Class::word).to_vec();
    let level = json!({ "enum": Level::words() });
    let mut levels = serde_json::Map::new();
    for group in groups() {
        levels.insert(group.to_owned(), json!({ "$ref": "#/$defs/level", "description": "A group of rules." }));
    }
    for rule in RULES {
        let of = if rule.class == Class::Danger { "danger" } else { "level" };
        levels.insert(rule.name.to_owned(), json!({ "$ref": format!("#/$defs/{of}"), "description": rule.summary }));
    }
    let paths = |what: &str| {
        json!({
            "description": what, "type": "array",
            "items": { "type": "string", "minLength": 1, "not": { "pattern": r"^/|\\|(^|/)\.\.(/|$)" } },
        })
    };
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "withy:settings:1",
        "title": "Settings of a Withy library",
        "description": "`withy.toml` at the root of a library. Paths start from its folder.",
        "type": "object",
        "additionalProperties": false,
        "properties": {
            "sources": paths("Folders and files that are checked and formatted; the whole library without it."),
            "targets": paths("Folders and files whose recipes and batches are compiled; the sources without it."),
            "fail_on": { "description": "The class from which a check fails.", "enum": classes, "default": "warning" },
            "levels": {
                "description": "How grave findings are, by rule or by group of rules; the rule counts for more.",
                "type": "object", "additionalProperties": false, "properties": levels,
            },
        },
        "$defs": {
            "level": level,
            "danger": { "description": "Dangers stay dangers.", "const": "danger" },
        },
    })
}

fn written() -> Value {
    let path = root().join("grammar/settings.schema.json");
    let wanted = serde_json::to_string_pretty(&published()).unwrap() + "\n";
    if std::env::var_os("WITHY_UPDATE").is_some() {
        std::fs::write(&path, &wanted).unwrap();
    }
    let text = std::fs::read_to_string(&path).unwrap();
    assert_eq!(text, wanted, "run with WITHY_UPDATE=1");
    serde_json::from_str(&text).unwrap()
}

/// What the reader finds wrong.
fn faults(settings: &str) -> Vec<&'static str> {
    let files = BTreeMap::from([
        ("withy.toml".to_owned(), settings.to_owned()),
        ("recipes/one.withy".to_owned(), "language 1\n".to_owned()),
    ]);
    let (_, checked) = checked(&memory(&files), &["recipes/one.withy"]);
    checked.findings.iter().map(Diagnostic::name).collect()
}

fn as_json(settings: &str) -> Value {
    serde_json::to_value(toml::from_str::<toml::Table>(settings).unwrap()).unwrap()
}

#[test]
fn the_schema_takes_what_the_reader_takes() {
    let schema = written();
    assert!(jsonschema::meta::is_valid(&schema));
    let validator = jsonschema::validator_for(&schema).unwrap();
    let mut good = vec![
        String::new(),
        "sources = [\"recipes\"]\ntargets = [\"recipes/one.withy\", \"./recipes\"]\nfail_on = \"hint\"\n".to_owned(),
        "[levels]\nheat = \"off\"\nundocumented-part = \"warning\"\nfire-heat = \"danger\"\n".to_owned(),
        std::fs::read_to_string(root().join("src/cli/start/withy.toml"))
            .unwrap()
            .replace("stock", "recipes")
            .replace("\"bench\"", "\"recipes\"")
            .replace("\"parts\"", "\"recipes\""),
    ];
    for rule in RULES {
        let word = if rule.class == Class::Danger { "danger" } else { "off" };
        good.push(format!("[levels]\n{} = \"{word}\"\n", rule.name));
    }
    for text in &good {
        assert_eq!(faults(text), Vec::<&str>::new(), "{text}");
        let errors: Vec<String> = validator.iter_errors(&as_json(text)).map(|error| error.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new(), "{text}");
    }
}

#[test]
fn the_schema_refuses_what_the_reader_refuses() {
    let validator = jsonschema::validator_for(&written()).unwrap();
    let wrong = [
        ("unknown-setting", "source = [\"recipes\"]"),
        ("unknown-setting", "[level]\nheat = \"off\""),
        ("wrong-setting", "sources = \"recipes\""),
        ("wrong-setting", "targets = [7]"),
        ("wrong-setting", "sources = [\"../other\"]"),
        ("wrong-setting", "sources = [\"recipes/../../other\"]"),
        ("wrong-setting", "sources = [\"/recipes\"]"),
        ("wrong-setting", "sources = ['recipes\\one.withy']"),
        ("wrong-setting", "sources = [\"\"]"),
        ("wrong-setting", "fail_on = \"error\""),
        ("wrong-setting", "fail_on = \"off\""),
        ("wrong-setting", "fail_on = 3"),
        ("wrong-setting", "levels = \"off\""),
        ("wrong-setting", "[levels]\nheat = \"low\""),
        ("wrong-setting", "[levels]\nheat = true"),
        ("unknown-rule", "[levels]\nfire-heart = \"off\""),
        ("danger-lowered", "[levels]\nfire-heat = \"off\""),
    ];
    for (name, text) in wrong {
        assert_eq!(faults(text), [name], "{text}");
        assert!(!validator.is_valid(&as_json(text)), "the schema takes {text}");
    }
}
