//! The search itself, which knows nothing of shapes: best first over what is made, what was bent last and how.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use serde::{Deserialize, Serialize};

use crate::model::FenceSide;

/// After this many poses the search gives up: enough to look at everything for parts of twelve bends.
const MOST_POSES: usize = 100_000;
/// The bends that are made, one bit each.
type Made = u64;

/// What is done between the bends of an order; fewest first, in this sequence. Time needs no place of its own: all
/// orders heat and set alike, so it follows from the other three.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Counts {
    /// The sheet is turned over.
    pub turn_overs: u32,
    /// The stop of an arm is set to another angle.
    pub swing_changes: u32,
    /// The fence is set to another distance.
    pub fence_changes: u32,
    /// The shorter side is clamped: allowed, but of two orders that are else alike the other one is chosen.
    pub short_sides: u32,
}

/// One bend of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Choice {
    /// The bend, by its number in the profile.
    pub bend: usize,
    /// The side that is clamped.
    pub side: FenceSide,
}

/// What the search must know of the bends, each list with one entry a bend.
#[derive(Clone, Debug)]
pub struct Rules {
    /// Whether the sheet is turned over for it.
    pub turned_over: Vec<bool>,
    /// The arm that makes it.
    pub arm: Vec<usize>,
    /// The swing, as a number that is the same for equal swings.
    pub swing: Vec<usize>,
    /// The side that must be clamped, where that is said.
    pub side: Vec<Option<FenceSide>>,
    /// The longer side.
    pub longer: Vec<FenceSide>,
    /// Fence distances that differ by no more than this are one setting, m.
    pub fence_step: f64,
}

/// Why a bend cannot be made with one side clamped.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocked<O> {
    /// The bend and the side.
    pub choice: Choice,
    /// What stands in the way.
    pub obstacle: O,
}

/// A stage from which nothing leads on.
#[derive(Clone, Debug, PartialEq)]
pub struct Dead<O> {
    /// One way to it.
    pub made: Vec<Choice>,
    /// The first obstacle of every bend that is left, with either side clamped.
    pub blocked: Vec<Blocked<O>>,
}

/// What came of a search.
#[derive(Clone, Debug, PartialEq)]
pub enum Found<O> {
    /// A best order.
    Order(Vec<Choice>, Counts),
    /// There is none: every way ends at one of these, those with the most bends made first.
    None(Vec<Dead<O>>),
    /// The part has too many bends to look at every way.
    TooMany,
}

/// Where a way has come to: what is made, what was made last, and the stop of each arm.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Stage {
    made: Made,
    last: Option<(usize, bool)>,
    stops: Vec<Option<usize>>,
}

/// What is known of a pose: the fence's distance, or what stands in the way.
type Poses<O> = BTreeMap<(Made, usize, bool), Result<f64, O>>;

fn side_of(front: bool) -> FenceSide {
    if front { FenceSide::Front } else { FenceSide::Back }
}

/// Finds the best order. `pose` says how far away the fence stands when a bend is made with some made before and one
/// side clamped, or what stands in the way.
pub fn search<O: Clone>(rules: &Rules, mut pose: impl FnMut(&[usize], Choice) -> Result<f64, O>) -> Found<O> {
    let bends = rules.turned_over.len();
    if bends >= 64 {
        return Found::TooMany;
    }
    let all: Made = (1 << bends) - 1;
    let arms = rules.arm.iter().copied().max().map_or(0, |most| most + 1);
    let start = Stage { made: 0, last: None, stops: vec![None; arms] };
    let mut poses: Poses<O> = BTreeMap::new();
    let mut least: BTreeMap<Stage, (Counts, Option<Stage>)> =
        BTreeMap::from([(start.clone(), (Counts::default(), None))]);
    // The count of what is still to be made stands second: of equals, the one that is nearer to the end goes first.
    let mut open = BinaryHeap::from([Reverse((rules.at_least(&start, Counts::default()), bends, start))]);
    while let Some(Reverse((_, left, stage))) = open.pop() {
        let Some((counts, _)) = least.get(&stage).cloned() else { continue };
        if left == 0 {
            return Found::Order(way(&least, &stage), counts);
        }
        for bend in (0..bends).filter(|bend| stage.made & (1 << bend) == 0) {
            for front in [true, false] {
                if rules.side[bend].is_some_and(|side| side != side_of(front)) {
                    continue;
                }
                let key = (stage.made, bend, front);
                if !poses.contains_key(&key) {
                    if poses.len() >= MOST_POSES {
                        return Found::TooMany;
                    }
                    let choice = Choice { bend, side: side_of(front) };
                    poses.insert(key, pose(&listed(stage.made), choice));
                }
                let Some(Ok(fence)) = poses.get(&key) else { continue };
                let next = rules.next(&stage, bend, front);
                let cost = counts.plus(rules.changes(&stage, bend, front, *fence, &poses));
                if least.get(&next).is_none_or(|known| cost < known.0) {
                    let left = (all & !next.made).count_ones() as usize;
                    open.push(Reverse((rules.at_least(&next, cost), left, next.clone())));
                    least.insert(next, (cost, Some(stage.clone())));
                }
            }
        }
    }
    Found::None(dead_ends(rules, &least, &poses))
}

impl Counts {
    fn plus(self, more: Self) -> Self {
        Self {
            turn_overs: self.turn_overs + more.turn_overs,
            swing_changes: self.swing_changes + more.swing_changes,
            fence_changes: self.fence_changes + more.fence_changes,
            short_sides: self.short_sides + more.short_sides,
        }
    }
}

impl Rules {
    fn next(&self, stage: &Stage, bend: usize, front: bool) -> Stage {
        let mut stops = stage.stops.clone();
        if let Some(stop) = stops.get_mut(self.arm[bend]) {
            *stop = Some(self.swing[bend]);
        }
        Stage { made: stage.made | (1 << bend), last: Some((bend, front)), stops }
    }

    /// What is changed for a bend; the first one finds everything set.
    fn changes<O>(&self, stage: &Stage, bend: usize, front: bool, fence: f64, poses: &Poses<O>) -> Counts {
        let short_sides = u32::from(self.longer[bend] != side_of(front));
        let Some((last, last_front)) = stage.last else { return Counts { short_sides, ..Counts::default() } };
        let before = stage.made & !(1 << last);
        let moved = match poses.get(&(before, last, last_front)) {
            Some(Ok(known)) => (known - fence).abs() > self.fence_step,
            _ => true,
        };
        let other_stop = |stop: &usize| *stop != self.swing[bend];
        Counts {
            turn_overs: u32::from(self.turned_over[last] != self.turned_over[bend]),
            swing_changes: u32::from(stage.stops[self.arm[bend]].as_ref().is_some_and(other_stop)),
            fence_changes: u32::from(moved),
            short_sides,
        }
    }

    /// The counts so far, with what any way on must add at least.
    fn at_least(&self, stage: &Stage, counts: Counts) -> Counts {
        let left = || (0..self.turned_over.len()).filter(|bend| stage.made & (1 << bend) == 0);
        let face = |over: bool| left().any(|bend| self.turned_over[bend] == over);
        let turns = match stage.last {
            Some((last, _)) => face(!self.turned_over[last]),
            None => face(true) && face(false),
        };
        let mut stops: Vec<(usize, usize)> = left().map(|bend| (self.arm[bend], self.swing[bend])).collect();
        stops.sort_unstable();
        stops.dedup();
        let mut swing_changes = 0;
        for (arm, stop) in stage.stops.iter().enumerate() {
            let wanted = stops.iter().filter(|(of, _)| *of == arm);
            let others = wanted.filter(|(_, swing)| Some(*swing) != *stop).count();
            swing_changes += if stop.is_none() { others.saturating_sub(1) } else { others };
        }
        let swing_changes = u32::try_from(swing_changes).unwrap_or(u32::MAX);
        counts.plus(Counts { turn_overs: u32::from(turns), swing_changes, ..Counts::default() })
    }
}

fn listed(made: Made) -> Vec<usize> {
    (0..64).filter(|bend| made & (1 << bend) != 0).collect()
}

/// The choices that led to a stage.
fn way(least: &BTreeMap<Stage, (Counts, Option<Stage>)>, end: &Stage) -> Vec<Choice> {
    let mut choices = Vec::new();
    let mut at = Some(end);
    while let Some(stage) = at {
        if let Some((bend, front)) = stage.last {
            choices.push(Choice { bend, side: side_of(front) });
        }
        at = least.get(stage).and_then(|known| known.1.as_ref());
    }
    choices.reverse();
    choices
}

/// Stages that were reached and from which no bend can be made, once for each set of bends that are made.
fn dead_ends<O: Clone>(
    rules: &Rules,
    least: &BTreeMap<Stage, (Counts, Option<Stage>)>,
    poses: &Poses<O>,
) -> Vec<Dead<O>> {
    let mut seen: BTreeMap<Made, &Stage> = BTreeMap::new();
    for stage in least.keys() {
        seen.entry(stage.made).or_insert(stage);
    }
    let mut dead: Vec<(Made, Dead<O>)> = Vec::new();
    for (made, stage) in seen {
        let here = poses.range((made, 0, false)..=(made, usize::MAX, true));
        let mut blocked = Vec::new();
        let mut leads_on = false;
        for (&(_, bend, front), pose) in here {
            match pose {
                Ok(_) => leads_on = true,
                Err(obstacle) => {
                    let choice = Choice { bend, side: side_of(front) };
                    blocked.push(Blocked { choice, obstacle: obstacle.clone() });
                }
            }
        }
        if !leads_on && (made.count_ones() as usize) < rules.turned_over.len() {
            dead.push((made, Dead { made: way(least, stage), blocked }));
        }
    }
    dead.sort_by_key(|(made, _)| (Reverse(made.count_ones()), *made));
    dead.into_iter().map(|(_, dead)| dead).collect()
}

#[cfg(test)]
mod tests {
    use super::{Choice, Counts, Found, Rules, search};
    use crate::model::FenceSide;

    /// Bends on one arm, of one swing; `down` says which are made turned over.
    fn rules(down: &[bool]) -> Rules {
        let bends = down.len();
        Rules {
            turned_over: down.to_vec(),
            arm: vec![0; bends],
            swing: vec![0; bends],
            side: vec![None; bends],
            longer: vec![FenceSide::Front; bends],
            fence_step: 0.1,
        }
    }

    #[test]
    fn what_is_alike_is_made_in_a_row() {
        let found = search(&rules(&[true, false, true, false]), |_, choice| Ok::<f64, ()>(choice.bend as f64));
        let Found::Order(choices, counts) = found else { panic!("{found:?}") };
        assert_eq!(counts, Counts { turn_overs: 1, swing_changes: 0, fence_changes: 3, short_sides: 0 });
        assert_eq!(choices.len(), 4);
    }

    #[test]
    fn every_way_that_ends_is_told_with_what_is_in_its_way() {
        // Bend 1 can never be made, bend 2 only before bend 0.
        let pose = |made: &[usize], choice: Choice| match choice.bend {
            1 => Err("never"),
            2 if made.contains(&0) => Err("late"),
            _ => Ok(0.0),
        };
        let Found::None(dead) = search(&rules(&[false; 3]), pose) else { panic!("there is no order") };
        let told: Vec<(usize, usize)> = dead.iter().map(|dead| (dead.made.len(), dead.blocked.len())).collect();
        // With 0 and 2 made bend 1 is left, with 0 alone bends 1 and 2, each with either side clamped.
        assert_eq!(told, [(2, 2), (1, 4)]);
        assert_eq!(dead[1].blocked[2].obstacle, "late");
    }

    #[test]
    fn a_part_with_too_many_bends_is_given_up() {
        let never = |_: &[usize], _: Choice| Err::<f64, ()>(());
        assert_eq!(search(&rules(&[false; 64]), never), Found::TooMany);
        // Where the last two bends shut each other out, every way is looked at until there are too many.
        let shut = |made: &[usize], choice: Choice| match choice.bend {
            0 if made.contains(&1) => Err(()),
            1 if made.contains(&0) => Err(()),
            bend => Ok(bend as f64),
        };
        assert_eq!(search(&rules(&[false; 20]), shut), Found::TooMany);
    }
}
