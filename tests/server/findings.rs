//! The server finds what `withy lint` finds: in the example library as a whole, and in each wrong example.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use crate::client::{Client, Columns, library};

/// What `withy lint` reports of one file or of all, in its short form, without what is accepted.
fn linted(arguments: &[&str], root: &Path) -> Vec<String> {
    let output = Command::new(env!("CARGO_BIN_EXE_withy"))
        .args(["lint", "--report", "short"])
        .args(arguments)
        .current_dir(root)
        .env("WITHY_CACHE", concat!(env!("CARGO_TARGET_TMPDIR"), "/cache"))
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let mut lines: Vec<String> =
        text.lines().filter(|line| !line.contains(" (accepted): ")).map(str::to_owned).collect();
    lines.sort();
    lines
}

/// Findings in the same form.
fn shown(client: &Client, name: &str, text: &str, findings: &[Value]) -> Vec<String> {
    let mut lines: Vec<String> = findings
        .iter()
        .map(|finding| {
            let start = client.byte(text, &finding["range"]["start"]);
            let before = &text[..start];
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
            let (word, code) = (finding["data"]["class"].as_str().unwrap(), finding["code"].as_str().unwrap());
            let headline = finding["message"].as_str().unwrap().lines().next().unwrap();
            format!("{name}:{line}:{column}: {word} {code}: {headline}")
        })
        .collect();
    lines.sort();
    lines
}

#[test]
fn the_library_has_the_findings_of_the_command_line() {
    let (_folder, root) = library();
    // Something to find: the examples are clean but for what their authors know.
    let recipe = root.join("recipes/dust_cover.withy");
    let text = std::fs::read_to_string(&recipe).unwrap().replace("heat 148 s", "heat 348 s");
    std::fs::write(&recipe, &text).unwrap();
    let supply = root.join("bench/east.withy");
    let wrong = std::fs::read_to_string(&supply).unwrap().replacen("continuous", "continous", 1);
    std::fs::write(&supply, &wrong).unwrap();
    let mut client = Client::start(Columns::Utf16);
    client.open(&recipe, &text);
    client.findings(&recipe);
    let report = client.ask("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for item in report["items"].as_array().unwrap() {
        let path = url::Url::parse(item["uri"].as_str().unwrap()).unwrap().to_file_path().unwrap();
        let name = path.strip_prefix(&root).unwrap().to_str().unwrap().to_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        found.insert(name.clone(), shown(&client, &name, &text, item["items"].as_array().unwrap()));
    }
    let mut all: Vec<String> = found.into_values().flatten().collect();
    all.sort();
    let expected = linted(&[], &root);
    assert!(expected.iter().any(|line| line.contains("fire-heat")), "{expected:?}");
    assert!(expected.iter().any(|line| line.contains("unknown-entry")), "{expected:?}");
    assert_eq!(all, expected);
    client.end();
}

#[test]
fn each_wrong_example_has_the_findings_of_the_command_line() {
    let (_folder, root) = library();
    let mut client = Client::start(Columns::Bytes);
    let mut seen = 0;
    let mut differing = Vec::new();
    for entry in std::fs::read_dir(root.join("wrong")).unwrap() {
        let path = entry.unwrap().path();
        let Ok(text) = std::fs::read_to_string(&path) else { continue };
        if path.extension().is_none_or(|extension| extension != "withy") {
            continue;
        }
        let name = path.strip_prefix(&root).unwrap().to_str().unwrap().to_owned();
        client.open(&path, &text);
        let findings = client.findings(&path);
        client.close(&path);
        let found = shown(&client, &name, &text, &findings);
        let mut expected = linted(&[&name], &root);
        // What is wrong with a file that it uses belongs to that file.
        expected.retain(|line| line.starts_with(&format!("{name}:")));
        if found != expected {
            differing.push(format!("{name}: {found:#?} instead of {expected:#?}"));
        }
        seen += 1;
    }
    assert!(seen > 100, "only {seen} wrong examples");
    assert!(differing.is_empty(), "{}", differing.join("\n"));
    client.end();
}
