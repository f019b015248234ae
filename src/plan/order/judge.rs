//! A recipe's order held against shapes: the one that is given, and the best there is.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::model::FenceSide;
use crate::physics::collide::Touch;
use crate::plan::order::{Choice, Counts, Found, Lay, Obstacle, Outline, Rules, search};

/// So many dead ends are told and drawn.
const MOST_TOLD: usize = 12;

/// How one bend of an order is laid in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LaidIn {
    /// The bend, by its number in the profile.
    pub bend: usize,
    /// The side that is clamped.
    pub side: FenceSide,
    /// Its shapes.
    pub lay: Lay,
    /// What comes closer than it may.
    pub touches: Vec<Touch>,
    /// The bend that is made at the same time, its shapes, and what the two do to each other.
    pub with: Option<(usize, Vec<Touch>)>,
}

/// The order of a recipe as it is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Handling {
    /// The groups of bends, in order.
    pub order: Vec<Vec<usize>>,
    /// The side that is pushed against the fence, for each bend of the part.
    pub sides: Vec<FenceSide>,
    /// Whether it was found by the compiler.
    pub computed: bool,
    /// Its bends as they are laid in, in order.
    pub poses: Vec<LaidIn>,
    /// The best order there is, for a given order of single bends that can be compared with it.
    pub best: Option<BestOrder>,
}

/// The best order there is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BestOrder {
    /// Bends and clamped sides, in order.
    pub choices: Vec<Choice>,
    /// What is done between them.
    pub counts: Counts,
}

/// Why no order was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum NoOrder {
    /// There is none: where every way ends. Of many ends, those with the most bends made; and how many there are.
    None(Vec<DeadEnd>, usize),
    /// The part has too many bends to look at every way.
    TooMany,
}

/// Where a way ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DeadEnd {
    /// What is made by then.
    pub made: Vec<Choice>,
    /// Every bend that is left, with either side clamped: what stands in its way, and the shapes.
    pub blocked: Vec<(Choice, Obstacle, Lay)>,
}

/// What stands in the way of a bend as it is laid in, first of all; with `grazing` also what only grazes.
fn obstacle(lay: &Lay, outline: &Outline, grazing: bool) -> Option<Obstacle> {
    if let Some(lacks) = lay.short_of_grip {
        return Some(Obstacle::Grip(lacks));
    }
    if lay.fence_out_of_reach {
        return Some(Obstacle::Fence(lay.fence));
    }
    lay.first_touch(outline, grazing).map(|(_, touch)| Obstacle::Touch(touch))
}

/// The longer side of a bend.
fn longer(outline: &Outline, bend: usize) -> FenceSide {
    if 2.0 * outline.bends[bend].from_start >= outline.length { FenceSide::Front } else { FenceSide::Back }
}

fn other(side: FenceSide) -> FenceSide {
    if side == FenceSide::Front { FenceSide::Back } else { FenceSide::Front }
}

/// The side that is clamped where nothing is said: the longer one, unless only the other can be.
fn usual_side(outline: &Outline, bend: usize, made: &[usize]) -> FenceSide {
    let side = longer(outline, bend);
    let free = |side: FenceSide| {
        let lay = Lay::new(outline, Choice { bend, side }, made);
        obstacle(&lay, outline, false).is_none()
    };
    if !free(side) && free(other(side)) { other(side) } else { side }
}

fn rules(outline: &Outline) -> Rules {
    let bends = &outline.bends;
    let mut sorted: Vec<f64> = bends.iter().map(|bend| bend.swing).collect();
    sorted.sort_by(f64::total_cmp);
    // Swings that no stop tells apart are one.
    let class = |swing: f64| sorted.iter().filter(|other| **other < swing - 1e-6).count();
    Rules {
        turned_over: bends.iter().map(|bend| bend.down).collect(),
        arm: bends.iter().map(|bend| bend.arm).collect(),
        swing: bends.iter().map(|bend| class(bend.swing)).collect(),
        side: bends.iter().map(|bend| bend.side).collect(),
        longer: (0..bends.len()).map(|bend| longer(outline, bend)).collect(),
        fence_step: outline.bench.fence.reads / 2.0,
    }
}

/// The best order; one that only grazes is taken where there is no other.
pub fn choose(outline: &Outline) -> Result<BestOrder, NoOrder> {
    let rules = rules(outline);
    // What was looked at once is known for the second look, but for what only grazed.
    let mut known: BTreeMap<(Vec<usize>, usize, bool), Result<f64, Obstacle>> = BTreeMap::new();
    let mut look = |grazing: bool| {
        search(&rules, |made, choice| {
            let key = (made.to_vec(), choice.bend, choice.side == FenceSide::Front);
            match known.get(&key) {
                Some(Err(Obstacle::Touch(touch))) if !touch.collides => {}
                Some(known) => return *known,
                None => {}
            }
            let lay = Lay::new(outline, choice, made);
            let found = obstacle(&lay, outline, grazing).map_or(Ok(lay.fence), Err);
            known.insert(key, found);
            found
        })
    };
    let found = match look(true) {
        Found::None(_) => look(false),
        found => found,
    };
    match found {
        Found::Order(choices, counts) => Ok(BestOrder { choices, counts }),
        Found::TooMany => Err(NoOrder::TooMany),
        Found::None(dead) => {
            let all = dead.len();
            let told = dead.into_iter().take(MOST_TOLD).map(|dead| {
                let made: Vec<usize> = dead.made.iter().map(|choice| choice.bend).collect();
                let shapes = |choice: Choice, obstacle: &Obstacle| {
                    let lay = Lay::new(outline, choice, &made);
                    // Drawn is the sheet that is in the way.
                    match obstacle {
                        Obstacle::Touch(_) => lay.first_touch(outline, false).map_or(lay, |(lay, _)| lay),
                        _ => lay,
                    }
                };
                let blocked = dead.blocked.into_iter();
                DeadEnd {
                    blocked: blocked.map(|one| (one.choice, one.obstacle, shapes(one.choice, &one.obstacle))).collect(),
                    made: dead.made,
                }
            });
            Err(NoOrder::None(told.collect(), all))
        }
    }
}

/// How the bends of a recipe are laid in: in the order that is given, else in the best one.
pub fn judge(outline: &Outline, given: Option<&[Vec<usize>]>) -> Result<Handling, NoOrder> {
    let mut sides = vec![FenceSide::Front; outline.bends.len()];
    let Some(order) = given else {
        let best = choose(outline)?;
        let order: Vec<Vec<usize>> = best.choices.iter().map(|choice| vec![choice.bend]).collect();
        for Choice { bend, side } in best.choices {
            sides[bend] = side;
        }
        return Ok(handling(outline, &order, &sides, true));
    };
    let mut made: Vec<usize> = Vec::new();
    for group in order {
        for &bend in group {
            sides[bend] = outline.bends[bend].side.unwrap_or_else(|| usual_side(outline, bend, &made));
        }
        made.extend(group);
    }
    Ok(handling(outline, order, &sides, false))
}

/// An order held against shapes, each bend with its clamped side. Two bends at once are made back to back, whatever
/// their sides: what lies between them is fixed.
fn handling(outline: &Outline, order: &[Vec<usize>], sides: &[FenceSide], computed: bool) -> Handling {
    let mut made: Vec<usize> = Vec::new();
    let mut poses = Vec::new();
    for group in order {
        let laid: Vec<(Choice, Lay)> = group
            .iter()
            .map(|&bend| {
                let side = match group.as_slice() {
                    [first, second] => {
                        let partner = if bend == *first { *second } else { *first };
                        if bend < partner { FenceSide::Back } else { FenceSide::Front }
                    }
                    _ => sides[bend],
                };
                let choice = Choice { bend, side };
                (choice, Lay::new(outline, choice, &made))
            })
            .collect();
        let mut with = match laid.as_slice() {
            [(first, near), (second, far)] => {
                let line = |choice: &Choice| outline.bends[choice.bend].from_start;
                let apart = (line(first) - line(second)).abs();
                Some((second.bend, near.worst_across(far, outline, apart)))
            }
            _ => None,
        };
        for (choice, lay) in laid {
            let (lay, touches) = lay.worst(outline);
            poses.push(LaidIn { bend: choice.bend, side: choice.side, lay, touches, with: with.take() });
        }
        made.extend(group);
    }
    let single = order.len() > 1 && order.iter().all(|group| group.len() == 1);
    let best = if single && !computed { choose(outline).ok() } else { None };
    Handling { order: order.to_vec(), sides: sides.to_vec(), computed, poses, best }
}
