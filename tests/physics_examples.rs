//! The examples' windows: random points of every box stay inside them, and the verdicts are those the design wants.

use std::collections::{BTreeMap, BTreeSet};

use withy::library::Plan;
use withy::model::Lot;
use withy::physics::section::Stage;
use withy::physics::window::{Unknown, Verdict};
use withy::plan::{BendPlan, RecipePlan, Thermal, with_bend};

use crate::common::{checked, deep, examples, memory};
use crate::dice::escape;

/// Every plan of the examples with the lot it takes its sheet from.
fn plans() -> Vec<(RecipePlan, Option<Lot>)> {
    let library = examples();
    let names: Vec<&str> = library.keys().map(String::as_str).filter(|name| name.starts_with("recipes/")).collect();
    let (_, checked) = checked(&memory(&library), &names);
    let mut plans = Vec::new();
    for made in checked.made {
        match made.plan {
            Some(Plan::Recipe(plan)) => plans.push((*plan, None)),
            Some(Plan::Batch(batch)) => {
                let lots = batch.batch.runs.into_iter().map(|run| run.lot);
                plans.extend(batch.runs.into_iter().map(|run| run.plan).zip(lots));
            }
            None => {}
        }
    }
    plans
}

/// The bends that have a window, each window once.
fn bends(plans: &[(RecipePlan, Option<Lot>)]) -> Vec<(&RecipePlan, Option<&Lot>, usize, &BendPlan, &Thermal)> {
    let mut distinct: Vec<(&RecipePlan, Option<&Lot>, usize, &BendPlan, &Thermal)> = Vec::new();
    for (plan, lot) in plans {
        for (index, bend) in plan.bends.iter().enumerate() {
            let Some(thermal) = &bend.thermal else { continue };
            if distinct.iter().all(|known| known.4 != thermal) {
                distinct.push((plan, lot.as_ref(), index, bend, thermal));
            }
        }
    }
    distinct
}

/// A bend by recipe, lot and label, for messages.
fn label(plan: &RecipePlan, lot: Option<&Lot>, bend: usize) -> String {
    let lot = lot.map_or(String::new(), |lot| format!(" from {}", lot.name));
    format!("{}{lot}, bend {}", plan.recipe.name, plan.recipe.part.bend_label(bend))
}

/// 2,000 points a bend with `WITHY_DEEP`, fewer in the ordinary run.
#[test]
fn random_points_of_every_example_stay_inside_its_windows() {
    let plans = plans();
    let bends = bends(&plans);
    assert!(bends.len() >= 8, "{}", bends.len());
    let throws = if deep() { 2000 } else { 60 };
    for (seed, (plan, lot, index, bend, thermal)) in (1..).zip(bends) {
        let name = label(plan, lot, index);
        let stages = bend.heat.iter().map(|level| Stage { level: level.share, duration: level.time }).collect();
        with_bend(&plan.recipe, index, &bend.electric, lot, stages, |bend| {
            // Whatever nobody has measured has room in the box; a calibration takes in all but itself.
            for unknown in Unknown::ALL {
                let known = bend.unknowns.get(unknown);
                let open = known.low < known.nominal || known.nominal < known.high;
                let written = [Unknown::Gap, Unknown::SecondGap, Unknown::Channel].contains(&unknown);
                let taken_in = thermal.calibrated && unknown.is_calibrated_away();
                assert!(open || written || taken_in, "{name}: {unknown:?} has no room: {known:?}");
            }
            assert_eq!(escape(bend, &thermal.window, throws, seed), None, "{name}");
            // A window that says half as much must be caught, or the throws would prove nothing.
            let mut narrow = thermal.window.clone();
            narrow.ready.high = narrow.ready.nominal + 0.5 * (narrow.ready.high - narrow.ready.nominal);
            narrow.ready.low = narrow.ready.nominal - 0.5 * (narrow.ready.nominal - narrow.ready.low);
            assert!(narrow.ready.high.is_infinite() || escape(bend, &narrow, 200, seed).is_some(), "{name}");
        })
        .unwrap();
    }
}

/// At least two heaters reach proved: two faces of black sheet, and thin sheet that was measured; all are calibrated.
#[test]
fn two_heaters_reach_proved() {
    let plans = plans();
    let mut proved: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (plan, lot, index, bend, thermal) in bends(&plans) {
        let window = &thermal.window;
        if window.verdict != Verdict::Proved {
            continue;
        }
        let name = label(plan, lot, index);
        assert!(thermal.calibrated, "{name} is proved though nobody calibrated its heater");
        let heat: f64 = bend.heat.iter().map(|level| level.time).sum();
        assert!(window.ready.high <= heat && heat <= window.over.low, "{name}: {heat} s in {window:?}");
        assert!(bend.set >= window.set.unwrap().high, "{name}: {} s for {window:?}", bend.set);
        let heater = &plan.recipe.bench.arms[plan.recipe.bends[index].arm].heater;
        proved.entry(heater.name.clone()).or_default().insert(name);
    }
    assert!(proved.contains_key("twin_line") && proved.contains_key("front_line"), "{proved:#?}");
}

/// 3 mm over one line that nobody calibrated: a starting point, and the coupling factor is what to find out first.
#[test]
fn the_dust_cover_is_nominal_and_names_the_coupling_first() {
    let (_, checked) = checked(&memory(&examples()), &["recipes/dust_cover.withy"]);
    let told: Vec<_> = checked.findings.iter().filter(|finding| finding.name() == "unproved-window").collect();
    assert!(!told.is_empty());
    for finding in told {
        // The unknown, and by how much it alone closes the window.
        let first = "What closes it most: the coupling factor, how much of the heat reaches the sheet (ready up to ";
        assert!(finding.notes[0].starts_with(first), "{}", finding.notes[0]);
        assert!(finding.helps[0].contains("calibrated { factor"), "{:?}", finding.helps);
    }
    for made in &checked.made {
        let Some(Plan::Recipe(plan)) = &made.plan else { panic!("the dust cover has no plan") };
        for bend in &plan.bends {
            let window = &bend.thermal.as_ref().unwrap().window;
            assert_eq!(window.verdict, Verdict::Nominal);
            assert_eq!(window.closings[0].unknown, Unknown::Kappa);
        }
    }
}

/// Common practice, no source: 20 in of 20 AWG at 12 V is 6.5 W/in at 10.8 to 10.9 A; drawing 15 A it is 9 W/in. The
/// compiler says which of the two a bench has.
#[test]
fn a_bench_has_six_and_a_half_or_nine_watts_an_inch() {
    for (wire, watts, amperes) in [("size 20 AWG", 6.45..6.55, 10.8..10.9), ("diameter 0.955 mm", 8.9..9.1, 14.9..15.1)]
    {
        let mut library = examples();
        let bench = library.get_mut("bench/north.withy").unwrap();
        *bench = bench.replacen("size 20 AWG", wire, 1).replacen("voltage 12.1 V", "voltage 12 V", 1);
        // The stronger line has no window: the times are given, so that there is a plan to read.
        let recipe = library.get_mut("recipes/dust_cover.withy").unwrap();
        *recipe = recipe.replacen("heat computed", "heat 90 s", 1).replacen("set computed", "set 200 s", 1);
        let (_, checked) = checked(&memory(&library), &["recipes/dust_cover.withy"]);
        let Some(Plan::Recipe(plan)) = &checked.made[0].plan else { panic!("{:?}", checked.findings) };
        let electric = &plan.bends[0].electric;
        let per_inch = electric.lines[0].line_power.nominal() * 0.0254;
        assert!(watts.contains(&per_inch), "{wire}: {per_inch} W/in");
        assert!(amperes.contains(&electric.current.nominal()), "{wire}: {:?}", electric.current);
    }
}
