//! The examples: they check clean, they compile, and what is written for them is what is published.

use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

use jsonschema::Validator;
use serde_json::{Value, json};
use withy::emit::SCHEMA;
use withy::library::{Compiled, compile, formatted};

use crate::common::{checked, examples, fails, memory, root, shown};

const RECIPE_HEADER: &str = "step,lane,start_s,do,bend,place_mm,place_shown,face,heater,heat_s,heat_percent,\
                             window_low_s,window_high_s,verdict,swing_deg,hold_s,supply_a,call";
/// What a batch adds to each row.
const BATCH_HEADER: &str = ",run,part,operator";

/// The files that declare recipes or batches.
fn recipes() -> Vec<String> {
    let recipes: Vec<String> = examples().into_keys().filter(|name| name.starts_with("recipes/")).collect();
    assert!(recipes.len() >= 6, "{recipes:?}");
    recipes
}

/// What is written for every recipe and batch; computed once for all tests.
pub fn compiled() -> &'static [Compiled] {
    static COMPILED: OnceLock<Vec<Compiled>> = OnceLock::new();
    COMPILED.get_or_init(compile_all)
}

fn compile_all() -> Vec<Compiled> {
    let io = memory(&examples());
    let recipes = recipes();
    let names: Vec<&str> = recipes.iter().map(String::as_str).collect();
    let (loaded, checked) = checked(&io, &names);
    let (compiled, refused) = compile(&loaded, &checked, 110);
    assert_eq!(refused, []);
    compiled
}

fn output(compiled: &Compiled, name: &str) -> String {
    compiled
        .outputs
        .iter()
        .find(|output| output.name == name)
        .map(|output| String::from_utf8(output.bytes.clone()).unwrap())
        .unwrap()
}

/// What makes `withy lint` fail: errors, dangers and warnings. Lesser findings are for their authors to weigh.
#[test]
fn examples_check_clean() {
    let io = memory(&examples());
    let names = examples();
    let names: Vec<&str> = names.keys().map(String::as_str).collect();
    let (loaded, checked) = checked(&io, &names);
    let open: Vec<String> =
        checked.findings.iter().filter(|finding| fails(finding)).map(|finding| shown(&loaded, finding)).collect();
    assert_eq!(open, Vec::<String>::new());
}

#[test]
fn examples_are_in_the_one_style() {
    for (name, text) in examples() {
        assert_eq!(formatted(&name, &text).text, Some(text), "{name}");
    }
}

#[test]
fn every_recipe_and_batch_compiles() {
    let compiled = compiled();
    assert!(compiled.len() >= 6, "{}", compiled.len());
    for one in compiled {
        let names: Vec<&str> = one.outputs.iter().map(|output| output.name.as_str()).collect();
        assert_eq!(names[..2], ["steps.csv", "steps.json"], "{}", one.name);
        assert!(one.outputs.iter().all(|output| !output.bytes.is_empty()), "{}", one.name);
    }
}

#[test]
fn the_published_schema_is_one_and_carries_its_version() {
    assert!(jsonschema::meta::is_valid(&schema()));
    assert_eq!(schema()["$id"], SCHEMA);
}

#[test]
fn step_tables_follow_the_published_schema() {
    let (published, strict) = (validator(&schema()), validator(&closed(schema())));
    let documents = documents();
    for (name, document) in &documents {
        let faults = |validator: &Validator| -> Vec<String> {
            validator.iter_errors(document).map(|error| format!("{}: {error}", error.instance_path())).collect()
        };
        assert_eq!(faults(&published), Vec::<String>::new(), "{name}");
        assert_eq!(faults(&strict), Vec::<String>::new(), "{name} has a field that the schema does not describe");
    }
    for kind in ["recipe", "batch"] {
        assert!(documents.iter().any(|(_, document)| document["kind"] == kind), "no {kind} was written");
    }
}

#[test]
fn damaged_step_tables_are_rejected() {
    let validator = validator(&schema());
    let documents = documents();
    let recipe = &documents.iter().find(|(_, document)| document["kind"] == "recipe").unwrap().1;
    let batch = &documents.iter().find(|(_, document)| document["kind"] == "batch").unwrap().1;
    let damages = [
        (recipe, "/schema", json!("withy:steps:2")),
        (recipe, "/kind", json!("batch")),
        (recipe, "/name", json!("")),
        (recipe, "/digest", json!("xyz")),
        (recipe, "/cycle_time_s", json!("10 min")),
        (recipe, "/recipe/blank/length_mm/low", json!(null)),
        (recipe, "/recipe/blank/width_mm", json!(0)),
        (recipe, "/recipe/blank/legs_mm", json!([])),
        (recipe, "/recipe/bends/0/direction", json!("left")),
        (recipe, "/recipe/bends/0/angle_deg", json!(176)),
        (recipe, "/recipe/bends/0/heat", json!([])),
        (recipe, "/recipe/bends/0/window/verdict", json!("open")),
        (recipe, "/recipe/bends/0/window/ready_s", json!(40)),
        (recipe, "/recipe/bends/0/window/over_s/low", json!("never")),
        (recipe, "/recipe/bends/0/heat/0/percent", json!(101)),
        (recipe, "/recipe/bends/0/heat/0/time_s", json!(-1)),
        (recipe, "/recipe/bends/0/lines/0/wire_c", json!(-300)),
        (recipe, "/recipe/steps", json!([])),
        (recipe, "/recipe/steps/0/do", json!("dance")),
        (recipe, "/recipe/steps/0/step", json!(0)),
        (recipe, "/recipe/steps/0/face", json!("front")),
        (recipe, "/recipe/steps/0/against_fence", json!("left")),
        (recipe, "/recipe/steps/0/call", json!("")),
        (recipe, "/findings", json!([{ "class": "danger" }])),
        (batch, "/runs", json!([])),
        (batch, "/schedule/tasks/0/do", json!("dance")),
        (batch, "/schedule/tasks/0/operator", json!(0)),
        (batch, "/schedule/lanes", json!([])),
        (batch, "/schedule/arms/0/idle_s", json!(-1)),
        (batch, "/schedule/supplies/0/profile/0", json!([1])),
        (batch, "/schedule/bound_s", json!("least")),
        (batch, "/runs/0/times", json!(1.5)),
        (batch, "/runs/0/lot", json!(7)),
        (batch, "/kind", json!("recipe")),
    ];
    for (document, pointer, damage) in damages {
        let mut damaged = document.clone();
        *damaged.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = damage;
        assert!(!validator.is_valid(&damaged), "{pointer}");
    }
}

#[test]
fn no_field_of_a_step_table_may_be_missing() {
    let validator = validator(&schema());
    let mut seen = 0;
    for (name, mut document) in documents() {
        // One task of each kind says as much as a thousand.
        if let Some(tasks) = document.pointer_mut("/schedule/tasks").and_then(Value::as_array_mut) {
            tasks.truncate(20);
        }
        let mut fields = Vec::new();
        fields_below(&document, "", &mut fields);
        for (pointer, key) in fields {
            // Findings have a schema of their own, with tests of its own.
            if pointer.starts_with("/findings/") {
                continue;
            }
            let mut damaged = document.clone();
            damaged.pointer_mut(&pointer).unwrap().as_object_mut().unwrap().remove(&key);
            assert!(!validator.is_valid(&damaged), "{name}: {pointer} without {key}");
            seen += 1;
        }
    }
    assert!(seen > 200, "{seen}");
}

#[test]
fn step_tables_are_rfc_4180_and_agree_with_the_json() {
    let mut steps_seen = 0;
    for compiled in compiled() {
        let rows =
            rfc_4180(&output(compiled, "steps.csv")).unwrap_or_else(|fault| panic!("{}: {fault}", compiled.name));
        let document: Value = serde_json::from_str(&output(compiled, "steps.json")).unwrap();
        let batch = document["kind"] == "batch";
        let header = format!("{RECIPE_HEADER}{}", if batch { BATCH_HEADER } else { "" });
        assert_eq!(rows[0].join(","), header, "{}", compiled.name);
        if batch {
            batch_rows_agree(&rows, &document);
            continue;
        }
        let listed = document.pointer("/recipe/steps").unwrap().as_array().unwrap();
        assert_eq!(rows.len() - 1, listed.len(), "{}", compiled.name);
        for (row, step) in rows[1..].iter().zip(listed) {
            let cell = |column: &str| row[rows[0].iter().position(|name| name == column).unwrap()].as_str();
            let near = |column: &str, wanted: &Value| {
                let (cell, wanted) = (cell(column).parse::<f64>().ok(), wanted.as_f64());
                match (cell, wanted) {
                    (None, None) => true,
                    (Some(cell), Some(wanted)) => (cell - wanted).abs() <= 0.05,
                    _ => false,
                }
            };
            assert!(near("start_s", &step["start_s"]), "{row:?} {step}");
            steps_seen += 1;
            assert_eq!(cell("step"), step["step"].to_string());
            assert_eq!(cell("do"), step["do"]);
            assert_eq!(cell("bend"), step["bend"].as_str().unwrap_or(""));
            assert_eq!(cell("face"), step["face"]);
            assert_eq!(cell("place_shown"), step["place_shown"].as_str().unwrap_or(""));
            assert_eq!(cell("call"), step["call"]);
            assert!(near("place_mm", &step["place_mm"]), "{row:?} {step}");
            assert!(near("heat_percent", &step["heat_percent"]), "{row:?} {step}");
            if cell("do") == "heat" {
                assert!(near("heat_s", &step["lasts_s"]), "{row:?} {step}");
            }
            if cell("do") == "set" {
                assert!(near("hold_s", &step["lasts_s"]), "{row:?} {step}");
            }
        }
    }
    assert!(steps_seen > 30, "{steps_seen}");
}

/// Every task but the presses has its row or rows, at its time, with its part and its hands.
fn batch_rows_agree(rows: &[Vec<String>], document: &Value) {
    let tasks = document.pointer("/schedule/tasks").unwrap().as_array().unwrap();
    let number = |value: &Value| value.as_u64().map_or_else(String::new, |number| number.to_string());
    let mut left: Vec<&Vec<String>> = rows[1..].iter().collect();
    for (step, row) in (1..).zip(&left) {
        assert_eq!(row[0], step.to_string());
    }
    for task in tasks.iter().filter(|task| task["do"] != "press") {
        let found = left.len();
        left.retain(|row| {
            let start: f64 = row[2].parse().unwrap();
            let inside = start >= task["start_s"].as_f64().unwrap() - 0.05 && start <= task["end_s"].as_f64().unwrap();
            let same = row[3] == task["do"].as_str().unwrap() && row[1] == number(&task["lane"]);
            let own = [&row[18], &row[19], &row[20]]
                == [&number(&task["run"]), &number(&task["part"]), &number(&task["operator"])];
            let bends = task["bends"].as_array().unwrap();
            let bend = row[4].is_empty() || bends.iter().any(|bend| bend == row[4].as_str());
            !(inside && same && own && bend)
        });
        assert!(left.len() < found, "no row for {task}");
    }
    assert_eq!(left, Vec::<&Vec<String>>::new());
}

#[test]
fn the_reader_of_rfc_4180_is_strict() {
    assert_eq!(rfc_4180("a,b\r\n1,\"x, \"\"y\"\"\r\nz\"\r\n").unwrap()[1], ["1", "x, \"y\"\r\nz"]);
    for wrong in ["", "a,b\n1,2\n", "a,b\r\n1\r\n", "a,b\r\n1,2", "a\r\nb\"c\r\n", "a\r\n\"b\"c\r\n", "a\r\n\"b\r\n"] {
        assert!(rfc_4180(wrong).is_err(), "{wrong:?}");
    }
}

#[test]
fn the_same_source_gives_the_same_bytes_from_any_folder() {
    let places = [root().to_owned(), root().join("examples/recipes"), tempfile::tempdir().unwrap().keep()];
    let mut seen = Vec::new();
    for place in &places {
        let out = tempfile::tempdir().unwrap();
        let status = Command::new(env!("CARGO_BIN_EXE_withy"))
            .current_dir(place)
            .args(["compile", "--report", "short", "--out"])
            .arg(out.path())
            .arg(root().join("examples/recipes"))
            .output()
            .unwrap();
        assert!(status.status.success(), "{status:?}");
        let mut files = Vec::new();
        written_below(out.path(), out.path(), &mut files);
        assert!(files.len() >= 6, "{files:?}");
        seen.push(files);
    }
    std::fs::remove_dir_all(&places[2]).unwrap();
    for other in &seen[1..] {
        let names = |files: &[(String, Vec<u8>)]| files.iter().map(|file| file.0.clone()).collect::<Vec<_>>();
        assert_eq!(names(&seen[0]), names(other));
        for (here, there) in seen[0].iter().zip(other) {
            let texts = [&here.1, &there.1].map(|bytes| String::from_utf8_lossy(bytes));
            assert!(here == there, "{} differs:\n{}", here.0, first_difference(&texts[0], &texts[1]));
        }
    }
}

#[test]
fn the_same_library_gives_the_same_bytes_twice() {
    let bytes = |all: &[Compiled]| -> Vec<Vec<u8>> {
        all.iter().flat_map(|one| one.outputs.iter().map(|output| output.bytes.clone())).collect()
    };
    assert_eq!(bytes(compiled()), bytes(&compile_all()));
}

fn schema() -> Value {
    serde_json::from_str(include_str!("../grammar/steps.schema.json")).unwrap()
}

fn validator(schema: &Value) -> Validator {
    jsonschema::draft202012::new(schema).unwrap()
}

/// The schema without room for fields it does not describe.
fn closed(mut schema: Value) -> Value {
    fn close(value: &mut Value) {
        if let Value::Object(fields) = value {
            if fields.get("type") == Some(&json!("object")) && fields.contains_key("properties") {
                fields.insert("additionalProperties".to_owned(), json!(false));
            }
            for inner in fields.values_mut() {
                close(inner);
            }
        }
    }
    close(&mut schema);
    schema
}

/// `steps.json` of every recipe and batch; and of a batch of given times, so that both kinds are always seen.
fn documents() -> Vec<(String, Value)> {
    let mut library = examples();
    library.insert(
        "recipes/trays.withy".to_owned(),
        "use \"specimen_tray.withy\"\nuse \"../stock/acrylic.withy\"\n\
         batch trays {\n  run specimen_tray_run 3 times plus 1 spare from october\n  run specimen_tray_run 1 times\n}\n"
            .to_owned(),
    );
    let (loaded, checked) = checked(&memory(&library), &["recipes/trays.withy"]);
    let (trays, refused) = compile(&loaded, &checked, 110);
    assert!(refused.is_empty(), "{:?}", checked.findings);
    trays
        .iter()
        .chain(compiled())
        .map(|one| (one.name.clone(), serde_json::from_str(&output(one, "steps.json")).unwrap()))
        .collect()
}

fn fields_below(value: &Value, pointer: &str, found: &mut Vec<(String, String)>) {
    match value {
        Value::Object(fields) => {
            for (key, field) in fields {
                found.push((pointer.to_owned(), key.clone()));
                fields_below(field, &format!("{pointer}/{key}"), found);
            }
        }
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                fields_below(item, &format!("{pointer}/{index}"), found);
            }
        }
        _ => {}
    }
}

/// Rows and fields as RFC 4180 defines them: lines end in CR LF, every line has as many fields as the header, quotes
/// stand around a whole field and are doubled within.
fn rfc_4180(text: &str) -> Result<Vec<Vec<String>>, String> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut rest = text;
    let mut row = Vec::new();
    while !rest.is_empty() {
        let field;
        if let Some(quoted) = rest.strip_prefix('"') {
            let mut value = String::new();
            let mut inner = quoted;
            loop {
                let end = inner.find('"').ok_or("a quote is never closed")?;
                value.push_str(&inner[..end]);
                inner = &inner[end + 1..];
                match inner.strip_prefix('"') {
                    Some(more) => {
                        value.push('"');
                        inner = more;
                    }
                    None => break,
                }
            }
            (field, rest) = (value, inner);
        } else {
            let end = rest.find([',', '\r', '\n', '"']).ok_or("the last line is not ended")?;
            field = rest[..end].to_owned();
            rest = &rest[end..];
        }
        row.push(field);
        if let Some(more) = rest.strip_prefix(',') {
            rest = more;
        } else if let Some(more) = rest.strip_prefix("\r\n") {
            rest = more;
            if rows.first().is_some_and(|header| header.len() != row.len()) {
                return Err(format!("line {} has {} fields", rows.len() + 1, row.len()));
            }
            rows.push(std::mem::take(&mut row));
        } else {
            return Err(format!("after {row:?} stands {:?}", rest.chars().next()));
        }
    }
    if rows.is_empty() || !row.is_empty() { Err("it does not end with a whole line".to_owned()) } else { Ok(rows) }
}

/// The first lines of two texts that differ.
fn first_difference(one: &str, other: &str) -> String {
    let pair = one.lines().zip(other.lines()).find(|pair| pair.0 != pair.1);
    pair.map_or_else(|| "one is longer".to_owned(), |pair| format!("{}\n{}", pair.0, pair.1))
}

/// Every file below a folder, by its path and content.
fn written_below(top: &Path, folder: &Path, found: &mut Vec<(String, Vec<u8>)>) {
    let mut entries: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            written_below(top, &path, found);
        } else {
            found.push((path.strip_prefix(top).unwrap().display().to_string(), std::fs::read(&path).unwrap()));
        }
    }
}
