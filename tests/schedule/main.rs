//! Schedules of random batches against a general constraint solver, and against the rules of the bench.
//!
//! Needs a Python with `ortools`: the one `WITHY_PYTHON` names, else `python3`. Where `WITHY_PYTHON` or `CI` is set, a
//! missing library is a failure; elsewhere the test says that the comparison was not made.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "times and currents of a test are small")]

#[allow(dead_code, reason = "other tests share it")]
#[path = "../common/mod.rs"]
mod common;
mod instances;
#[path = "../support/python.rs"]
mod python;
mod rules;

use std::process::Command;

use serde_json::Value;
use withy::library::Plan;
use withy::plan::schedule::{Schedule, Work};

use crate::common::{checked, deep, examples, memory};
use crate::instances::{Instance, Size, instance, large, large_on_three_arms};
use crate::python::python;
use crate::rules::broken;

const SMALL: Size = Size { arms: 3, runs: 3, times: 2, bends: 2 };

/// What the solver finds for each: the least total, if it was reached, and a bound; ms.
fn solved(python: &str, facts: &[&Value], limit: f64) -> Vec<(Option<u64>, u64)> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("facts.json");
    std::fs::write(&file, serde_json::to_string(facts).unwrap()).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/schedule/solve.py");
    let output = Command::new(python).arg(script).arg(&file).arg(limit.to_string()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let lines = String::from_utf8(output.stdout).unwrap();
    let read = |line: &str| {
        let found: Value = serde_json::from_str(line).unwrap();
        (found["total"].as_u64(), found["bound"].as_u64().unwrap())
    };
    lines.lines().map(read).collect()
}

/// Whether every lane that ends last waits at some time for hands or current.
fn last_lanes_wait(schedule: &Schedule) -> bool {
    (0..schedule.lanes.len()).all(|lane| {
        let mut free = 0;
        let mut waits = false;
        for task in schedule.tasks.iter().filter(|task| task.lane == lane && task.work != Work::Heat) {
            waits |= task.start > free && task.work != Work::Bend;
            free = task.end;
        }
        waits || free < schedule.total
    })
}

/// 240 small batches in the long run, 40 in the short one, all with the same optimum as the solver's.
#[test]
fn small_batches_take_the_least_time_there_is() {
    let count = if deep() { 240 } else { 40 };
    let instances: Vec<Instance> = (0..count).map(|seed| instance(seed, SMALL)).collect();
    for instance in &instances {
        let faults = broken(&instance.facts, &instance.plan.schedule);
        assert!(faults.is_empty(), "{faults:#?}\n{}", instance.text);
        assert_eq!(instance.plan.schedule.total, instance.plan.schedule.bound, "not proved\n{}", instance.text);
    }
    let lanes = |count: usize| instances.iter().filter(|one| one.plan.schedule.lanes.len() == count).count();
    assert!(lanes(1) > 0 && lanes(2) > 0 && lanes(3) > 0, "{} {} {}", lanes(1), lanes(2), lanes(3));
    let Some(python) = python("ortools") else { return };
    let facts: Vec<&Value> = instances.iter().map(|one| &one.facts).collect();
    let found = solved(&python, &facts, 60.0);
    assert_eq!(found.len(), instances.len());
    let mut waits = 0;
    for (instance, (total, bound)) in instances.iter().zip(found) {
        let total = total.unwrap_or_else(|| panic!("the solver found nothing\n{}", instance.text));
        assert_eq!(total, bound, "the solver proved nothing\n{}", instance.text);
        assert_eq!(instance.plan.schedule.total, total, "{}", instance.text);
        waits += usize::from(last_lanes_wait(&instance.plan.schedule));
    }
    println!("{count} batches with the solver's optimum; in {waits} of them the lane that ends last has to wait");
    assert!(waits >= instances.len() / 8, "only {waits} batches in which lanes stand in each other's way");
}

/// The batches of the examples can be worked as they stand.
#[test]
fn the_examples_break_no_rule() {
    let names = ["recipes/field_lab.withy", "recipes/reading_room.withy"];
    let (_, checked) = checked(&memory(&examples()), &names);
    let mut seen = 0;
    for made in &checked.made {
        let Some(Plan::Batch(plan)) = &made.plan else { continue };
        let faults = broken(&instances::read(plan), &plan.schedule);
        assert!(faults.is_empty(), "{}: {faults:#?}", made.name);
        seen += 1;
    }
    assert_eq!(seen, 2);
}

/// Six runs at one arm, more orders than are tried, and nothing to be set between them: no order is shorter than another.
#[test]
fn runs_between_which_nothing_is_set_are_as_short_as_can_be() {
    let mut library = examples();
    let run = "  run tent_card_run 2 times from sorted_november\n";
    let text = format!(
        "language 1\n\nuse \"../stock/sorted.withy\"\nuse \"tent_card.withy\"\n\nbatch cards {{\n{}}}\n",
        run.repeat(6)
    );
    library.insert("recipes/cards.withy".to_owned(), text);
    let (_, checked) = checked(&memory(&library), &["recipes/cards.withy"]);
    let plan = checked.made.iter().find_map(|made| match &made.plan {
        Some(Plan::Batch(plan)) => Some(plan),
        _ => None,
    });
    let schedule = &plan.unwrap().schedule;
    assert_eq!(schedule.tasks.iter().filter(|task| task.work == Work::Unload).count(), 12);
    assert_eq!(schedule.total, schedule.bound);
}

/// What the rules are for: a schedule that was changed by hand is found out.
#[test]
fn a_broken_schedule_is_found_out() {
    let Instance { plan, facts, .. } = large(1);
    let whole = &plan.schedule;
    let broken_by = |change: &dyn Fn(&mut Schedule)| {
        let mut schedule = whole.clone();
        change(&mut schedule);
        !broken(&facts, &schedule).is_empty()
    };
    assert!(!broken_by(&|_| {}));
    let first = |work: Work| whole.tasks.iter().position(|task| task.work == work && task.part == 3).unwrap();
    for work in [Work::Load, Work::Reposition, Work::Press, Work::Heat, Work::Bend, Work::Set, Work::Unload] {
        let Some(index) = whole.tasks.iter().position(|task| task.work == work) else { continue };
        assert!(broken_by(&|schedule| schedule.tasks[index].end += 1), "{work:?} longer");
        assert!(broken_by(&|schedule| drop(schedule.tasks.remove(index))), "{work:?} left out");
    }
    // Nobody is there when the heat ends.
    let bend = first(Work::Bend);
    assert!(broken_by(&|schedule| schedule.tasks[bend].operator = None));
    assert!(broken_by(&|schedule| {
        let (start, end) = (schedule.tasks[bend].start, schedule.tasks[bend].end);
        let lane = schedule.tasks[bend].lane;
        let other = schedule.tasks.iter_mut().find(|task| task.lane != lane && task.work == Work::Load).unwrap();
        (other.start, other.end) = (start, end);
    }));
    assert!(broken_by(&|schedule| schedule.bound = schedule.total + 1));
}

/// That a large batch makes so many parts, breaks no rule, and is longer than its bound by at most this share.
fn holds(seed: u64, instance: &Instance, parts: usize, most: f64, python: Option<&str>) {
    let Instance { text, plan, facts } = instance;
    let schedule = &plan.schedule;
    let faults = broken(facts, schedule);
    assert!(faults.is_empty(), "{faults:#?}\n{text}");
    assert_eq!(schedule.tasks.iter().filter(|task| task.work == Work::Unload).count(), parts);
    let stated = (schedule.total - schedule.bound) as f64 / schedule.bound as f64;
    println!("seed {seed}: {} ms, at least {} ms, {:.3} %", schedule.total, schedule.bound, 100.0 * stated);
    assert!(stated <= most, "{stated}\n{text}");
    if let Some(python) = python {
        let found = solved(python, &[facts], 1.0)[0];
        // What the solver finds may not lie below what is said to be impossible.
        assert!(found.0.is_none_or(|total| total >= schedule.bound), "{found:?} {}\n{text}", schedule.bound);
        assert!(found.1 <= schedule.total, "{found:?} {}\n{text}", schedule.total);
    }
}

/// 40 + 20 parts on two arms with one operator and one supply: no rule is broken, and none is shorter, since two lanes are
/// proved, however many parts they make.
#[test]
fn large_batches_break_no_rule_and_take_the_least_time() {
    let python = python("ortools");
    for seed in 1..=if deep() { 8 } else { 2 } {
        holds(seed, &large(seed), 60, 0.0, python.as_deref());
    }
}

/// 40 + 20 + 10 parts on three arms: no rule is broken, and little can be gained at the most.
#[test]
fn large_batches_on_three_arms_break_no_rule_and_are_nearly_as_short_as_can_be() {
    let python = python("ortools");
    for seed in 1..=if deep() { 20 } else { 4 } {
        holds(seed, &large_on_three_arms(seed), 70, 0.08, python.as_deref());
    }
}
