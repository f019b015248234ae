//! Rehearsals of the examples: an ideal person takes the times of the schedule, every part comes out, and each fault
//! ends as physics and the rules of the controller demand.

use std::collections::BTreeMap;

use jsonschema::Validator;
use serde_json::{Value, json};
use withy::emit::{REHEARSAL_SCHEMA, rehearsal_json, rehearsal_svg, rehearsal_text};
use withy::library::{Checked, Loaded, NotRehearsed, Plan, Rehearse, rehearsal, trouble};
use withy::plan::schedule::{Schedule, Work};
use withy::rehearse::{Act, Rehearsal, Weight};

use crate::common::{checked, examples, memory};

/// Presses and contacts cost a tenth of a second for each pass, and a batch of a day has hundreds: a thousandth of the
/// time, and a second, is what an ideal person may be off.
fn near(found: i64, planned: u64) -> bool {
    let planned = i64::try_from(planned).unwrap();
    (found - planned).abs() <= 1_000 + planned / 1_000
}

fn library(file: &str) -> (Loaded, Checked) {
    checked(&memory(&examples()), &[&format!("recipes/{file}.withy")])
}

fn run_in(loaded: &Loaded, checked: &Checked, name: &str, faults: &[&str]) -> Result<Rehearsal, NotRehearsed> {
    let faults: Vec<_> = faults.iter().map(|fault| trouble(fault).unwrap()).collect();
    rehearsal(loaded, checked, Rehearse { name: Some(name), faults: &faults, parts: 1 })
}

fn run(file: &str, name: &str, faults: &[&str]) -> Rehearsal {
    let (loaded, checked) = library(file);
    run_in(&loaded, &checked, name, faults).unwrap()
}

/// What hands begin, by lane: the start of each, in order, with what it is.
fn begun(own: &Rehearsal) -> BTreeMap<String, Vec<(i64, &'static str)>> {
    let words = [("lays", "load"), ("shifts", "reposition"), ("swings the arm:", "bend"), ("takes the part", "unload")];
    let mut all: BTreeMap<String, Vec<(i64, &'static str)>> = BTreeMap::new();
    for moment in own.moments.iter().filter(|moment| moment.who == Act::Person) {
        let word = words.iter().find(|(begins, _)| moment.what.starts_with(begins));
        if let Some((lane, (_, word))) = moment.lane.zip(word) {
            all.entry(own.lanes[lane].clone()).or_default().push((moment.time, word));
        }
    }
    all
}

fn scheduled(schedule: &Schedule, arm: impl Fn(usize) -> String) -> BTreeMap<String, Vec<(u64, &'static str)>> {
    let mut all: BTreeMap<String, Vec<(u64, &'static str)>> = BTreeMap::new();
    for task in &schedule.tasks {
        let word = match task.work {
            Work::Load => "load",
            Work::Reposition => "reposition",
            Work::Bend => "bend",
            Work::Unload => "unload",
            Work::WarmUp | Work::Press | Work::Heat | Work::Set => continue,
        };
        let arms: Vec<String> = schedule.lanes[task.lane].arms.iter().map(|own| arm(*own)).collect();
        all.entry(arms.join(" + ")).or_default().push((task.start, word));
    }
    all
}

#[test]
fn an_ideal_person_takes_the_times_of_a_batch_over_two_arms() {
    for name in ["field_lab", "reading_room"] {
        let (loaded, checked) = library(name);
        let own = run_in(&loaded, &checked, name, &[]).unwrap();
        let made = checked.made.iter().find(|made| made.name == name).unwrap();
        let Some(Plan::Batch(plan)) = &made.plan else { panic!("{name} is no batch") };
        let arms = &plan.runs[0].plan.recipe.bench.arms;
        let planned = scheduled(&plan.schedule, |arm| arms[arm].name.clone());
        let found = begun(&own);
        assert_eq!(planned.len(), if name == "field_lab" { 2 } else { 1 }, "{name}: {:?}", planned.keys());
        assert_eq!(found.keys().collect::<Vec<_>>(), planned.keys().collect::<Vec<_>>());
        for (lane, planned) in &planned {
            let words = |all: &[(i64, &'static str)]| all.iter().map(|(_, word)| *word).collect::<Vec<_>>();
            let first = found[lane].iter().zip(planned).position(|(found, planned)| found.1 != planned.1);
            assert_eq!(first, None, "{name} {lane}: {:?}", first.map(|at| (&found[lane][at], &planned[at])));
            assert_eq!(words(&found[lane]), planned.iter().map(|(_, word)| *word).collect::<Vec<_>>(), "{name} {lane}");
            for ((found, word), (planned, _)) in found[lane].iter().zip(planned) {
                assert!(near(*found, *planned), "{name} {lane}: {word} at {found} ms, {planned} in the schedule");
            }
        }
        let asked: u64 = plan.runs.iter().map(|run| run.times).sum();
        assert_eq!((own.good, own.spoilt), (asked, 0), "{name}");
        assert!(own.is_clean(), "{name}: {:?}", own.findings);
        // Two heats at once, and never more than the supply gives.
        assert!(own.supplies.iter().all(|supply| supply.peak > 0.0 && supply.peak <= supply.long), "{own:?}");
    }
}

#[test]
fn every_recipe_of_the_examples_makes_a_good_part_in_the_time_of_its_schedule() {
    let names: Vec<String> = examples().into_keys().filter(|name| name.starts_with("recipes/")).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let (loaded, checked) = checked(&memory(&examples()), &names);
    let mut seen = 0;
    for made in &checked.made {
        let Some(Plan::Recipe(plan)) = &made.plan else { continue };
        let own = run_in(&loaded, &checked, &made.name, &[]).unwrap();
        assert_eq!((own.good, own.spoilt), (1, 0), "{}", made.name);
        assert!(own.is_clean(), "{}: {:?}", made.name, own.findings);
        assert!(
            own.bends.len() == plan.bends.len() && own.bends.iter().all(|bend| bend.sheet.is_some()),
            "{}",
            made.name
        );
        for heater in &own.heaters {
            assert!(heater.longest <= heater.limit, "{}: {heater:?}", made.name);
        }
        // Rows by thickness hold as long as the thickest sheet needs, so those parts take longer.
        let all = begun(&own).into_values().flatten().collect::<Vec<_>>();
        let (first, last) =
            (all.iter().map(|(at, _)| *at).min().unwrap(), all.iter().map(|(at, _)| *at).max().unwrap());
        let unload = plan.schedule.tasks.iter().find(|task| task.work == Work::Unload).unwrap().start;
        if own.row.is_none() {
            assert!(near(last - first, unload), "{}: {} ms, {unload} in the schedule", made.name, last - first);
        }
        seen += 1;
    }
    assert!(seen >= 20, "{seen}");
}

fn danger(own: &Rehearsal) -> Vec<&str> {
    own.findings
        .iter()
        .filter(|finding| finding.weight == Weight::Danger)
        .map(|finding| finding.text.as_str())
        .collect()
}

fn at(own: &Rehearsal, who: Act, begins: &str) -> i64 {
    own.moments.iter().find(|moment| moment.who == who && moment.what.contains(begins)).unwrap().time
}

/// Whatever is pressed, cut or held up: everything is off at once, the part is lost, and no heater passes its limit.
#[test]
fn what_must_stop_everything_does_so_at_once() {
    let cases = [
        ("stop@400s", "fault 1"),
        ("held-up@400s", "fault 3"),
        ("sensor-stuck@340s", "fault 6"),
        ("down-stuck@300s", "fault 7"),
        ("memory-flip@400s", "fault 8"),
        ("chatter@400s", "fault 11"),
    ];
    for (fault, code) in cases {
        let own = run("light_table", "light_table_run", &[fault]);
        let (came, seen) = (at(&own, Act::Fault, ""), at(&own, Act::Controller, code));
        let heat_ends = at(&own, Act::Controller, "heater off").min(seen);
        // A sensor that tells of current is believed while there should be some; 1.5 s after that it is not.
        let within = match fault.split('@').next().unwrap() {
            "sensor-stuck" => heat_ends - came + 2_000,
            "memory-flip" => 3_000,
            "chatter" => 1_000,
            _ => 300,
        };
        assert!((0..=within).contains(&(seen - came)), "{fault}: {seen} ms, came at {came} ms");
        let last = own.heater_traces[0].points.iter().filter(|point| point.1 > 0.0).map(|point| point.0).max().unwrap();
        assert!(last <= seen + 2_000, "{fault}: heat at {last} ms, everything off at {seen} ms");
        assert_eq!((own.good, danger(&own)), (0, vec![]), "{fault}");
        assert!(own.heaters.iter().all(|heater| heater.longest <= heater.limit), "{fault}");
    }
}

#[test]
fn returning_power_resumes_nothing() {
    let own = run("light_table", "light_table_run", &["power-cut@250s"]);
    let heat = |from: i64| own.heater_traces[0].points.iter().filter(|point| point.0 > from && point.1 > 0.0).count();
    assert!(heat(0) > 10 && heat(252_000) == 0, "{:?}", own.moments);
    assert_eq!((own.good, danger(&own)), (0, vec![]));
}

/// Nobody there for the bend: the part is scrapped, no longer heat than planned, and the next part is good.
#[test]
fn a_late_person_loses_the_part_and_nothing_else() {
    let own = run("light_table", "light_table_run", &["late-hands"]);
    assert_eq!((own.good, own.spoilt, danger(&own)), (1, 1, vec![]));
    let missed: Vec<_> = own.bends.iter().filter(|bend| bend.transfer.is_none()).collect();
    assert!(missed.len() == 1 && missed[0].part == 0 && missed[0].verdict == "not bent", "{missed:?}");
    assert!(own.bends.iter().filter(|bend| bend.part == 1).all(|bend| bend.good));
    assert!(own.heaters.iter().all(|heater| heater.longest <= heater.limit));
}

#[test]
fn an_arm_that_is_never_seen_down_ends_it_after_three_parts() {
    let own = run("light_table", "light_table_run", &["down-dead"]);
    assert_eq!((own.good, own.spoilt), (0, 3));
    assert!(own.findings.iter().any(|finding| finding.text.contains("3 parts in a row")), "{:?}", own.findings);
}

/// With a current input the isolator opens within 2 s (program.md); without one nothing tells, and the rehearsal says
/// what the bench lacks.
#[test]
fn a_switch_that_fails_closed_is_cut_off_where_a_current_input_tells() {
    let own = run("light_table", "light_table_run", &["switch-closed:left@300s"]);
    assert_eq!(danger(&own), Vec::<&str>::new());
    let cut = own.findings.iter().find(|finding| finding.text.contains("failed closed; current flowed for")).unwrap();
    let flowed: f64 = cut.text.split("flowed for ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!(flowed > 0.5 && flowed <= 2.0, "{}", cut.text);
    assert!(own.moments.iter().any(|moment| moment.what.contains("fault 6")));
    // The sheet on it was heated for that much longer, if it still lay there.
    assert!(own.heaters[0].longest <= own.heaters[0].limit);

    let mut files = examples();
    let bench = files.get_mut("bench/north.withy").unwrap();
    let gone = ["  input 6 current left_line\n", "  input 7 current right_line\n", "  output 2 isolates rail_12v\n"];
    *bench = gone.iter().fold(bench.clone(), |text, gone| text.replace(gone, ""));
    let (loaded, checked) = checked(&memory(&files), &["recipes/light_table.withy"]);
    let own = run_in(&loaded, &checked, "light_table_run", &["switch-closed:left@300s"]).unwrap();
    let told = danger(&own).join("\n");
    for wanted in [
        "`input … current left_line`",
        "a second switch in series",
        "presses the stop button, which breaks the supply by hardware",
        "left_line was hot for",
    ] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    assert!(own.heaters[0].longest > 600.0 && own.heaters[0].longest > own.heaters[0].limit);
}

#[test]
fn a_dead_sensor_is_told_of_although_nothing_happens() {
    let own = run("light_table", "light_table_run", &["sensor-open"]);
    assert!(
        own.good == 1 && danger(&own).len() == 1 && danger(&own)[0].contains("every morning"),
        "{:?}",
        own.findings
    );
}

/// Colder, weaker, thinner: each moves the sheet as physics has it, and the row of the measured thickness mends the
/// thickness.
#[test]
fn conditions_move_the_sheet_the_way_they_must() {
    let mean = |own: &Rehearsal| own.bends[0].sheet.unwrap().mean;
    let hottest = |own: &Rehearsal| own.bends[0].sheet.unwrap().hottest;
    let with = |fault: &str| run("light_table", "light_table_run", &[fault]);
    let plain = run("light_table", "light_table_run", &[]);
    for colder in ["cold-room", "low-supply", "weak-heater", "wrong-row"] {
        let own = with(colder);
        assert!(mean(&own) < mean(&plain) - 0.5 && hottest(&own) < hottest(&plain), "{colder}");
    }
    for warmer in ["warm-room", "high-supply"] {
        assert!(mean(&with(warmer)) > mean(&plain) + 0.5, "{warmer}");
    }
    let weak = with("weak-heater");
    assert!(!weak.bends[0].good && weak.bends[0].verdict.contains("TOO COLD"), "{:?}", weak.bends[0]);
    let thin = with("thin-sheet");
    assert!(thin.row.unwrap().1 < plain.row.unwrap().1 && thin.is_clean(), "{:?}", thin.findings);
    let dead = with("heater-dead");
    assert!(mean(&dead) < mean(&plain) - 40.0 && !dead.bends[0].good);
}

#[test]
fn what_makes_no_sense_on_a_bench_is_refused_in_words() {
    let (loaded, checked) = library("light_table");
    let why = |fault: &str| match run_in(&loaded, &checked, "light_table_run", &[fault]) {
        Err(NotRehearsed::Wrong(why)) => why,
        other => panic!("{other:?}"),
    };
    assert_eq!(why("guard-open"), "`guard-open`: the controller has no `guard` input");
    assert_eq!(why("stop:middle"), "`stop:middle`: no arm `middle` is heated; there are left");
    let (loaded, checked) = library("tent_card");
    let asked = Rehearse { name: None, faults: &[], parts: 1 };
    let NotRehearsed::Wrong(why) = rehearsal(&loaded, &checked, asked).unwrap_err() else { panic!() };
    assert!(why.starts_with("name the recipe or batch to rehearse: "), "{why}");
}

#[test]
fn the_report_is_read_as_a_table_and_follows_its_schema() {
    let own = run("light_table", "light_table_run", &["stop@400s"]);
    insta::assert_snapshot!("rehearsal_stopped", rehearsal_text(&own, 140));
    let schema: Value = serde_json::from_str(include_str!("../grammar/rehearsal.schema.json")).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    assert_eq!(schema["$id"], REHEARSAL_SCHEMA);
    let validator: Validator = jsonschema::draft202012::new(&schema).unwrap();
    for own in [own, run("light_table", "light_table_run", &[]), run("riser", "riser_run", &["late-hands"])] {
        let document: Value = serde_json::from_str(&rehearsal_json(&own)).unwrap();
        let faults: Vec<String> = validator.iter_errors(&document).map(|fault| fault.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new());
        for (place, worse) in [
            ("/schema", json!("withy:rehearsal:2")),
            ("/good", json!(-1)),
            ("/bends/0/part", json!(0)),
            ("/bends/0/verdict", json!(7)),
            ("/moments/0/who", json!("nobody")),
            ("/heaters/0/limit_s", Value::Null),
        ] {
            let mut damaged = document.clone();
            *damaged.pointer_mut(place).unwrap() = worse;
            assert!(!validator.is_valid(&damaged), "{place}");
        }
        let svg = rehearsal_svg(&own);
        assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n"));
        assert!(svg.contains("class=\"face\"") && svg.contains("class=\"heat\""));
    }
}
