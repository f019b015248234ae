//! The library in CI: settings, reports that other programs read, baselines, changes since a revision, and the set-ups
//! that are there to be copied.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::binary::{SHEET, folder_with, started, withy};
use crate::common::root;
use crate::python::python;

fn read(folder: &Path, name: &str) -> String {
    fs::read_to_string(folder.join(name)).unwrap()
}

fn change(folder: &Path, name: &str, from: &str, to: &str) {
    let text = read(folder, name);
    assert!(text.contains(from), "{from} in {name}");
    fs::write(folder.join(name), text.replacen(from, to, 1)).unwrap();
}

/// A new library with a caution in its recipe (released soft), an acceptance, and a part without a doc comment.
fn with_findings() -> TempDir {
    let library = started();
    change(library.path(), "recipes/tray.withy", "    set computed", "    set 20 s");
    change(
        library.path(),
        "recipes/tray.withy",
        "  order",
        "  accept uncalibrated-heater because \"strips on Monday\"\n  order",
    );
    change(library.path(), "parts/tray.withy", "## A tray for microscope slides: a flat U.\n", "");
    library
}

#[test]
fn settings_decide_what_fails_and_what_is_said() {
    let library = with_findings();
    let lint = |arguments: &[&str]| withy(&[&["lint", "--report", "short"], arguments].concat(), library.path());
    let run = lint(&[]);
    assert_eq!(run.code, 0, "{}", run.out);
    assert!(run.out.contains("caution short-set") && run.out.contains("hint undocumented-part"), "{}", run.out);
    change(library.path(), "withy.toml", "fail_on = \"warning\"", "fail_on = \"caution\"");
    assert_eq!(lint(&[]).code, 1);
    assert_eq!(lint(&["--fail-on", "danger"]).code, 0, "the command line counts for more");
    fs::write(
        library.path().join("withy.toml"),
        "fail_on = \"caution\"\n[levels]\nlibrary = \"off\"\nshort-set = \"notice\"\nunproved-window = \"warning\"\n",
    )
    .unwrap();
    let run = lint(&[]);
    assert_eq!(run.code, 1);
    assert!(run.out.contains("notice short-set") && run.out.contains("warning unproved-window"), "{}", run.out);
    assert!(!run.out.contains("undocumented-part") && !run.out.contains("idle"), "{}", run.out);
}

#[test]
fn wrong_settings_are_shown_at_their_place() {
    let library = started();
    change(library.path(), "withy.toml", "fail_on = \"warning\"", "fial_on = \"warning\"  # µ");
    change(library.path(), "withy.toml", "[levels]", "[levels]\nmissing-shield = \"hint\"");
    let run = withy(&["lint", "recipes"], library.path());
    assert_eq!(run.code, 1);
    let shown = run.out.split("withy.toml:10:1 ]").nth(1).unwrap_or_else(|| panic!("{}", run.out));
    assert!(shown.contains("fial_on = \"warning\"  # µ") && shown.contains("write `fail_on`"), "{}", run.out);
    assert!(run.out.contains("error danger-lowered: `missing-shield` stays a danger"), "{}", run.out);
    // The edit it offers can be made like any other, and compiling still works.
    assert_eq!(withy(&["compile", "recipes"], library.path()).code, 1);
    assert!(library.path().join("out/tray/tray_run/steps.csv").is_file());
}

#[test]
fn a_danger_stays_one_whatever_is_set() {
    let library = started();
    change(library.path(), "bench/first.withy", "  shield { metal aluminium, mass 0.1 kg/m }\n", "");
    for group in ["wire = \"off\"", "missing-shield = \"off\"", "missing-shield = \"notice\""] {
        fs::write(library.path().join("withy.toml"), format!("fail_on = \"danger\"\n[levels]\n{group}\n")).unwrap();
        let run = withy(&["lint", "--report", "short", "."], library.path());
        assert_eq!(run.code, 1, "{}", run.out);
        assert!(run.out.contains("danger missing-shield"), "{group}: {}", run.out);
    }
}

#[test]
fn a_rule_that_is_raised_to_a_danger_blocks_and_cannot_be_accepted() {
    let library = with_findings();
    fs::write(library.path().join("withy.toml"), "[levels]\nuncalibrated-heater = \"danger\"\n").unwrap();
    let run = withy(&["compile", "recipes"], library.path());
    assert_eq!(run.code, 1);
    assert!(run.out.contains("danger-accepted") && !library.path().join("out").exists(), "{}", run.out);
}

#[test]
fn without_names_the_settings_name_the_files() {
    let library = started();
    fs::write(library.path().join("parts/loose.withy"), SHEET.replace("thickness", "thicknes")).unwrap();
    let inside = library.path().join("recipes");
    let run = withy(&["lint", "--report", "short"], &inside);
    assert!(run.code == 1 && run.out.starts_with("../parts/loose.withy:4:3"), "{}{}", run.out, run.err);
    let run = withy(&["compile"], library.path());
    assert_eq!(run.code, 0, "only the targets: {}", run.out);
    change(library.path(), "withy.toml", "\"parts\", ", "");
    assert_eq!(withy(&["lint"], library.path()).code, 0);
    assert_eq!(withy(&["lint", "."], library.path()).code, 0, "the root stands for its sources");
    assert_eq!(withy(&["lint", "parts"], library.path()).code, 1);
    let bare = folder_with(&[("a.withy", SHEET.as_bytes())]);
    let run = withy(&["lint"], bare.path());
    assert!(run.code == 2 && run.err.contains("withy.toml"), "{}", run.err);
}

#[test]
fn the_settings_of_the_examples_hold() {
    let run = withy(&["lint", "--report", "short"], &root().join("examples"));
    assert!(!run.out.contains("withy.toml") && run.err.is_empty(), "{}{}", run.out, run.err);
    assert_eq!(run.code, 0, "{}", run.out);
}

fn schema(name: &str) -> Value {
    serde_json::from_str(&read(root(), name)).unwrap()
}

/// What is wrong with a log by the OASIS schema; its one pattern that is no regular expression is not used here.
fn sarif_errors(log: &Value) -> Vec<String> {
    let mut schema = schema("tests/report/sarif-2.1.0.schema.json");
    for object in ["run", "toolComponent"] {
        schema["definitions"][object]["properties"]["language"]["pattern"] = json!("");
    }
    let validator = jsonschema::draft7::new(&schema).unwrap();
    validator.iter_errors(log).map(|error| format!("{} {error}", error.instance_path())).collect()
}

#[test]
fn sarif_of_real_findings_is_valid_and_complete() {
    let library = with_findings();
    let known = library.path().join("known.json");
    let known = known.to_str().unwrap();
    assert_eq!(withy(&["lint", "--baseline", known, "--record"], library.path()).code, 0);
    fs::write(library.path().join("parts/loose.withy"), SHEET.replace("thickness", "thicknes")).unwrap();
    let run = withy(&["lint", "--baseline", known, "--report", "sarif"], library.path());
    let log: Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(sarif_errors(&log), Vec::<String>::new());
    let results = log["runs"][0]["results"].as_array().unwrap();
    let of = |rule: &str| results.iter().find(|result| result["ruleId"] == rule).unwrap_or_else(|| panic!("{rule}"));
    assert_eq!(of("uncalibrated-heater")["suppressions"][0]["kind"], "inSource");
    assert_eq!(of("uncalibrated-heater")["suppressions"][0]["justification"], "strips on Monday");
    assert_eq!(of("short-set")["suppressions"][0]["kind"], "external");
    let fix = &of("unknown-entry")["fixes"][0]["artifactChanges"][0];
    assert_eq!(fix["artifactLocation"]["uri"], "parts/loose.withy");
    assert_eq!(fix["replacements"][0]["insertedContent"]["text"], "thickness");
    for result in results.iter().filter(|result| result["ruleIndex"].is_u64()) {
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(log["runs"][0]["tool"]["driver"]["rules"][index]["id"], result["ruleId"]);
    }
    let wrong = withy(&["lint", "--report", "sarif", "examples/wrong"], root());
    let log: Value = serde_json::from_str(&wrong.out).unwrap();
    assert_eq!(sarif_errors(&log), Vec::<String>::new());
    assert!(log["runs"][0]["results"].as_array().unwrap().len() > 100);
}

#[test]
fn json_of_real_findings_is_valid() {
    let validator = jsonschema::draft202012::new(&schema("grammar/findings.schema.json")).unwrap();
    let library = with_findings();
    withy(&["lint", "--baseline", "known.json", "--record"], library.path());
    let run = withy(&["lint", "--baseline", "known.json", "--report", "json"], library.path());
    let report: Value = serde_json::from_str(&run.out).unwrap();
    assert!(validator.is_valid(&report), "{:?}", validator.iter_errors(&report).map(|e| e.to_string()).next());
    assert!(report["counts"]["known"].as_u64().unwrap() > 1 && report["counts"]["accepted"] == 1, "{}", run.out);
    let baseline: Value = serde_json::from_str(&read(library.path(), "known.json")).unwrap();
    let validator = jsonschema::draft202012::new(&schema("grammar/baseline.schema.json")).unwrap();
    assert!(validator.is_valid(&baseline), "{baseline}");
    for damage in [json!({ "short-set": 0 }), json!({ "Short": 1 }), json!(3)] {
        let mut damaged = baseline.clone();
        damaged["files"]["recipes/tray.withy"] = damage;
        assert!(!validator.is_valid(&damaged), "{damaged}");
    }
}

/// Read by the library `junitparser`, which knows nothing of ours.
#[test]
fn junit_is_read_by_an_independent_parser() {
    let Some(python) = python("junitparser") else { return };
    let library = with_findings();
    fs::write(library.path().join("parts/loose.withy"), SHEET.replace("thickness", "thicknes")).unwrap();
    let script = "import sys; from junitparser import JUnitXml\n\
                  x = JUnitXml.fromfile(sys.argv[1])\n\
                  print(x.tests, x.errors, x.failures, x.skipped, ' '.join(sorted(s.name for s in x)))";
    let parsed = |arguments: &[&str]| {
        let run = withy(&[&["lint", "--report", "junit"], arguments].concat(), library.path());
        let file = library.path().join("report.xml");
        fs::write(&file, run.out).unwrap();
        let output = Command::new(&python).args(["-c", script]).arg(file).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap().trim().to_owned()
    };
    let suites = "bench/first.withy parts/loose.withy parts/tray.withy recipes/tray.withy stock/acrylic.withy";
    // Findings: a wrong entry, what it leaves missing is not told; three of the recipe, one accepted; a part without a
    // doc comment; and a case that passes for each of the two files without any.
    let usual = parsed(&[]);
    let strict = parsed(&["--fail-on", "caution"]);
    assert!(usual.ends_with(suites), "{usual}");
    let numbers = |text: &str| text.split(' ').take(4).map(|n| n.parse::<u32>().unwrap()).collect::<Vec<_>>();
    let (usual, strict) = (numbers(&usual), numbers(&strict));
    assert_eq!(usual[1..], [1, 0, 1], "errors, failures, skipped");
    assert_eq!((strict[0], strict[1], strict[3]), (usual[0], 1, 1));
    assert!(strict[2] > 0, "from caution on there are failures");
}

/// The set-ups for forges, held against the schemas that `check-jsonschema` carries for them.
#[test]
fn forge_files_are_valid() {
    let Some(python) = python("check_jsonschema") else { return };
    for (file, schema) in [
        ("github.yml", "vendor.github-workflows"),
        ("gitlab.yml", "vendor.gitlab-ci"),
        ("forgejo.yml", "vendor.github-workflows"),
        ("woodpecker.yml", "vendor.woodpecker-ci"),
    ] {
        let path = root().join("examples/ci").join(file);
        let check = |path: &Path| {
            let arguments = ["-m", "check_jsonschema", "--builtin-schema", schema];
            Command::new(&python).args(arguments).arg(path).output().unwrap()
        };
        let output = check(&path);
        assert!(output.status.success(), "{file}: {}", String::from_utf8_lossy(&output.stdout));
        let folder = folder_with(&[("damaged.yml", b"jobs: [1]\nsteps: 7\nrecipes: {script: {}}\n")]);
        assert!(!check(&folder.path().join("damaged.yml")).status.success(), "{file}: nothing is ever wrong");
    }
}

#[test]
fn a_baseline_forgives_what_is_old_and_only_shrinks() {
    let library = with_findings();
    let path = "recipes/tray.withy";
    let lint = |more: &[&str]| {
        let arguments =
            [&["lint", "--report", "short", "--fail-on", "hint", "--baseline", "known.json"], more].concat();
        withy(&arguments, library.path())
    };
    let run = lint(&[]);
    assert!(run.code == 3 && run.err.contains("known.json"), "{}", run.err);
    let run = lint(&["--record"]);
    assert_eq!((run.code, run.out.as_str()), (0, ""), "{}", run.err);
    let recorded = read(library.path(), "known.json");
    assert_eq!(lint(&[]).code, 0);
    // Something new fails, and is told with all of its kind, since nobody can tell which of them is new.
    change(
        library.path(),
        "parts/tray.withy",
        "part tray {",
        "part lid { sheet clear_3, width 1 m, profile outside { leg 1 m } }\npart tray {",
    );
    let run = lint(&[]);
    assert_eq!(run.code, 1);
    assert_eq!(run.out.lines().filter(|line| line.contains("undocumented-part")).count(), 2, "{}", run.out);
    let text = withy(&["lint", "--baseline", "known.json"], library.path()).out;
    assert!(text.contains("The baseline knows 1 of the 2 findings"), "{text}");
    // Recording again adds nothing.
    assert_eq!(lint(&["--record"]).code, 1);
    assert_eq!(read(library.path(), "known.json"), recorded);
    // What is mended is struck, and comes back as new.
    change(library.path(), path, "    set 20 s", "    set computed");
    let run = lint(&[]);
    assert!(run.err.contains("--record"), "{}", run.err);
    assert_eq!(read(library.path(), "known.json"), recorded, "without being asked nothing is written");
    let run = lint(&["--record"]);
    assert!(run.err.contains("struck: "), "{}", run.err);
    let struck = read(library.path(), "known.json");
    assert!(recorded.contains("short-set") && !struck.contains("short-set"), "{struck}");
    change(library.path(), path, "    set computed", "    set 20 s");
    assert!(lint(&["--record"]).out.contains("caution short-set"));
    assert_eq!(read(library.path(), "known.json"), struck);
    // Of a part of the library nobody can tell what is gone.
    assert_eq!(withy(&["lint", "--baseline", "known.json", "--record", "recipes"], library.path()).code, 2);
}

#[test]
fn a_baseline_never_forgives_errors_and_dangers() {
    let library = started();
    change(library.path(), "bench/first.withy", "  shield { metal aluminium, mass 0.1 kg/m }\n", "");
    fs::write(library.path().join("parts/loose.withy"), SHEET.replace("thickness", "thicknes")).unwrap();
    let run = withy(&["lint", "--baseline", "known.json", "--record"], library.path());
    assert_eq!(run.code, 1);
    assert!(!read(library.path(), "known.json").contains("missing-shield"));
    // Not even where somebody writes them in.
    let forged = json!({ "schema": "withy:baseline:1", "files": {
        "bench/first.withy": { "missing-shield": 9 }, "parts/loose.withy": { "unknown-entry": 9, "missing-entry": 9 },
    } });
    fs::write(library.path().join("known.json"), forged.to_string()).unwrap();
    let run = withy(&["lint", "--report", "short", "--baseline", "known.json"], library.path());
    assert_eq!(run.code, 1);
    assert!(run.out.contains("danger missing-shield") && run.out.contains("unknown-entry"), "{}", run.out);
    for wrong in ["", "{}", "[1]", "{\"schema\": \"withy:baseline:2\", \"files\": {}}"] {
        fs::write(library.path().join("known.json"), wrong).unwrap();
        assert_eq!(withy(&["lint", "--baseline", "known.json"], library.path()).code, 3, "{wrong}");
    }
}

fn git(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new("git");
    command.args(["-c", "user.name=Workshop", "-c", "user.email=workshop@example.org", "-c", "commit.gpgsign=false"]);
    let output = command.args(arguments).current_dir(folder).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    output
}

/// A repository whose library lies in a folder of it.
fn repository() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(withy(&["start", "shop"], folder.path()).code, 0);
    fs::write(folder.path().join("shop/parts/loose.withy"), SHEET.replace("## Measured µm by µm.\n", "")).unwrap();
    git(folder.path(), &["init", "-q", "-b", "main"]);
    git(folder.path(), &["add", "."]);
    git(folder.path(), &["commit", "-q", "-m", "First"]);
    folder
}

#[test]
fn only_what_changed_and_its_users_are_looked_at() {
    let repository = repository();
    let shop = repository.path().join("shop");
    let looked_at = |revision: &str| {
        let run = withy(&["lint", "--report", "junit", "--since", revision], &shop);
        assert_eq!(run.code, 0, "{}{}", run.out, run.err);
        let names = run.out.split("<testsuite name=\"").skip(1).map(|rest| rest.split('"').next().unwrap());
        names.map(str::to_owned).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(looked_at("HEAD"), "");
    change(&shop, "stock/acrylic.withy", "language 1", "language 1\n\n# changed");
    let users = looked_at("main");
    for name in ["stock/acrylic.withy", "parts/tray.withy", "recipes/tray.withy"] {
        assert!(users.contains(name), "{users}");
    }
    assert!(!users.contains("loose"), "{users}");
    git(&shop, &["commit", "-q", "-a", "-m", "Second"]);
    assert_eq!(looked_at("HEAD"), "");
    assert!(looked_at("HEAD~1").contains("recipes/tray.withy"));
    fs::write(shop.join("parts/n\u{e9}w.withy"), SHEET).unwrap();
    assert_eq!(looked_at("HEAD"), "parts/n\u{e9}w.withy", "what git does not know yet");
    change(&shop, "withy.toml", "\"warning\"", "\"caution\"");
    assert!(looked_at("HEAD").contains("loose"), "the settings concern all");
}

#[test]
fn a_file_that_is_gone_concerns_those_that_use_it() {
    let repository = repository();
    let shop = repository.path().join("shop");
    fs::remove_file(shop.join("stock/acrylic.withy")).unwrap();
    let run = withy(&["lint", "--report", "short", "--since", "HEAD"], &shop);
    assert_eq!(run.code, 1);
    assert!(run.out.contains("parts/tray.withy:3:5: error unreadable-use"), "{}", run.out);
}

#[test]
fn a_revision_that_is_none_is_told() {
    let repository = repository();
    let shop = repository.path().join("shop");
    for revision in ["no-such-branch", "--help", "-q", "HEAD; true"] {
        let run = withy(&["lint", &format!("--since={revision}")], &shop);
        assert!(run.code == 3 && run.err.contains("no revision"), "{revision}: {}", run.err);
    }
    let library = started();
    let run = withy(&["lint", "--since", "HEAD"], library.path());
    assert_eq!(run.code, 3, "not a repository: {}", run.err);
}

/// The path on which the scripts find the program.
fn with_program(command: &mut Command) -> &mut Command {
    let program = Path::new(env!("CARGO_BIN_EXE_withy")).parent().unwrap().to_str().unwrap();
    command.env("PATH", format!("{program}:{}", std::env::var("PATH").unwrap()))
}

#[test]
fn the_check_for_any_shell_does_as_it_says() {
    let repository = repository();
    let shop = repository.path().join("shop");
    let check = |argument: Option<&str>| {
        let mut command = Command::new("sh");
        command.arg("shop/check").args(argument).current_dir(repository.path()).env("REPORTS", "reports");
        with_program(&mut command).output().unwrap().status.code().unwrap()
    };
    assert_eq!(check(None), 0);
    let log: Value = serde_json::from_str(&read(&shop, "reports/withy.sarif")).unwrap();
    assert_eq!(sarif_errors(&log), Vec::<String>::new());
    assert!(read(&shop, "reports/withy.xml").starts_with("<?xml"));
    assert_eq!(check(Some("HEAD")), 0);
    change(&shop, "recipes/tray.withy", "    set computed", "    set 2 m");
    assert_eq!(check(None), 1);
    assert_eq!(check(Some("HEAD")), 1);
    assert_eq!(check(Some("no-such-branch")), 3);
    change(&shop, "recipes/tray.withy", "    set 2 m", "    set   computed");
    assert_eq!(check(None), 1, "not formatted");
}

#[cfg(unix)]
#[test]
fn the_hook_stops_a_commit_with_a_mistake() {
    use std::os::unix::fs::PermissionsExt;
    let repository = repository();
    let shop = repository.path().join("shop");
    let hook = repository.path().join(".git/hooks/pre-commit");
    fs::create_dir_all(hook.parent().unwrap()).unwrap();
    fs::copy(root().join("examples/ci/pre-commit"), &hook).unwrap();
    fs::set_permissions(&hook, fs::Permissions::from_mode(0o755)).unwrap();
    let commit = || {
        let mut command = Command::new("git");
        command.args(["-c", "user.name=W", "-c", "user.email=w@example.org", "commit", "-q", "-a", "-m", "Next"]);
        command.current_dir(&shop).env("LIBRARY", "shop");
        with_program(&mut command).output().unwrap().status.success()
    };
    change(&shop, "recipes/tray.withy", "    set computed", "    set 2 m");
    assert!(!commit());
    change(&shop, "recipes/tray.withy", "    set 2 m", "    set 3 min");
    assert!(commit());
}

/// `script` gives the program a terminal of its own.
#[cfg(target_os = "linux")]
#[test]
fn a_long_run_shows_how_far_it_has_come() {
    let library = started();
    let recipe = read(library.path(), "recipes/tray.withy");
    let start = recipe.find("## The first").unwrap();
    let many: String = (0..60)
        .map(|number| {
            let own = recipe[start..].replace("tray_run", &format!("tray_run_{number}"));
            own.replace("18..26 degC", &format!("{}..26 degC", 10.0 + 0.1 * f64::from(number)))
        })
        .collect();
    fs::write(library.path().join("recipes/many.withy"), format!("{}{many}", &recipe[..start])).unwrap();
    let command = format!("{} lint --no-cache --report short recipes/many.withy", env!("CARGO_BIN_EXE_withy"));
    let shown = |command: &str| {
        let mut script = Command::new("script");
        script.args(["-qec", command, "/dev/null"]).current_dir(library.path()).env("TERM", "xterm-256color");
        String::from_utf8(script.output().unwrap().stdout).unwrap()
    };
    let text = shown(&command);
    assert!(text.contains("recipes computed"), "{text}");
    assert!(!shown(&format!("{command} 2>&1 | cat")).contains("recipes computed"));
}

/// The bar of a long run belongs on a terminal's standard error, never into a pipe.
#[test]
fn nothing_moves_where_nobody_looks() {
    let library = started();
    for report in ["text", "json"] {
        let run = withy(&["lint", "--no-cache", "--report", report], library.path());
        assert_eq!(run.err, "");
        assert!(!run.out.contains("recipes computed"));
    }
}
