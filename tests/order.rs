//! The order that is found, against trying every one.

use std::collections::BTreeMap;

use withy::library::{Plan, compile};
use withy::model::{Direction, FenceSide, Order, Recipe};
use withy::plan::{Blank, Change, Choice, Counts, Lay, NoOrder, Outline, blank, choose};

use crate::common::{checked, deep, examples, memory};
use crate::dice::Dice;

/// A pose is free, only grazes, or cannot be made; with the fence's distance.
type Poses = BTreeMap<(Vec<usize>, usize, bool), (u8, f64)>;

/// Every order with every choice of sides, by plain recursion.
struct Brute<'a> {
    recipe: &'a Recipe,
    blank: &'a Blank,
    swings: &'a [f64],
    poses: Poses,
    best: Option<Counts>,
    /// 0 where only free poses count, 1 where grazing ones do as well.
    most: u8,
}

impl Brute<'_> {
    fn pose(&mut self, made: &[usize], choice: Choice) -> (u8, f64) {
        let mut sorted = made.to_vec();
        sorted.sort_unstable();
        let key = (sorted, choice.bend, choice.side == FenceSide::Front);
        if let Some(known) = self.poses.get(&key) {
            return *known;
        }
        let lay = Lay::new(&Outline::new(self.recipe, self.blank, self.swings), choice, made);
        let impossible = lay.short_of_grip.is_some() || lay.fence_out_of_reach;
        let fence = lay.fence;
        // With the sheet at the worst of its expected, least and greatest thickness.
        let known = &self.recipe.part.sheet.thickness.value;
        let thick = |thickness: f64| lay.pose.with_thickness(thickness).touches(&lay.section);
        let touches = [known.nominal(), known.low(), known.high()].map(thick).concat();
        let state =
            if impossible || touches.iter().any(|touch| touch.collides) { 2 } else { u8::from(!touches.is_empty()) };
        self.poses.insert(key, (state, fence));
        (state, fence)
    }

    fn go(&mut self, way: &mut Vec<(Choice, f64)>, counts: Counts) {
        let bends = self.recipe.part.bends.len();
        if way.len() == bends {
            self.best = Some(self.best.map_or(counts, |best| best.min(counts)));
            return;
        }
        let made: Vec<usize> = way.iter().map(|(choice, _)| choice.bend).collect();
        for bend in (0..bends).filter(|bend| !made.contains(bend)) {
            for side in [FenceSide::Front, FenceSide::Back] {
                let given = self.recipe.bends[bend].fence.map(|given| given.value);
                let choice = Choice { bend, side };
                let (state, fence) = self.pose(&made, choice);
                if given.is_some_and(|given| given != side) || state > self.most {
                    continue;
                }
                let next = self.after(way, choice, fence, counts);
                way.push((choice, fence));
                self.go(way, next);
                way.pop();
            }
        }
    }

    fn after(&self, way: &[(Choice, f64)], choice: Choice, fence: f64, mut counts: Counts) -> Counts {
        let part = &self.recipe.part;
        let line = self.blank.lines[choice.bend].from_start;
        let longer = if 2.0 * line >= self.blank.length.nominal() { FenceSide::Front } else { FenceSide::Back };
        counts.short_sides += u32::from(longer != choice.side);
        if let Some((last, at)) = way.last() {
            counts.turn_overs += u32::from(part.bends[last.bend].direction != part.bends[choice.bend].direction);
            counts.fence_changes += u32::from((fence - at).abs() > self.recipe.bench.fence.reads.value / 2.0);
        }
        let arm = |bend: usize| self.recipe.bends[bend].arm;
        let stop = way.iter().rev().find(|(before, _)| arm(before.bend) == arm(choice.bend));
        let other = |before: &(Choice, f64)| (self.swings[before.0.bend] - self.swings[choice.bend]).abs() > 1e-6;
        counts.swing_changes += u32::from(stop.is_some_and(other));
        counts
    }
}

/// The best counts by trying everything; what only grazes is taken where there is nothing else.
fn brute(recipe: &Recipe, blank: &Blank, swings: &[f64]) -> Option<Counts> {
    let mut brute = Brute { recipe, blank, swings, poses: Poses::new(), best: None, most: 0 };
    brute.go(&mut Vec::new(), Counts::default());
    if brute.best.is_none() {
        brute.most = 1;
        brute.go(&mut Vec::new(), Counts::default());
    }
    brute.best
}

/// Holds the search against trying everything; whether there is an order.
fn compare(recipe: &Recipe, blank: &Blank, swings: &[f64]) -> bool {
    let tried = brute(recipe, blank, swings);
    match choose(&Outline::new(recipe, blank, swings)) {
        Ok(best) => {
            assert_eq!(tried, Some(best.counts), "{:?}", best.choices);
            let mut bends: Vec<usize> = best.choices.iter().map(|choice| choice.bend).collect();
            bends.sort_unstable();
            assert_eq!(bends, (0..recipe.part.bends.len()).collect::<Vec<_>>());
            true
        }
        Err(NoOrder::None(ends, all)) => {
            assert_eq!(tried, None);
            assert!(!ends.is_empty() && all >= ends.len());
            for end in &ends {
                // Every bend that is left is told with every side that may be clamped.
                let left = recipe.part.bends.len() - end.made.len();
                assert_eq!(end.blocked.len(), 2 * left, "{end:?}");
            }
            false
        }
        Err(NoOrder::TooMany) => panic!("five bends are not too many"),
    }
}

fn swings(recipe: &Recipe) -> Vec<f64> {
    let springback = recipe.part.springback.nominal();
    let bends = recipe.bends.iter().zip(&recipe.part.bends);
    bends.map(|(settings, bend)| settings.swing.map_or(bend.angle.value + springback, |given| given.value)).collect()
}

/// The recipes of the examples, with their blanks.
fn recipes() -> Vec<(Recipe, Blank)> {
    let library = examples();
    let io = memory(&library);
    let paths: Vec<&str> = library.keys().filter(|path| path.starts_with("recipes/")).map(String::as_str).collect();
    let (_, checked) = checked(&io, &paths);
    let plans = checked.made.iter().filter_map(|made| match &made.plan {
        Some(Plan::Recipe(plan)) => Some((plan.recipe.clone(), plan.blank.clone())),
        _ => None,
    });
    plans.collect()
}

#[test]
fn orders_of_the_examples_are_the_best_of_all() {
    let mut seen = 0;
    for (mut recipe, blank) in recipes() {
        if !(2..=5).contains(&recipe.part.bends.len()) {
            continue;
        }
        let swings = swings(&recipe);
        assert!(compare(&recipe, &blank, &swings), "{}", recipe.name);
        // And with either side free.
        for settings in &mut recipe.bends {
            settings.fence = None;
        }
        assert!(compare(&recipe, &blank, &swings), "{}", recipe.name);
        seen += 1;
    }
    assert!(seen >= 12, "{seen}");
}

/// A part of a recipe with its bends and legs changed at random.
fn random_part(template: &Recipe, bends: usize, dice: &mut Dice) -> Recipe {
    let mut recipe = template.clone();
    recipe.part.bends.truncate(bends);
    recipe.part.legs.truncate(bends + 1);
    recipe.bends.truncate(bends);
    for leg in &mut recipe.part.legs {
        leg.length.value = 0.018 + 0.13 * dice.next() * dice.next();
    }
    for bend in &mut recipe.part.bends {
        bend.direction = if dice.next() < 0.6 { Direction::Up } else { Direction::Down };
        let throw = dice.next();
        // Half of the bends are square; the others come in three more angles.
        let degrees: f64 = if throw < 0.5 {
            90.0
        } else if throw < 0.65 {
            30.0
        } else if throw < 0.8 {
            45.0
        } else {
            110.0
        };
        bend.angle.value = degrees.to_radians();
    }
    for settings in &mut recipe.bends {
        settings.fence = None;
    }
    recipe
}

#[test]
fn orders_of_random_parts_are_the_best_of_all() {
    let parts = if deep() { 400 } else { 60 };
    let all = recipes();
    let template = &all.iter().find(|(recipe, _)| recipe.name == "step_stand_run").unwrap().0;
    let mut dice = Dice(5);
    let (mut can, mut cannot) = (0, 0);
    while can + cannot < parts {
        let bends = 2 + (can + cannot) % 4;
        let recipe = random_part(template, bends, &mut dice);
        let Ok(blank) = blank(&recipe.part, &vec![0.004; bends]) else { continue };
        if compare(&recipe, &blank, &swings(&recipe)) { can += 1 } else { cannot += 1 }
    }
    assert!(can > parts / 5 && cannot > parts / 20, "{can} can be made, {cannot} cannot");
}

#[test]
fn a_computed_order_is_planned_as_it_was_counted() {
    let mut library = examples();
    let text = library["recipes/hanging_tray.withy"].clone();
    let text: String =
        text.lines()
            .filter(|line| !line.trim_start().starts_with("order ") && !line.contains("fence "))
            .map(|line| {
                if line.contains("expect blank") { format!("  order computed\n{line}\n") } else { format!("{line}\n") }
            })
            .collect();
    library.insert("recipes/hanging_tray.withy".to_owned(), text);
    let io = memory(&library);
    let (_, checked) = checked(&io, &["recipes/hanging_tray.withy"]);
    assert_eq!(checked.findings, []);
    let Some(Plan::Recipe(plan)) = &checked.made[0].plan else { panic!("no plan") };
    assert!(matches!(plan.recipe.order, Order::Computed(_)) && plan.handling.computed);
    let best = choose(&Outline::new(&plan.recipe, &plan.blank, &swings(&plan.recipe))).unwrap();
    let count = |change: Change| plan.steps.iter().filter(|step| step.changes.contains(&change)).count();
    let counted = [best.counts.turn_overs, best.counts.swing_changes, best.counts.fence_changes];
    let planned = [Change::TurnOver, Change::Swing, Change::Fence].map(count);
    assert_eq!(counted.map(|count| count as usize), planned);
    assert_eq!(planned[0], 1);
    assert!(plan.handling.poses.iter().all(|pose| pose.touches.is_empty()));
}

#[test]
fn every_bend_has_its_picture_and_every_dead_end_as_well() {
    let mut library = examples();
    let text = std::fs::read_to_string(crate::common::root().join("examples/wrong/no-order.withy")).unwrap();
    library.insert("wrong/no-order.withy".to_owned(), text);
    let io = memory(&library);
    let (loaded, checked) = checked(&io, &["recipes/hanging_tray.withy", "wrong/no-order.withy"]);
    let (compiled, refused) = compile(&loaded, &checked, 110);
    let poses = compiled[0].outputs.iter().find(|output| output.name == "poses.svg").unwrap();
    let poses = std::str::from_utf8(&poses.bytes).unwrap();
    assert_eq!(poses.matches("<g transform").count(), 4);
    for bend in ["1  right_wall", "2  left_wall", "3  right_flange", "4  left_flange"] {
        assert!(poses.contains(bend), "{bend}");
    }
    assert!(!poses.contains("NaN") && !poses.contains("inf"));
    // Each way that ends is drawn with either side of each bend that is left.
    let [refused] = refused.as_slice() else { panic!("{refused:?}") };
    let [obstacles] = refused.outputs.as_slice() else { panic!("{refused:?}") };
    assert_eq!(obstacles.name, "obstacles.svg");
    let obstacles = std::str::from_utf8(&obstacles.bytes).unwrap();
    let drawn = obstacles.matches("<g transform").count();
    assert!(drawn >= 4 && drawn == obstacles.matches("sheet hit").count(), "{drawn}");
    assert!(obstacles.contains("stands in the base as the sheet is laid in"));
}

/// Two walls of 200 mm lean towards each other by 20 deg over a top of 143 mm, one swung by each arm: sheet of 3 mm just
/// passes. Cut alike, the inner faces of sheet of 4.5 mm stand 1.5 mm closer, since the neutral lines stay where they are.
#[test]
fn two_arms_at_once_are_looked_at_with_the_thickest_sheet() {
    let part = |thickness: &str| {
        format!(
            "language 1\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/west.withy\"\n\n\
             sheet own from clear_3 {{ thickness {thickness} }}\n\n\
             part lean {{\n  sheet own\n  width 160 mm\n  springback 0 deg\n  profile outside {{\n    leg 200 mm\n    \
             bend up 110 deg radius 6 mm as left\n    leg 143 mm\n    bend up 110 deg radius 6 mm as right\n    \
             leg 200 mm\n  }}\n}}\n\n\
             recipe leans for lean on west {{\n  ambient 18..26 degC\n  every bend {{ heat 150 s, set 160 s }}\n  \
             bend left {{ on front }}\n  bend right {{ on carriage }}\n  order left with right\n}}\n"
        )
    };
    let meet = |thickness: &str| {
        let mut library = examples();
        library.insert("recipes/lean.withy".to_owned(), part(thickness));
        let (_, checked) = checked(&memory(&library), &["recipes/lean.withy"]);
        let Some(Plan::Recipe(plan)) = &checked.made[0].plan else { panic!("{:#?}", checked.findings) };
        let with = plan.handling.poses.iter().find_map(|pose| pose.with.as_ref()).unwrap();
        with.1.iter().any(|touch| touch.collides)
    };
    assert!(!meet("3 mm ± 0.01 mm"));
    assert!(meet("3 mm ± 1.5 mm"));
}
