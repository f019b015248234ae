//! Random batches as a workshop would write them, with the facts that stand in them.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde_json::{Value, json};
use withy::library::Plan;
use withy::model::Bench;
use withy::plan::BatchPlan;

use crate::common::{checked, memory};

/// Numbers that repeat on every machine (splitmix64).
pub struct Dice(pub u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    fn one_of<T: Copy>(&mut self, things: &[T]) -> T {
        things[usize::try_from(self.next() % things.len() as u64).unwrap()]
    }

    fn between(&mut self, low: u64, high: u64) -> u64 {
        low + self.next() % (high - low + 1)
    }
}

/// How large a batch is.
#[derive(Clone, Copy)]
pub struct Size {
    pub arms: u64,
    pub runs: u64,
    pub times: u64,
    pub bends: u64,
}

/// A batch, its plan, and what stands in its text. Times in ms, currents in steps of 10 mA.
pub struct Instance {
    pub text: String,
    pub plan: Box<BatchPlan>,
    pub facts: Value,
}

/// One bend: its arm and its times in s.
#[derive(Clone, Copy)]
struct Bend {
    arm: u64,
    heat: u64,
    soak: u64,
    transfer: u64,
    set: u64,
}

struct Run {
    times: u64,
    /// Bends in the order of the profile, which is the order they are made in; groups by their length.
    bends: Vec<Bend>,
    groups: Vec<usize>,
}

/// A random batch of at most this size.
pub fn instance(seed: u64, size: Size) -> Instance {
    let mut dice = Dice(seed);
    let arms = dice.between(2, size.arms);
    let supplies = dice.one_of(&[1, 1, 2]);
    let operators = dice.one_of(&[1, 1, 1, 2]);
    let count = dice.between(2, size.runs);
    let orders = (0..count).map(|_| Wanted {
        times: dice.between(1, size.times),
        bends: dice.between(1, size.bends),
        home: dice.between(0, arms - 1),
        roams: dice.between(0, 3) == 0,
    });
    let orders: Vec<Wanted> = orders.collect();
    batch(&mut dice, (arms, supplies, operators), &orders)
}

/// 40 parts at one arm and 20 at another, with one operator and one supply.
pub fn large(seed: u64) -> Instance {
    let mut dice = Dice(seed);
    let wanted = [(40, 0), (20, 1)].map(|(times, home)| {
        let bends = if times == 40 { dice.between(1, 3) } else { dice.between(2, 4) };
        Wanted { times, bends, home, roams: false }
    });
    batch(&mut dice, (2, 1, 1), &wanted)
}

/// 40, 20 and 10 parts at an arm each, with one operator and one supply.
pub fn large_on_three_arms(seed: u64) -> Instance {
    let mut dice = Dice(seed);
    let wanted = [(40, 0), (20, 1), (10, 2)];
    let wanted = wanted.map(|(times, home)| Wanted { times, bends: dice.between(1, 3), home, roams: false });
    batch(&mut dice, (3, 1, 1), &wanted)
}

/// What a run is to be.
struct Wanted {
    times: u64,
    bends: u64,
    home: u64,
    roams: bool,
}

fn batch(dice: &mut Dice, (arms, supplies, operators): (u64, u64, u64), wanted: &[Wanted]) -> Instance {
    let mut text = bench(dice, arms, supplies);
    let handling: Vec<u64> =
        [(8, 40), (5, 30), (5, 20), (0, 8), (0, 20), (0, 10)].map(|(low, high)| dice.between(low, high)).into();
    let attended = dice.between(0, 4) == 0;
    let _ = writeln!(
        text,
        "  handling {{ load {} s, reposition {} s, unload {} s, turn_over {} s, swing_change {} s, fence_change {} s }}\n  operators {operators}\n{}}}",
        handling[0],
        handling[1],
        handling[2],
        handling[3],
        handling[4],
        handling[5],
        if attended { "" } else { "  controller panel\n" }
    );
    text.push_str("controller panel {\n");
    for arm in 0..arms {
        let _ = writeln!(text, "  output {arm} heats h{arm}");
    }
    text.push_str("  heat_limit 300 s\n}\n");
    let runs: Vec<Run> =
        wanted.iter().enumerate().map(|(number, wanted)| run(dice, &mut text, arms, number, wanted)).collect();
    text.push_str("batch all {\n");
    for (number, run) in runs.iter().enumerate() {
        let _ = writeln!(text, "  run r{number} {} times plus {} spare", run.times, dice.between(0, 2));
    }
    text.push_str("}\n");
    let plan = planned(&text);
    let mut facts = facts(&plan, &runs, &handling, operators);
    facts["attended"] = Value::from(attended);
    Instance { text, plan, facts }
}

/// The plan of the batch in a text.
fn planned(text: &str) -> Box<BatchPlan> {
    let io = memory(&BTreeMap::from([("recipes/all.withy".to_owned(), text.to_owned())]));
    let (_, checked) = checked(&io, &["recipes/all.withy"]);
    let plans = checked.made.into_iter().filter_map(|made| match made.plan {
        Some(Plan::Batch(plan)) => Some(plan),
        _ => None,
    });
    plans.last().unwrap_or_else(|| panic!("no plan: {:#?}\n{text}", checked.findings))
}

fn bench(dice: &mut Dice, arms: u64, supplies: u64) -> String {
    let mut text = String::from(
        "language 1\nsheet own { material petg, thickness 2 mm ± 5 %, colour clear, size [1 m, 2 m] }\n\
         wire hot { alloy nichrome_80_20, diameter 0.8 mm }\n",
    );
    for supply in 0..supplies {
        let rated = dice.one_of(&[16, 16, 26, 40]);
        let fuse = dice.one_of(&[20, 30]);
        let _ = writeln!(
            text,
            "supply s{supply} {{ voltage 12 V at wire, kind dc, rated {rated} A, continuous 80 %, fuse {fuse} A }}"
        );
    }
    for arm in 0..arms {
        let length = dice.one_of(&[500, 600, 800]);
        let supply = dice.between(0, supplies - 1);
        let warm =
            if dice.between(0, 2) == 0 { format!("  warm_up {} s\n", dice.between(20, 90)) } else { String::new() };
        let _ = writeln!(
            text,
            "heater h{arm} {{\n  line below {{ wire hot, gap 8 mm }}\n  length {length} mm\n  channel 18 mm\n  \
             shield {{ metal aluminium, mass 0.1 kg/m }}\n  supply s{supply}\n  switch solid_state\n  fuse 15 A\n  \
             leads {{ metal copper, area 2.5 mm2, length 1 m }}\n{warm}}}"
        );
    }
    text.push_str("bench b {\n  base { depth 900 mm, width 900 mm, thickness 30 mm, surface wood }\n");
    for arm in 0..arms {
        let _ = writeln!(
            text,
            "  arm a{arm} {{ heater h{arm}, depth 40 mm, thickness 15 mm, swings 0..120 deg, place 0..900 mm }}"
        );
    }
    text.push_str(
        "  fence { reach 5..890 mm, reads 0.5 mm }\n  clamp { height 18 mm, depth 25 mm, inset 12 mm, grip 10 mm }\n",
    );
    text
}

/// Writes a part and its recipe.
fn run(dice: &mut Dice, text: &mut String, arms: u64, number: usize, wanted: &Wanted) -> Run {
    let mut bends = Vec::new();
    let mut profile = String::from("leg 70 mm");
    for bend in 0..wanted.bends {
        let arm = if wanted.roams { dice.between(0, arms - 1) } else { wanted.home };
        let (heat, soak) = (dice.between(20, 120), dice.one_of(&[0, 0, 0, 10]));
        bends.push(Bend { arm, heat, soak, transfer: dice.between(2, 6), set: dice.between(10, 80) });
        let _ = write!(
            profile,
            "\n  bend {} {} deg radius 6 mm as b{bend}\n  leg {} mm",
            dice.one_of(&["up", "up", "down"]),
            dice.one_of(&[20, 30]),
            dice.one_of(&[70, 90])
        );
    }
    let mut groups: Vec<usize> = Vec::new();
    let mut order = String::new();
    for (index, bend) in bends.iter().enumerate() {
        let joins =
            index > 0 && groups.last() == Some(&1) && bends[index - 1].arm != bend.arm && dice.between(0, 1) == 0;
        if joins {
            *groups.last_mut().unwrap() = 2;
        } else {
            groups.push(1);
        }
        let word = if joins { " with " } else { " then " };
        let _ = write!(order, "{}b{index}", if index == 0 { "" } else { word });
    }
    let times = wanted.times;
    let _ =
        writeln!(text, "part p{number} {{\n  sheet own\n  width 120 mm\n  profile outside {{\n  {profile}\n  }}\n}}");
    let _ = writeln!(text, "recipe r{number} for p{number} on b {{\n  ambient 20..24 degC");
    for (index, bend) in bends.iter().enumerate() {
        let heat = if bend.soak == 0 {
            format!("{} s", bend.heat)
        } else {
            format!("{} s full then {} s at 0 % then 5 s at 60 %", bend.heat - 15, bend.soak)
        };
        let _ = writeln!(
            text,
            "  bend b{index} {{ on a{}, heat {heat}, transfer {} s, set {} s }}",
            bend.arm, bend.transfer, bend.set
        );
    }
    if bends.len() > 1 {
        let _ = writeln!(text, "  order {order}");
    }
    text.push_str("}\n");
    for bend in &mut bends {
        if bend.soak > 0 {
            bend.heat = bend.heat - 15 + bend.soak + 5;
        }
    }
    Run { times, bends, groups }
}

/// What the rules need, as it stands in the text; currents and stops as they were computed.
fn facts(plan: &BatchPlan, runs: &[Run], handling: &[u64], operators: u64) -> Value {
    let bench = &plan.runs[0].plan.recipe.bench;
    let mut amounts = vec![0; bench.arms.len()];
    for (run, planned) in runs.iter().zip(&plan.runs) {
        for (bend, made) in run.bends.iter().zip(&planned.plan.bends) {
            amounts[usize::try_from(bend.arm).unwrap()] = (made.electric.current.high() * 100.0 - 1e-6).ceil() as i64;
        }
    }
    let passes = |run: &Run, planned: &withy::plan::RunPlan| -> Vec<Vec<Value>> {
        let mut bend = 0;
        let mut passes = Vec::new();
        for length in &run.groups {
            let group = (bend..bend + length).map(|bend| {
                let (own, made) = (&run.bends[bend], &planned.plan.bends[bend]);
                json!({
                    "arm": own.arm, "heat": own.heat * 1000, "transfer": own.transfer * 1000, "set": own.set * 1000,
                    "swing": made.swing, "fence": made.fence, "over": made.turned_over,
                })
            });
            passes.push(group.collect());
            bend += length;
        }
        passes
    };
    let runs: Vec<Value> = runs
        .iter()
        .zip(&plan.runs)
        .map(|(run, planned)| json!({ "times": run.times, "passes": passes(run, planned) }))
        .collect();
    let names = ["load", "reposition", "unload", "turn_over", "swing_change", "fence_change"];
    let handling: BTreeMap<&str, u64> = names.into_iter().zip(handling.iter().map(|time| time * 1000)).collect();
    json!({ "operators": operators, "handling": handling, "reads": 0.0005, "arms": arms(bench, &amounts), "runs": runs })
}

/// What each arm draws from which supply, and what there is.
fn arms(bench: &Bench, amounts: &[i64]) -> Vec<Value> {
    bench
        .arms
        .iter()
        .zip(amounts)
        .map(|(arm, amount)| {
            let supply = &arm.heater.supply;
            let long = (supply.rated.value.low() * supply.continuous).min(supply.fuse.unwrap().value);
            json!({
                "supply": supply.name, "amount": amount, "room": (long * 100.0 + 1e-6).floor() as i64,
                "warm_up": arm.heater.warm_up.map(|given| (given.value * 1e3) as i64),
            })
        })
        .collect()
}

/// The facts of a batch whose text nobody made here, as they stand in its recipes and its bench.
pub fn read(plan: &BatchPlan) -> Value {
    let bench = &plan.runs[0].plan.recipe.bench;
    let ms = |seconds: f64| (seconds * 1e3).round() as u64;
    let mut amounts = vec![0; bench.arms.len()];
    let mut runs = Vec::new();
    for run in &plan.runs {
        let recipe = &run.plan.recipe;
        let pass = |group: &Vec<usize>| -> Vec<Value> {
            let bend = |bend: &usize| {
                let (own, made) = (&recipe.bends[*bend], &run.plan.bends[*bend]);
                let heat: u64 = made.heat.iter().map(|level| ms(level.time)).sum();
                json!({
                    "arm": own.arm, "heat": heat, "transfer": ms(own.transfer), "set": ms(made.set),
                    "swing": made.swing, "fence": made.fence, "over": made.turned_over,
                })
            };
            group.iter().map(bend).collect()
        };
        let passes: Vec<Vec<Value>> = run.plan.handling.order.iter().map(pass).collect();
        runs.push(json!({ "times": run.times, "passes": passes }));
        for (own, made) in recipe.bends.iter().zip(&run.plan.bends) {
            amounts[own.arm] = (made.electric.current.high() * 100.0 - 1e-6).ceil() as i64;
        }
    }
    let own = &bench.handling;
    json!({
        "operators": bench.operators, "attended": bench.controller.is_none(), "reads": bench.fence.reads.value,
        "handling": {
            "load": ms(own.load), "reposition": ms(own.reposition), "unload": ms(own.unload),
            "turn_over": ms(own.turn_over), "swing_change": ms(own.swing_change), "fence_change": ms(own.fence_change),
        },
        "arms": arms(bench, &amounts), "runs": runs,
    })
}
