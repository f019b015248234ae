//! A recipe's order held against shapes: the one that is given, and the best there is.

use std::collections::BTreeMap;

use crate::model::{Direction, FenceSide, Recipe, Sheet};
use crate::physics::collide::{Touch, cross};
use crate::plan::Blank;
use crate::plan::order::{Choice, Counts, Found, Lay, Obstacle, Rules, search};

/// So many dead ends are told and drawn.
const MOST_TOLD: usize = 12;

/// How one bend of an order is laid in.
#[derive(Clone, Debug, PartialEq)]
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
#[derive(Clone, Debug, PartialEq)]
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
#[derive(Clone, Debug, PartialEq)]
pub struct BestOrder {
    /// Bends and clamped sides, in order.
    pub choices: Vec<Choice>,
    /// What is done between them.
    pub counts: Counts,
}

/// Why no order was found.
#[derive(Clone, Debug, PartialEq)]
pub enum NoOrder {
    /// There is none: where every way ends. Of many ends, those with the most bends made; and how many there are.
    None(Vec<DeadEnd>, usize),
    /// The part has too many bends to look at every way.
    TooMany,
}

/// Where a way ends.
#[derive(Clone, Debug, PartialEq)]
pub struct DeadEnd {
    /// What is made by then.
    pub made: Vec<Choice>,
    /// Every bend that is left, with either side clamped: what stands in its way, and the shapes.
    pub blocked: Vec<(Choice, Obstacle, Lay)>,
}

/// What stands in the way of a bend as it is laid in, first of all; with `grazing` also what only grazes.
fn obstacle(lay: &Lay, sheet: &Sheet, grazing: bool) -> Option<Obstacle> {
    if let Some(lacks) = lay.short_of_grip {
        return Some(Obstacle::Grip(lacks));
    }
    if lay.fence_out_of_reach {
        return Some(Obstacle::Fence(lay.fence));
    }
    lay.first_touch(sheet, grazing).map(|(_, touch)| Obstacle::Touch(touch))
}

/// The longer side of a bend.
fn longer(blank: &Blank, bend: usize) -> FenceSide {
    if 2.0 * blank.lines[bend].from_start >= blank.length.nominal() { FenceSide::Front } else { FenceSide::Back }
}

fn other(side: FenceSide) -> FenceSide {
    if side == FenceSide::Front { FenceSide::Back } else { FenceSide::Front }
}

/// The side that is clamped where nothing is said: the longer one, unless only the other can be.
pub fn usual_side(recipe: &Recipe, blank: &Blank, bend: usize, made: &[usize], swing: f64) -> FenceSide {
    let side = longer(blank, bend);
    let free = |side: FenceSide| {
        let lay = Lay::new(recipe, blank, Choice { bend, side }, made, swing);
        obstacle(&lay, &recipe.part.sheet, false).is_none()
    };
    if !free(side) && free(other(side)) { other(side) } else { side }
}

fn rules(recipe: &Recipe, blank: &Blank, swings: &[f64]) -> Rules {
    let mut sorted: Vec<f64> = swings.to_vec();
    sorted.sort_by(f64::total_cmp);
    // Swings that no stop tells apart are one.
    let class = |swing: f64| sorted.iter().filter(|other| **other < swing - 1e-6).count();
    Rules {
        turned_over: recipe.part.bends.iter().map(|bend| bend.direction == Direction::Down).collect(),
        arm: recipe.bends.iter().map(|settings| settings.arm).collect(),
        swing: swings.iter().map(|swing| class(*swing)).collect(),
        side: recipe.bends.iter().map(|settings| settings.fence.map(|given| given.value)).collect(),
        longer: (0..recipe.bends.len()).map(|bend| longer(blank, bend)).collect(),
        fence_step: recipe.bench.fence.reads.value / 2.0,
    }
}

/// The best order; one that only grazes is taken where there is no other.
pub fn choose(recipe: &Recipe, blank: &Blank, swings: &[f64]) -> Result<BestOrder, NoOrder> {
    let rules = rules(recipe, blank, swings);
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
            let lay = Lay::new(recipe, blank, choice, made, swings[choice.bend]);
            let found = obstacle(&lay, &recipe.part.sheet, grazing).map_or(Ok(lay.fence), Err);
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
                    let lay = Lay::new(recipe, blank, choice, &made, swings[choice.bend]);
                    // Drawn is the sheet that is in the way.
                    match obstacle {
                        Obstacle::Touch(_) => lay.first_touch(&recipe.part.sheet, false).map_or(lay, |(lay, _)| lay),
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

/// An order held against shapes, each bend with its clamped side. Two bends at once are made back to back, whatever
/// their sides: what lies between them is fixed.
pub fn handling(
    recipe: &Recipe,
    blank: &Blank,
    order: &[Vec<usize>],
    sides: &[FenceSide],
    swings: &[f64],
    computed: bool,
) -> Handling {
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
                (choice, Lay::new(recipe, blank, choice, &made, swings[bend]))
            })
            .collect();
        let mut with = match laid.as_slice() {
            [(first, near), (second, far)] => {
                let apart = (blank.lines[first.bend].from_start - blank.lines[second.bend].from_start).abs();
                let touches = cross([&near.pose, &far.pose], [&near.section, &far.section], apart);
                Some((second.bend, touches))
            }
            _ => None,
        };
        for (choice, lay) in laid {
            let (lay, touches) = lay.worst(&recipe.part.sheet);
            poses.push(LaidIn { bend: choice.bend, side: choice.side, lay, touches, with: with.take() });
        }
        made.extend(group);
    }
    let single = order.len() > 1 && order.iter().all(|group| group.len() == 1);
    let best = if single && !computed { choose(recipe, blank, swings).ok() } else { None };
    Handling { order: order.to_vec(), sides: sides.to_vec(), computed, poses, best }
}
