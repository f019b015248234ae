//! A generated library of sound recipes, some with one seeded fault: each fault is found, and nothing is found without a
//! cause. The generator knows the truth; `WITHY_DEEP=1` asks for the whole library.

use std::collections::BTreeMap;

use crate::common::deep;
use crate::dice::Dice;
use crate::found::found;

/// How many recipes are made; the tenth part of them in an ordinary run, since each is solved.
const RECIPES: usize = 320;

/// What is written: the pieces of a file, so that a fault can change one.
struct Plan {
    sheet: String,
    heater: String,
    spring: String,
    controller: String,
    /// Entries of a supply of its own; the bench's is used without any.
    supply: String,
    bench: String,
    /// What follows the length of the first leg.
    leg: String,
    doc: String,
    width: f64,
    radius: f64,
    legs: Vec<f64>,
    angles: Vec<f64>,
    recipe: String,
    every: Vec<String>,
    more: String,
}

/// A fault: the rule that must tell of it, what else may follow from it, and how it comes about.
struct Fault {
    rule: &'static str,
    follows: &'static [&'static str],
    seed: fn(&mut Plan, &mut Dice),
}

/// Heat rules that may follow where a fault also changes what reaches the sheet.
const HEAT: &[&str] = &["no-heat-window", "thin-margin"];

fn within(dice: &mut Dice, low: f64, high: f64) -> f64 {
    // Workshops write tenths.
    (10.0 * (low + (high - low) * dice.next())).round() / 10.0
}

fn every(plan: &mut Plan, head: &str, entry: String) {
    plan.every.retain(|entry| !entry.starts_with(head));
    plan.every.push(entry);
}

#[rustfmt::skip] // One row a fault reads as the table it is.
const FAULTS: &[Fault] = &[
    Fault { rule: "overlong-heat", follows: &["uneven-bends"], seed: |plan, dice| every(plan, "heat", format!("heat {} s", within(dice, 176.0, 186.0))) },
    Fault { rule: "fire-heat", follows: &[], seed: |plan, dice| every(plan, "heat", format!("heat {} s", within(dice, 240.0, 290.0))) },
    Fault { rule: "short-heat", follows: &[], seed: |plan, dice| every(plan, "heat", format!("heat {} s", within(dice, 60.0, 120.0))) },
    Fault { rule: "short-set", follows: &[], seed: |plan, dice| every(plan, "set", format!("set {} s", within(dice, 20.0, 70.0))) },
    Fault { rule: "missing-heat-time", follows: &[], seed: |plan, _| plan.every.retain(|entry| !entry.starts_with("heat")) },
    Fault { rule: "missing-set-time", follows: &[], seed: |plan, _| plan.every.retain(|entry| !entry.starts_with("set")) },
    Fault { rule: "slow-transfer", follows: HEAT, seed: |plan, dice| every(plan, "transfer", format!("transfer {} s", within(dice, 24.0, 34.0))) },
    Fault { rule: "film-in-heat", follows: &[], seed: |plan, _| plan.recipe.push_str("  film left\n") },
    Fault { rule: "idle-acceptance", follows: &[], seed: |plan, _| plan.recipe.push_str("  accept lead-drop because \"it was measured\"\n") },
    Fault { rule: "stale-acceptance", follows: &[], seed: |plan, _| plan.recipe.push_str("  accept relay-wear because \"until it is replaced\" until 2026-03-01\n") },
    Fault { rule: "one-face-too-thick", follows: &["no-heat-window", "thin-margin", "short-heat", "tight-radius", "narrow-heated-zone"], seed: |plan, dice| plan.sheet = format!("thickness {} mm ± 0.1 mm", within(dice, 3.3, 5.0)) },
    Fault { rule: "over-precise", follows: &[], seed: |plan, dice| plan.sheet = format!("thickness {:.4} mm ± 0.1 mm", 2.9 + 0.1 * dice.next()) },
    Fault { rule: "blank-too-large", follows: &[], seed: |plan, dice| plan.sheet.push_str(&format!(", size [100 mm, {} mm]", within(dice, 60.0, 110.0))) },
    Fault { rule: "tight-radius", follows: &["no-heat-window"], seed: |plan, dice| plan.radius = within(dice, 2.0, 5.5) },
    Fault { rule: "bends-too-close", follows: &["collision", "leg-too-short"], seed: |plan, dice| { plan.legs = vec![60.0, within(dice, 18.5, 20.5), 60.0]; plan.angles = vec![90.0, 90.0]; } },
    Fault { rule: "wire-short-of-sheet", follows: &[], seed: |plan, dice| plan.width = within(dice, 490.0, 520.0) },
    Fault { rule: "undocumented-part", follows: &[], seed: |plan, _| plan.doc = String::new() },
    Fault { rule: "gap-too-small", follows: &["no-heat-window", "thin-margin", "wire-sag"], seed: |plan, dice| plan.heater = format!("line below {{ gap {} mm }}", within(dice, 1.5, 3.0)) },
    Fault { rule: "missing-shield", follows: &["no-heat-window"], seed: |plan, _| plan.heater = "channel 18 mm, shield none".to_owned() },
    Fault { rule: "fuse-too-small", follows: &[], seed: |plan, dice| plan.heater = format!("fuse {} A", within(dice, 5.0, 13.0)) },
    Fault { rule: "fuse-too-large", follows: &[], seed: |plan, dice| plan.heater = format!("fuse {} A", within(dice, 15.5, 25.0)) },
    Fault { rule: "lead-too-thin", follows: &[], seed: |plan, dice| plan.heater = format!("leads {{ metal copper, area {} mm2, length 1 m }}", within(dice, 0.5, 1.2)) },
    Fault { rule: "mixed-unit-systems", follows: &[], seed: |plan, _| plan.heater = "length 20 in, channel 18 mm".to_owned() },
    Fault { rule: "near-flammable", follows: &["no-heat-window", "narrow-heated-zone", "bends-too-close"], seed: |plan, dice| plan.heater = format!("channel {} mm", within(dice, 3.0, 5.0)) },
    Fault { rule: "wire-sag", follows: &[], seed: |plan, _| plan.spring = "spring none, length 508 mm".to_owned() },
    Fault { rule: "spring-too-short", follows: &[], seed: |plan, dice| plan.spring = format!("spring {{ travel {} mm }}", within(dice, 1.0, 4.0)) },
    Fault { rule: "spring-slack", follows: &[], seed: |plan, dice| plan.spring = format!("spring {{ rate {} N/mm, preload 6 N }}", within(dice, 1.6, 4.0)) },
    Fault { rule: "wire-stress", follows: &[], seed: |plan, dice| plan.spring = format!("spring {{ preload {} N }}", within(dice, 25.0, 60.0)) },
    Fault { rule: "missing-heat-limit", follows: &[], seed: |plan, _| plan.controller = "heat_limit none".to_owned() },
    Fault { rule: "missing-stop-button", follows: &[], seed: |plan, _| plan.controller = "input 1 none".to_owned() },
    Fault { rule: "stop-not-hardwired", follows: &[], seed: |plan, _| plan.controller = "input 1 stop_button normally_closed".to_owned() },
    Fault { rule: "no-second-cut-off", follows: &[], seed: |plan, _| plan.controller = "output 0 heats line\n  output 2 none".to_owned() },
    Fault { rule: "missing-arm-switch", follows: &[], seed: |plan, _| plan.controller = "input 2 none".to_owned() },
    Fault { rule: "pin-clash", follows: &[], seed: |plan, _| plan.controller = "output 7 heats line".to_owned() },
    Fault { rule: "unused-name", follows: &[], seed: |plan, _| plan.more.push_str("\nlet spare = 3 mm\n") },
    Fault { rule: "idle-doc", follows: &[], seed: |plan, _| plan.more.push_str("\n## Nothing comes after this.\n") },
    Fault { rule: "shadowed-name", follows: &["unused-name"], seed: |plan, _| plan.more.push_str("\nlet copper = 3 mm\n") },
    Fault { rule: "unsourced-material", follows: &["unused-name"], seed: |plan, dice| plan.more.push_str(&format!("\nmaterial tinted from cast_acrylic {{ density {} kg/m3 }}\n", within(dice, 1180.0, 1195.0))) },
    // The other arm stays on the supply that this controller then leaves alone.
    Fault { rule: "supply-overload", follows: &["continuous-overload", "no-second-cut-off", "stop-not-hardwired"], seed: |plan, dice| plan.supply = format!("rated {} A", within(dice, 5.0, 9.0)) },
    Fault { rule: "continuous-overload", follows: &["no-second-cut-off", "stop-not-hardwired"], seed: |plan, dice| plan.supply = format!("rated {} A", within(dice, 12.6, 13.4)) },
    Fault { rule: "missing-fuse", follows: &["no-second-cut-off", "stop-not-hardwired"], seed: |plan, _| { plan.supply = "rated 30 A, fuse none".to_owned(); plan.heater = "fuse none".to_owned(); } },
    Fault { rule: "heat-beyond-limit", follows: &["thin-margin"], seed: |plan, dice| { every(plan, "heat", "heat 150 s".to_owned()); plan.controller = format!("heat_limit {} s", within(dice, 60.0, 110.0)); } },
    Fault { rule: "relay-wear", follows: &["short-heat", "unproved-window", "thin-margin"], seed: |plan, _| { plan.heater = "switch relay".to_owned(); every(plan, "heat", "heat 130 s full then 3 s at 0 % then 20 s full".to_owned()); } },
    Fault { rule: "outside-allowance", follows: &[], seed: |plan, dice| plan.leg = format!(" within {:.3} mm", 0.002 + 0.01 * dice.next()) },
    Fault { rule: "fence-out-of-reach", follows: &[], seed: |plan, dice| plan.bench = format!("fence {{ reach 12..{} mm }}", within(dice, 40.0, 80.0)) },
    // The fence has to stand under the bar, and is higher than the sheet.
    Fault { rule: "collision", follows: &["bends-too-close"], seed: |plan, dice| { plan.legs = vec![within(dice, 34.0, 40.0), 120.0]; plan.angles = vec![60.0]; plan.every.push("fence front".to_owned()); } },
    Fault { rule: "leg-too-short", follows: &["collision"], seed: |plan, dice| { plan.legs = vec![within(dice, 18.0, 24.0), 120.0]; plan.angles = vec![60.0]; plan.every.push("fence front".to_owned()); } },
    Fault { rule: "duplicate-recipe", follows: &[], seed: |plan, _| plan.more.push_str("\nTWIN") },
    Fault { rule: "program-too-large", follows: &[], seed: |plan, dice| plan.controller = format!("program_space {}", 100.0 + within(dice, 0.0, 80.0).round()) },
    Fault { rule: "uneven-bends", follows: &["thin-margin", "short-heat", "overlong-heat"], seed: |plan, dice| { plan.legs = vec![100.0; 3]; plan.angles = vec![60.0; 2]; every(plan, "heat", "heat 150 s".to_owned()); plan.recipe.push_str(&format!("  bend b1 {{ heat {} s }}\n", within(dice, 162.0, 168.0))); } },
];

/// A sound recipe on the long line of the north bench.
fn sound(dice: &mut Dice) -> Plan {
    // Two bends up at most, and long legs: what hits the bench has tests of its own.
    let bends = if dice.next() < 0.5 { 1 } else { 2 };
    Plan {
        sheet: format!("thickness {} mm ± 0.1 mm", within(dice, 2.9, 3.0)),
        heater: String::new(),
        spring: String::new(),
        controller: String::new(),
        supply: String::new(),
        bench: String::new(),
        leg: String::new(),
        doc: "## Something for a microscope.\n".to_owned(),
        width: within(dice, 80.0, 400.0),
        radius: within(dice, 6.0, 6.4),
        legs: (0..=bends).map(|_| within(dice, 90.0, 130.0)).collect(),
        angles: (0..bends).map(|_| within(dice, 40.0, 90.0)).collect(),
        recipe: String::new(),
        every: vec!["heat computed".to_owned(), "set computed".to_owned()],
        more: String::new(),
    }
}

fn written(plan: &Plan) -> String {
    let block = |entries: &[&String]| {
        let lines = entries.iter().filter(|entry| !entry.is_empty());
        lines.fold(String::new(), |text, entry| text + "  " + entry + "\n")
    };
    let mut profile = String::new();
    for (index, leg) in plan.legs.iter().enumerate() {
        let allowed = if index == 0 { plan.leg.as_str() } else { "" };
        profile.push_str(&format!("    leg {leg} mm{allowed}\n"));
        if let Some(angle) = plan.angles.get(index) {
            profile.push_str(&format!("    bend up {angle} deg radius {} mm as b{index}\n", plan.radius));
        }
    }
    let names: Vec<String> = (0..plan.angles.len()).map(|index| format!("b{index}")).collect();
    let order = if names.len() > 1 { format!("  order {}\n", names.join(" then ")) } else { String::new() };
    let (supply, heater, wiring) = if plan.supply.is_empty() {
        (String::new(), plan.heater.clone(), String::new())
    } else {
        let wiring = "  output 2 isolates rail\n  input 1 stop_button normally_closed breaks rail\n";
        let entries = [plan.heater.as_str(), "supply rail"].into_iter().filter(|entries| !entries.is_empty());
        (
            format!("supply rail from rail_12v {{ {} }}\n\n", plan.supply),
            entries.collect::<Vec<_>>().join("\n  "),
            wiring.to_owned(),
        )
    };
    let recipe = |name: &str| {
        format!(
            "recipe {name} for thing on mine {{\n  ambient 18..27 degC\n  every bend {{\n    on left\n{}  }}\n{order}{}}}\n",
            block(&plan.every.iter().collect::<Vec<_>>()).replace("  ", "    ").replace("        ", "    "),
            plan.recipe,
        )
    };
    format!(
        "use \"../stock/acrylic.withy\"\nuse \"../bench/north.withy\"\n\n\
         sheet stock from clear_3 {{ {} }}\n\n{supply}\
         heater line from left_line {{\n{}}}\n\n\
         controller own from panel {{\n  output 0 heats line\n  input 6 current line\n{wiring}{}}}\n\n\
         bench mine from north {{\n  arm left {{ heater line }}\n  controller own\n{}}}\n\n\
         {}part thing {{\n  sheet stock\n  width {} mm\n  profile outside {{\n{profile}  }}\n}}\n\n{}{}",
        plan.sheet,
        block(&[&heater, &plan.spring]),
        controller(&plan.controller),
        block(&[&plan.bench]),
        plan.doc,
        plan.width,
        recipe("run"),
        plan.more.replace("TWIN", &recipe("twin")),
    )
}

/// The controller's own entries; an output that is given again stands once.
fn controller(entries: &str) -> String {
    if entries.is_empty() { String::new() } else { format!("  {}\n", entries.replace("output 0 heats line\n  ", "")) }
}

/// The names of the findings of a recipe, each once.
fn names(text: &str) -> Vec<&'static str> {
    let mut names: Vec<&'static str> = found(text, "").into_iter().map(|one| one.name).collect();
    names.sort_unstable();
    names.dedup();
    names
}

#[test]
fn seeded_faults_are_found_and_nothing_else() {
    let mut dice = Dice(0x5eed);
    let step = if deep() { 1 } else { 5 };
    let (mut faults, mut counts) = (Vec::new(), BTreeMap::<&str, (usize, usize)>::new());
    for index in 0..RECIPES {
        // Every fourth recipe is sound, and each kind of fault comes as often as any other.
        let fault = if index % 4 == 3 { None } else { FAULTS.get((index - index / 4) % FAULTS.len()) };
        let mut plan = sound(&mut dice);
        if let Some(fault) = fault {
            (fault.seed)(&mut plan, &mut dice);
        }
        // In an ordinary run each kind of fault is tried once, and some sound recipes are.
        if index >= RECIPES / step && index > FAULTS.len() * 4 / 3 {
            continue;
        }
        let text = written(&plan);
        let names = names(&text);
        let count = counts.entry(fault.map_or("sound", |fault| fault.rule)).or_default();
        count.0 += 1;
        let (rule, follows) = fault.map_or(("", &[][..]), |fault| (fault.rule, fault.follows));
        let told = rule.is_empty() || names.contains(&rule);
        let causeless: Vec<_> = names.iter().filter(|name| **name != rule && !follows.contains(name)).collect();
        if told && causeless.is_empty() {
            count.1 += 1;
        } else {
            faults.push(format!("{index}: seeded `{rule}`, found {names:?} in\n{text}"));
        }
    }
    for (rule, (made, right)) in &counts {
        println!("{rule}: {right} of {made}");
    }
    let kinds = counts.keys().filter(|rule| **rule != "sound").count();
    assert!(faults.is_empty(), "{} wrong\n{}", faults.len(), faults.join("\n"));
    assert_eq!(kinds, FAULTS.len());
}
