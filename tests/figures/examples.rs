//! The examples, checked once for all tests.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{LazyLock, Mutex};

use serde_json::Value;
use withy::library::{
    Asked, Checked, Compiled, Depth, Disk, FigureReport, Loaded, Memory, NoFigures, Places, check, compile, figures,
    load,
};

/// The examples' recipes, loaded and checked.
pub static EXAMPLES: LazyLock<(Loaded, Checked)> = LazyLock::new(|| {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let names = ["dust_cover", "specimen_tray", "eyepiece_stand", "slide_tray", "instruction_holder", "field_lab"];
    let paths: Vec<PathBuf> = names.iter().map(|name| root.join(format!("recipes/{name}.withy"))).collect();
    let places = Places { root: root.clone(), shown_from: root };
    let (loaded, unreadable) = load(&Disk, &places, &paths, None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    let checked = check(&loaded, Depth::Full, None);
    (loaded, checked)
});

/// The figures of an example.
pub fn of_example(name: &str, bend: Option<&str>, rows: bool) -> Result<FigureReport, NoFigures> {
    let (loaded, checked) = &*EXAMPLES;
    figures(loaded, checked, Asked { name, bend, rows }, 140)
}

/// The figures of an example as JSON, one of them with its rows; each is worked out once.
pub fn json_of_example(name: &str) -> Value {
    static KNOWN: Mutex<BTreeMap<String, Value>> = Mutex::new(BTreeMap::new());
    let mut known = KNOWN.lock().unwrap();
    let solve = || serde_json::from_str(&of_example(name, None, name == "eyepiece_stand_run").unwrap().json).unwrap();
    known.entry(name.to_owned()).or_insert_with(solve).clone()
}

/// What is compiled of the examples, once.
pub static COMPILED: LazyLock<Vec<Compiled>> = LazyLock::new(|| compile(&EXAMPLES.0, &EXAMPLES.1, 110).0);

/// The figures of the one recipe in a text.
pub fn of_text(text: &str, name: &str) -> Value {
    let files = Memory::new([("/lib/a.withy", text)]);
    let places = Places { root: PathBuf::from("/lib"), shown_from: PathBuf::from("/lib") };
    let (loaded, _) = load(&files, &places, &[PathBuf::from("/lib/a.withy")], None);
    let checked = check(&loaded, Depth::Full, None);
    let report = figures(&loaded, &checked, Asked { name, bend: None, rows: false }, 140);
    let report = report.unwrap_or_else(|why| panic!("{why:?}: {:?}", checked.findings));
    serde_json::from_str(&report.json).unwrap()
}

/// One figure of the first bend.
pub fn figure<'a>(document: &'a Value, name: &str) -> &'a Value {
    let figures = document["runs"][0]["bends"][0]["figures"].as_array().unwrap();
    figures.iter().find(|figure| figure["name"] == name).unwrap_or_else(|| panic!("no figure `{name}`"))
}

/// One input of the first bend.
pub fn input<'a>(document: &'a Value, name: &str) -> &'a Value {
    let inputs = document["runs"][0]["bends"][0]["inputs"].as_array().unwrap();
    inputs.iter().find(|input| input["name"] == name).unwrap_or_else(|| panic!("no input `{name}`"))
}
