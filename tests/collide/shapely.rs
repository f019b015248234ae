//! Random poses and their sweeps, with what the compiler says of them, against the library `shapely`.
//!
//! Source: `tests/collide/shapes.py`, which builds the sheet afresh and shares nothing with the compiler. It needs a
//! Python with `shapely`: the one `WITHY_PYTHON` names, else `python3`. Where `WITHY_PYTHON` or `CI` is set, a missing
//! library is a failure; elsewhere the test says that the comparison was not made. `WITHY_DEEP=1` asks for 10,000 poses.

use std::fmt::Write;
use std::process::{Command, Output};

use serde_json::{Value, json};
use withy::physics::collide::{Above, Form, Pose, Section, Stop, Stretch, Swing, Thing, Touch, cross};

use crate::python::python;
use crate::random::Dice;
use crate::{metres, metres_of_bench};

const DEEP: usize = 10_000;
const REDUCED: usize = 400;

#[test]
fn verdicts_agree_with_an_independent_library() {
    let Some(python) = python("shapely") else { return };
    let deep = std::env::var_os("WITHY_DEEP").is_some();
    let (count, samples) = if deep { (DEEP, 90) } else { (REDUCED, 60) };
    let mut dice = Dice(20_261_125);
    let cases: Vec<Value> = (0..count).map(|_| case(&mut dice)).collect();
    let output = run(&python, &cases, samples);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    println!("{count} poses: {}", text.trim());
    assert!(output.status.success(), "{text}{}", String::from_utf8_lossy(&output.stderr));
    // Something of each kind was among them.
    let number = |word: &str| -> usize {
        let part = text.trim().split(", ").find(|part| part.ends_with(word)).unwrap();
        part.split(' ').next().unwrap().parse().unwrap()
    };
    assert!(number("collide") > count / 10 && number("clear") > count / 10, "{text}");
    assert!(number("graze") < count / 5, "{text}");

    // The script must notice a collision that is kept from it, and one that is made up.
    let hit =
        cases.iter().find(|case| case["touches"].as_array().unwrap().iter().any(|touch| touch["collides"] == true));
    let mut kept = hit.unwrap().clone();
    kept["touches"] = json!([]);
    assert!(!run(&python, &[kept], samples).status.success());
    let clear = cases.iter().find(|case| case["touches"].as_array().unwrap().is_empty());
    let mut made_up = clear.unwrap().clone();
    let angle = made_up["angle"].clone();
    made_up["touches"] = json!([{"first": "arm", "second": "clamp", "gap": -1.0, "angle": angle, "collides": true}]);
    assert!(!run(&python, &[made_up], samples).status.success());
}

fn run(python: &str, cases: &[Value], samples: u32) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("poses.jsonl");
    let mut text = String::new();
    for case in cases {
        writeln!(text, "{case}").unwrap();
    }
    std::fs::write(&file, text).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/collide/shapes.py");
    Command::new(python).arg(script).arg(&file).arg(samples.to_string()).output().unwrap()
}

/// A random pose in a random bench, and what the compiler finds in it; lengths in mm.
fn case(dice: &mut Dice) -> Value {
    let section = bench(dice);
    let fixed = stretches(dice);
    let pose = Pose { swing: swing(dice), fixed, moving: stretches(dice) };
    told(&pose, &section, &metres(&pose).touches(&metres_of_bench(&section)))
}

#[test]
fn two_arms_at_once_agree_with_an_independent_library() {
    let Some(python) = python("shapely") else { return };
    let (count, samples) = if std::env::var_os("WITHY_DEEP").is_some() { (1000, 40) } else { (60, 24) };
    let mut dice = Dice(7);
    let cases: Vec<Value> = (0..count).map(|_| pair(&mut dice)).collect();
    let output = run(&python, &cases, samples);
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    println!("{count} pairs: {}", text.trim());
    assert!(output.status.success(), "{text}{}", String::from_utf8_lossy(&output.stderr));
    assert!(!text.starts_with("0 collide") && !text.contains(" 0 clear"), "{text}");

    // The script must notice a collision that is kept from it.
    let deep =
        |case: &&Value| case["touches"].as_array().unwrap().iter().any(|touch| touch["gap"].as_f64() < Some(-4.0));
    let mut kept = cases.iter().find(deep).unwrap().clone();
    kept["touches"] = json!([]);
    assert!(!run(&python, &[kept], samples).status.success());
}

/// Two bends at once, back to back over a flat middle.
fn pair(dice: &mut Dice) -> Value {
    let apart = between(dice, 40.0, 260.0);
    let first = swing(dice);
    let poses = [first, Swing { thickness: first.thickness, neutral: first.neutral, ..swing(dice) }]
        .map(|swing| Pose { swing, fixed: Vec::new(), moving: stretches(dice) });
    let benches = [bench(dice), bench(dice)];
    let (scaled, sections) = ([metres(&poses[0]), metres(&poses[1])], benches.map(|bench| metres_of_bench(&bench)));
    let touches = cross([&scaled[0], &scaled[1]], [&sections[0], &sections[1]], apart * 1e-3);
    let halves: Vec<Value> = poses.iter().zip(&benches).map(|(pose, bench)| told(pose, bench, &[])).collect();
    json!({"pair": halves, "apart": apart, "touches": touches.iter().map(told_touch).collect::<Vec<Value>>()})
}

fn between(dice: &mut Dice, low: f64, high: f64) -> f64 {
    low + dice.next() * (high - low)
}

fn swing(dice: &mut Dice) -> Swing {
    let (thickness, neutral, angle) = (between(dice, 1.5, 6.0), between(dice, 0.35, 0.5), between(dice, 0.2, 2.6));
    Swing { thickness, neutral, zone: angle * (between(dice, 2.0, 12.0) + neutral * thickness), angle }
}

fn bench(dice: &mut Dice) -> Section {
    let at_edge = dice.next() < 0.7;
    let has_above = dice.next() < 0.2;
    let has_fence = dice.next() < 0.5;
    Section {
        back: between(dice, 60.0, 400.0),
        front: if at_edge { 0.0 } else { between(dice, 100.0, 400.0) },
        base: between(dice, 20.0, 40.0),
        inset: between(dice, 8.0, 20.0),
        bar_depth: between(dice, 15.0, 35.0),
        bar_height: between(dice, 8.0, 30.0),
        arm_depth: between(dice, 25.0, 90.0),
        arm: between(dice, 8.0, 19.0),
        above: has_above.then(|| Above { opening: between(dice, 14.0, 24.0), gap: between(dice, 6.0, 10.0) }),
        fence: has_fence.then(|| Stop {
            at: between(dice, 20.0, 120.0),
            height: between(dice, 1.0, 40.0),
            thickness: between(dice, 3.0, 20.0),
        }),
        shift: 0.0,
    }
}

fn told_touch(touch: &Touch) -> Value {
    json!({"first": word(touch.first), "second": word(touch.second), "gap": touch.gap * 1e3, "angle": touch.angle,
        "collides": touch.collides})
}

fn told(pose: &Pose, bench: &Section, touches: &[Touch]) -> Value {
    let Swing { thickness, neutral, zone, angle } = pose.swing;
    json!({
        "thickness": thickness, "neutral": neutral, "zone": zone, "angle": angle,
        "fixed": forms(&pose.fixed), "moving": forms(&pose.moving),
        "touches": touches.iter().map(told_touch).collect::<Vec<Value>>(),
        "bench": {"back": bench.back, "front": bench.front, "base": bench.base, "inset": bench.inset,
            "bar_depth": bench.bar_depth, "bar_height": bench.bar_height, "arm_depth": bench.arm_depth,
            "arm": bench.arm, "above": bench.above.map(|above| json!({"opening": above.opening, "gap": above.gap})),
            "fence": bench.fence.map(|fence| json!([fence.at, fence.height, fence.thickness]))},
    })
}

/// A leg, and up to four bends with a leg each.
fn stretches(dice: &mut Dice) -> Vec<Stretch> {
    let mut forms = vec![Form::Flat(between(dice, 5.0, 150.0))];
    let bends = between(dice, 0.0, 4.0);
    for bend in 0..4 {
        if f64::from(bend) > bends {
            break;
        }
        let turned = between(dice, 0.2, 1.9) * if dice.next() < 0.6 { 1.0 } else { -1.0 };
        let made = dice.next() < 0.7;
        forms.push(if made {
            Form::Bent(between(dice, 2.0, 12.0), turned)
        } else {
            Form::Flat(between(dice, 5.0, 20.0))
        });
        forms.push(Form::Flat(between(dice, 3.0, 120.0)));
    }
    forms.into_iter().enumerate().map(|(name, form)| Stretch { name, form }).collect()
}

fn forms(stretches: &[Stretch]) -> Vec<Value> {
    let form = |stretch: &Stretch| match stretch.form {
        Form::Flat(length) => json!(["flat", length]),
        Form::Bent(radius, angle) => json!(["bent", radius, angle]),
    };
    stretches.iter().map(form).collect()
}

fn word(thing: Thing) -> String {
    match thing {
        Thing::Zone => "zone".to_owned(),
        Thing::Fixed(place) => format!("fixed {place}"),
        Thing::Moving(place) => format!("moving {place}"),
        Thing::Arm => "arm".to_owned(),
        Thing::Clamp => "clamp".to_owned(),
        Thing::Base => "base".to_owned(),
        Thing::Above => "above".to_owned(),
        Thing::Fence => "fence".to_owned(),
    }
}
