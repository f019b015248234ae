//! `examples/wrong/`: one fault a file, and exactly the finding that its first line announces. Findings that do not
//! make `withy lint` fail are left out, unless they are what is announced: a part may lack its description here.

use std::collections::BTreeMap;
use std::path::PathBuf;

use withy::report::Diagnostic;

use crate::common::{checked, examples, fails, memory, place, root, shown};

/// What a file's first line announces: `# expect error NAME at LINE:COLUMN`.
#[derive(Debug, PartialEq)]
struct Expected {
    word: String,
    name: String,
    line: usize,
    column: usize,
}

impl Expected {
    fn read(text: &str) -> Option<Self> {
        let first = text.lines().next()?.trim_start_matches('\u{feff}').strip_prefix("# expect ")?;
        let (finding, at) = first.split_once(" at ")?;
        let (word, name) = finding.split_once(' ')?;
        let (line, column) = at.split_once(':')?;
        let known = ["error", "danger", "warning", "caution", "notice", "hint"].contains(&word);
        let (line, column) = (line.parse().ok()?, column.trim_end().parse().ok()?);
        known.then(|| Self { word: word.to_owned(), name: name.to_owned(), line, column })
    }
}

/// The folder of wrong examples; `WITHY_WRONG` names another, for trying.
fn folder() -> PathBuf {
    std::env::var_os("WITHY_WRONG").map_or_else(|| root().join("examples/wrong"), PathBuf::from)
}

/// Wrong files by their path below `wrong/`.
fn wrong_files() -> BTreeMap<String, String> {
    let folder = folder();
    let mut files = BTreeMap::new();
    for entry in ignore::WalkBuilder::new(&folder).build() {
        let path = entry.unwrap_or_else(|error| panic!("{}: {error}", folder.display())).into_path();
        if path.extension().is_some_and(|extension| extension == "withy") {
            let name = path.strip_prefix(&folder).unwrap().to_str().unwrap().to_owned();
            files.insert(name, std::fs::read_to_string(&path).unwrap());
        }
    }
    files
}

/// Everything that is wrong with the findings of one file, against what it announces.
fn differences(library: &BTreeMap<String, String>, name: &str, expected: &Expected) -> Vec<String> {
    let io = memory(library);
    let (loaded, checked) = checked(&io, &[name]);
    let meant = |finding: &&Diagnostic| fails(finding) || finding.name() == expected.name;
    let found: Vec<_> = checked.findings.iter().filter(meant).collect();
    let fits = |finding: &&Diagnostic| {
        let (file, line, column) = place(&loaded, finding);
        (finding.word(), finding.name()) == (expected.word.as_str(), expected.name.as_str())
            && (file.as_str(), line, column) == (name, expected.line, expected.column)
    };
    if found.len() == 1 && found.iter().all(fits) {
        return Vec::new();
    }
    let all: Vec<String> = found.iter().map(|finding| shown(&loaded, finding)).collect();
    vec![format!("{name}: expected {expected:?}, found {all:#?}")]
}

#[test]
fn every_wrong_example_gives_exactly_its_message() {
    let wrong = wrong_files();
    let mut library = examples();
    library.extend(wrong.iter().map(|(name, text)| (format!("wrong/{name}"), text.clone())));
    let (mut seen, mut names, mut faults) = (0, Vec::new(), Vec::new());
    for (name, text) in &wrong {
        let Some(expected) = Expected::read(text) else {
            // In a folder of its own, an example may have files that it uses.
            if !name.contains('/') {
                faults.push(format!("{name}: the first line does not say what to expect"));
            }
            continue;
        };
        seen += 1;
        faults.extend(differences(&library, &format!("wrong/{name}"), &expected));
        names.push(expected.name);
    }
    names.sort_unstable();
    names.dedup();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(seen >= 25, "only {seen} wrong examples");
    assert!(names.len() >= 25, "only {} kinds of fault: {names:?}", names.len());
}

#[test]
fn another_finding_another_place_or_one_more_is_a_difference() {
    let text = "# expect error unknown-entry at 4:3\nsheet thin {\n  material cast_acrylic\n  thicknes 2 mm\n  colour clear\n}\n";
    let expected = Expected::read(text).unwrap();
    let mut library = examples();
    let mut run = |text: &str, expected: &Expected| {
        library.insert("wrong/a.withy".to_owned(), text.to_owned());
        differences(&library, "wrong/a.withy", expected).len()
    };
    assert_eq!(run(text, &expected), 0);
    assert_eq!(run(text, &Expected { line: 5, ..Expected::read(text).unwrap() }), 1);
    assert_eq!(run(text, &Expected { column: 4, ..Expected::read(text).unwrap() }), 1);
    assert_eq!(run(text, &Expected { word: "warning".to_owned(), ..Expected::read(text).unwrap() }), 1);
    assert_eq!(run(text, &Expected { name: "unknown-name".to_owned(), ..Expected::read(text).unwrap() }), 1);
    assert_eq!(run(&text.replace("thicknes ", "thickness "), &expected), 1);
    assert_eq!(run(&format!("{text}sheet thin {{ }}\n"), &expected), 1);
    for header in ["# expect error", "# expect errors a at 1:1", "# expect error a at 1", "expect error a at 1:1", ""] {
        assert_eq!(Expected::read(header), None, "{header}");
    }
}
