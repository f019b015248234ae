use std::collections::BTreeMap;

use crate::names::DeclId;
use crate::plan::schedule::lanes::PRESS;
use crate::plan::schedule::{Lane, Task, Work};

/// What a unit of a chain stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// A warm-up of the lane, by number.
    WarmUp(usize),
    /// The sheet is laid in before a pass.
    Lay(Place),
    /// Press, heat, bend, set.
    Pass(Place),
    /// The part is taken out.
    Unload(Place),
}

/// A pass of a part of a loop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// The loop, by number.
    pub part_loop: usize,
    /// The part, from 0.
    pub part: u64,
    /// The pass, by number.
    pub pass: usize,
}

/// The tasks of a unit that starts at `start` in lane `number`. Hands are not assigned yet.
pub fn tasks(lane: &Lane, number: usize, meaning: Meaning, start: u64) -> Vec<Task> {
    let task = |work, from: u64, lasts: u64, arms: Vec<usize>| Task {
        start: from,
        end: from + lasts,
        work,
        lane: number,
        part_loop: None,
        part: 0,
        pass: None,
        arms,
        operator: None,
    };
    let (place, made) = match meaning {
        Meaning::WarmUp(index) => {
            let Some(warm_up) = lane.warm_ups.get(index) else { return Vec::new() };
            let press = task(Work::Press, start, PRESS, vec![warm_up.arm]);
            return vec![press, task(Work::WarmUp, start + PRESS, warm_up.lasts, vec![warm_up.arm])];
        }
        Meaning::Lay(place) | Meaning::Pass(place) | Meaning::Unload(place) => (place, lane.loops.get(place.part_loop)),
    };
    let Some(part_loop) = made else { return Vec::new() };
    let Some(pass) = part_loop.passes.get(place.pass) else { return Vec::new() };
    let arms: Vec<usize> = pass.heats.iter().map(|heating| heating.arm).collect();
    let mut tasks = match meaning {
        Meaning::Lay(_) => {
            let lays = if place.part == 0 { &part_loop.first } else { &part_loop.again };
            let lasts = lays.get(place.pass).map_or(0, |lay| lay.lasts);
            let work = if place.pass == 0 { Work::Load } else { Work::Reposition };
            vec![task(work, start, lasts, arms)]
        }
        Meaning::Unload(_) => vec![task(Work::Unload, start, part_loop.unload, arms)],
        Meaning::WarmUp(_) | Meaning::Pass(_) => {
            let pressed = start + PRESS;
            let off = pressed + pass.heat;
            let mut tasks = vec![task(Work::Press, start, PRESS, arms.clone())];
            for heating in &pass.heats {
                let lasts = heating.stages.iter().map(|stage| stage.lasts).sum();
                tasks.push(task(Work::Heat, pressed + heating.after, lasts, vec![heating.arm]));
            }
            tasks.push(task(Work::Bend, off, pass.transfer, arms.clone()));
            tasks.push(task(Work::Set, off + pass.transfer, pass.set, arms));
            tasks
        }
    };
    for task in &mut tasks {
        (task.part_loop, task.part) = (Some(place.part_loop), place.part);
        task.pass = (task.work != Work::Unload).then_some(place.pass);
    }
    tasks
}

/// Gives every task by hand a pair of hands, the first that is free; the tasks are sorted by start.
///
/// Where nothing else ends a heat, whoever pressed stays and makes the bend.
pub fn assign(tasks: &mut [Task], lanes: &[Lane]) {
    let mut free: BTreeMap<DeclId, Vec<u64>> = BTreeMap::new();
    let mut staying: BTreeMap<usize, u64> = BTreeMap::new();
    for task in tasks.iter_mut().filter(|task| task.work.by_hand()) {
        let Some(lane) = lanes.get(task.lane) else { continue };
        if task.work == Work::Bend && lane.attended {
            task.operator = staying.get(&task.lane).copied();
            continue;
        }
        let everybody = || vec![0; usize::try_from(lane.operators).unwrap_or(1)];
        let hands = free.entry(lane.bench).or_insert_with(everybody);
        let Some(number) = hands.iter().position(|until| *until <= task.start) else { continue };
        task.operator = u64::try_from(number).ok();
        hands[number] = task.end;
        let pass = task.part_loop.zip(task.pass);
        let pass = pass.and_then(|(own, pass)| lane.loops.get(own)?.passes.get(pass));
        if let Some(pass) = pass.filter(|_| task.work == Work::Press && lane.attended) {
            hands[number] = task.end + pass.heat + pass.transfer;
            staying.extend(task.operator.map(|operator| (task.lane, operator)));
        }
    }
}
