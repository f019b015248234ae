//! The rules of the bench, checked on a schedule without anything of the planner's: what must hold for people, parts,
//! arms and supplies. The source of each is the language itself (`grammar/reference.md`, entries `handling`, `heat`,
//! `transfer`, `set`, `operators`, `continuous`, `fuse`, `warm_up`); the press of 2 s and 10 s off are our choice.

use std::collections::BTreeMap;

use serde_json::Value;
use withy::plan::schedule::{Schedule, Task, Work};

const PRESS: u64 = 2_000;
const OFF: u64 = 10_000;

fn number(value: &Value) -> u64 {
    value.as_u64().unwrap_or_else(|| panic!("{value} is no time"))
}

/// Everything that is broken; nothing if the schedule can be worked as it stands.
#[expect(clippy::too_many_lines, reason = "the rules of the bench read best as one list")]
pub fn broken(facts: &Value, schedule: &Schedule) -> Vec<String> {
    let mut faults = Vec::new();
    let mut say = |holds: bool, what: String| {
        if !holds {
            faults.push(what);
        }
    };
    let run_of = |task: &Task| task.part_loop.map(|own| schedule.lanes[task.lane].loops[own].run);
    let tasks = &schedule.tasks;
    let runs = facts["runs"].as_array().unwrap();
    say(schedule.total == tasks.iter().map(|task| task.end).max().unwrap_or(0), "the total is not the last end".into());
    say(schedule.bound <= schedule.total, "the bound is above the total".into());
    say(tasks.iter().all(|task| task.start <= task.end), "a task ends before it starts".into());

    // People: nobody does two things at once, and whatever needs hands has them.
    let operators = number(&facts["operators"]);
    for task in tasks {
        let hands = !matches!(task.work, Work::Heat | Work::Set);
        say(task.operator.is_some() == hands || task.start == task.end, format!("{task:?} has the wrong hands"));
        say(task.operator.is_none_or(|own| own < operators), format!("{task:?} has hands that are not there"));
    }
    for (index, task) in tasks.iter().enumerate() {
        for other in tasks[index + 1..].iter().take_while(|other| other.start < task.end) {
            let both = task.operator.is_some() && task.operator == other.operator && other.end > other.start;
            say(!both, format!("one person does {task:?} and {other:?}"));
        }
    }

    // Each part by itself.
    let mut stays: BTreeMap<u64, Vec<(u64, u64)>> = BTreeMap::new();
    let mut last_in: BTreeMap<usize, u64> = BTreeMap::new();
    let mut claims: Vec<(u64, u64, String, i64)> = Vec::new();
    let mut heats: BTreeMap<u64, Vec<(u64, u64)>> = BTreeMap::new();
    let amount = |arm: &Value| {
        let own = &facts["arms"][usize::try_from(number(arm)).unwrap()];
        (own["supply"].as_str().unwrap().to_owned(), own["amount"].as_i64().unwrap())
    };
    for (number_of_run, run) in runs.iter().enumerate() {
        for part in 0..number(&run["times"]) {
            let own: Vec<&Task> =
                tasks.iter().filter(|task| run_of(task) == Some(number_of_run) && task.part == part).collect();
            let name = format!("run {number_of_run} part {part}");
            let passes = run["passes"].as_array().unwrap();
            let of = |pass: usize, work: Work| {
                let found: Vec<&&Task> =
                    own.iter().filter(|task| task.work == work && task.pass == Some(pass)).collect();
                found
            };
            let mut free = 0;
            let mut in_at = 0;
            for (pass, bends) in passes.iter().enumerate() {
                let bends = bends.as_array().unwrap();
                let lay = of(pass, if pass == 0 { Work::Load } else { Work::Reposition });
                let (press, bend, set) = (of(pass, Work::Press), of(pass, Work::Bend), of(pass, Work::Set));
                let heat = of(pass, Work::Heat);
                if [lay.len(), press.len(), bend.len(), set.len()] != [1; 4] || heat.len() != bends.len() {
                    say(false, format!("{name} pass {pass} is not whole"));
                    return faults;
                }
                let (lay, press, bend, set) = (lay[0], press[0], bend[0], set[0]);
                let longest = |what: &str| bends.iter().map(|bend| number(&bend[what])).max().unwrap();
                say(lay.start >= free, format!("{name} pass {pass} is shifted while it is held"));
                say(press.start >= lay.end, format!("{name} pass {pass} is pressed before it lies"));
                say(press.end - press.start == PRESS, format!("{name} pass {pass}: the press"));
                say(
                    bend.start == press.end + longest("heat"),
                    format!("{name} pass {pass}: heat waits or is cut short"),
                );
                say(bend.end - bend.start == longest("transfer"), format!("{name} pass {pass}: the transfer"));
                if facts["attended"] == true {
                    let there = press.operator == bend.operator;
                    say(there, format!("{name} pass {pass}: whoever pressed does not stay"));
                    let away = tasks.iter().find(|task| {
                        let other = task.operator == press.operator && *task != *press && *task != *bend;
                        other && task.start < bend.end && task.end > press.start
                    });
                    say(away.is_none(), format!("{name} pass {pass}: {away:?} during the heat"));
                }
                say(set.start == bend.end, format!("{name} pass {pass}: bend and set are apart"));
                say(set.end - set.start == longest("set"), format!("{name} pass {pass}: the set"));
                for own in bends {
                    let arm = number(&own["arm"]);
                    let task = heat.iter().find(|task| task.arms == [usize::try_from(arm).unwrap()]);
                    let whole =
                        |task: &&&&Task| task.end == bend.start && task.end - task.start == number(&own["heat"]);
                    say(task.is_some_and(|task| whole(&task)), format!("{name} pass {pass}: the heat on arm {arm}"));
                    let (supply, drawn) = amount(&own["arm"]);
                    claims.push((press.end, bend.start, supply, drawn));
                    heats.entry(arm).or_default().push((bend.start - number(&own["heat"]), bend.start));
                }
                if pass == 0 {
                    in_at = lay.start;
                }
                free = set.end;
            }
            let out = own.iter().find(|task| task.work == Work::Unload);
            say(out.is_some_and(|out| out.start >= free), format!("{name} is taken out while it is held"));
            let out = out.map_or(free, |out| out.end);
            say(out <= schedule.total, format!("{name} is late"));
            say(in_at >= last_in.get(&number_of_run).copied().unwrap_or(0), format!("{name} overtakes an equal part"));
            last_in.insert(number_of_run, in_at);
            let mut arms: Vec<u64> =
                passes.iter().flat_map(|bends| bends.as_array().unwrap()).map(|bend| number(&bend["arm"])).collect();
            arms.sort_unstable();
            arms.dedup();
            for arm in arms {
                stays.entry(arm).or_default().push((in_at, out));
            }
        }
    }
    let wanted: u64 = runs.iter().map(|run| number(&run["times"])).sum();
    let out = tasks.iter().filter(|task| task.work == Work::Unload).count() as u64;
    say(out == wanted, format!("{out} parts instead of {wanted}"));

    // Warm-ups: whole, attended, and before any sheet lies at the arm.
    for task in tasks.iter().filter(|task| task.work == Work::WarmUp) {
        let arm = task.arms[0];
        let wanted = facts["arms"][arm]["warm_up"].as_u64();
        say(Some(task.end - task.start) == wanted, format!("{task:?} is not whole"));
        let pressed = tasks.iter().any(|press| {
            press.work == Work::Press && press.part_loop.is_none() && press.arms == task.arms && press.end == task.start
        });
        say(pressed, format!("{task:?} is not pressed for"));
        let first = stays.get(&(arm as u64)).and_then(|stays| stays.iter().map(|stay| stay.0).min());
        say(first.is_none_or(|first| task.end <= first), format!("{task:?} with a sheet in"));
        let (supply, drawn) = amount(&Value::from(arm));
        claims.push((task.start, task.end, supply, drawn));
        heats.entry(arm as u64).or_default().push((task.start, task.end));
    }
    for arm in stays.keys() {
        let wanted = facts["arms"][usize::try_from(*arm).unwrap()]["warm_up"].is_u64();
        let warmed = tasks.iter().any(|task| task.work == Work::WarmUp && task.arms[0] as u64 == *arm);
        say(wanted == warmed, format!("arm {arm} is not warmed up as it says"));
    }

    // Arms: one part at a time, and a line rests between two heats.
    for (arm, stays) in &mut stays {
        stays.sort_unstable();
        say(stays.windows(2).all(|pair| pair[1].0 >= pair[0].1), format!("two parts at arm {arm} at once"));
    }
    for (arm, heats) in &mut heats {
        heats.sort_unstable();
        say(heats.windows(2).all(|pair| pair[1].0 >= pair[0].1 + OFF), format!("the line of arm {arm} does not rest"));
    }

    // Supplies: what is claimed at one moment, but one heat that is more than there is runs alone.
    for (at, ..) in &claims {
        let mut sums: BTreeMap<&str, (i64, usize)> = BTreeMap::new();
        for (from, until, supply, drawn) in &claims {
            if from <= at && at < until {
                let sum = sums.entry(supply).or_default();
                *sum = (sum.0 + drawn, sum.1 + 1);
            }
        }
        for (supply, (sum, _)) in sums {
            let arms = facts["arms"].as_array().unwrap();
            let room = arms.iter().find(|arm| arm["supply"] == supply).unwrap()["room"].as_i64().unwrap();
            let room = room.max(largest(facts, supply));
            say(sum <= room, format!("{supply} gives {sum} of {room} at {at}"));
        }
    }
    faults.extend(handling(facts, schedule));
    faults
}

/// The largest claim of one press: it has to be made somehow.
fn largest(facts: &Value, supply: &str) -> i64 {
    let own = |bend: &Value| {
        let arm = &facts["arms"][usize::try_from(number(&bend["arm"])).unwrap()];
        if arm["supply"] == supply { arm["amount"].as_i64().unwrap() } else { 0 }
    };
    let passes = facts["runs"].as_array().unwrap().iter().flat_map(|run| run["passes"].as_array().unwrap());
    passes.map(|bends| bends.as_array().unwrap().iter().map(own).sum()).max().unwrap_or(0)
}

/// How long hands take: what stands at the bench need not be set again.
fn handling(facts: &Value, schedule: &Schedule) -> Vec<String> {
    let time = |name: &str| number(&facts["handling"][name]);
    let mut faults = Vec::new();
    for (number_of_lane, lane) in schedule.lanes.iter().enumerate() {
        let lays = schedule
            .tasks
            .iter()
            .filter(|task| task.lane == number_of_lane && matches!(task.work, Work::Load | Work::Reposition));
        let mut swings: BTreeMap<u64, f64> = BTreeMap::new();
        let mut stands: Option<(f64, bool)> = None;
        for task in lays {
            let run = lane.loops[task.part_loop.unwrap()].run;
            let bends = facts["runs"][run]["passes"][task.pass.unwrap()].as_array().unwrap();
            let (fence, over) = (bends[0]["fence"].as_f64().unwrap(), bends[0]["over"].as_bool().unwrap());
            let mut wanted = time(if task.work == Work::Load { "load" } else { "reposition" });
            if let Some((stood, lay)) = stands {
                if (stood - fence).abs() > facts["reads"].as_f64().unwrap() / 2.0 {
                    wanted += time("fence_change");
                }
                if task.work == Work::Reposition && lay != over {
                    wanted += time("turn_over");
                }
                let other = |bend: &&Value| {
                    let swing = swings.get(&number(&bend["arm"]));
                    swing.is_some_and(|swing| (swing - bend["swing"].as_f64().unwrap()).abs() > 1e-6)
                };
                if bends.iter().any(|bend| other(&bend)) {
                    wanted += time("swing_change");
                }
            }
            for bend in bends {
                swings.insert(number(&bend["arm"]), bend["swing"].as_f64().unwrap());
            }
            stands = Some((fence, over));
            if task.end - task.start != wanted {
                faults.push(format!("{task:?} should take {wanted}"));
            }
        }
    }
    for task in schedule.tasks.iter().filter(|task| task.work == Work::Unload) {
        if task.end - task.start != time("unload") {
            faults.push(format!("{task:?} takes another time"));
        }
    }
    faults
}
