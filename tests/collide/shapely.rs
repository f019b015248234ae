//! Random poses and their sweeps, with what the compiler says of them, against the library `shapely`.
//!
//! Source: `tests/collide/shapes.py`, which builds the sheet afresh and shares nothing with the compiler. It needs a
//! Python with `shapely`: the one `WITHY_PYTHON` names, else `python3`. Where `WITHY_PYTHON` or `CI` is set, a missing
//! library is a failure; elsewhere the test says that the comparison was not made. `WITHY_DEEP=1` asks for 10,000 poses.

use std::fmt::Write;
use std::process::{Command, Output};

use serde_json::{Value, json};
use withy::physics::collide::{Above, Form, Pose, Section, Stretch, Swing, Thing};

use crate::random::Dice;
use crate::{metres, metres_of_bench};

const DEEP: usize = 10_000;
const REDUCED: usize = 400;

fn python() -> Option<String> {
    let named = std::env::var("WITHY_PYTHON").ok().filter(|path| !path.is_empty());
    let python = named.clone().unwrap_or_else(|| "python3".to_owned());
    let present = Command::new(&python).args(["-c", "import shapely"]).output().is_ok_and(|out| out.status.success());
    let asked_for = named.is_some() || std::env::var_os("CI").is_some();
    assert!(present || !asked_for, "{python} has no shapely: set WITHY_PYTHON to a Python that has it");
    if !present {
        eprintln!("NOT COMPARED: {python} has no shapely; set WITHY_PYTHON to a Python that has it");
    }
    present.then_some(python)
}

#[test]
fn verdicts_agree_with_an_independent_library() {
    let Some(python) = python() else { return };
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
    let mut between = |low: f64, high: f64| low + dice.next() * (high - low);
    let thickness = between(1.5, 6.0);
    let neutral = between(0.35, 0.5);
    let angle = between(0.2, 2.6);
    let zone = angle * (between(2.0, 12.0) + neutral * thickness);
    let at_edge = between(0.0, 1.0) < 0.7;
    let has_above = between(0.0, 1.0) < 0.2;
    let back = between(60.0, 400.0);
    let section = Section {
        back,
        front: if at_edge { 0.0 } else { between(100.0, 400.0) },
        base: between(20.0, 40.0),
        inset: between(8.0, 20.0),
        bar_depth: between(15.0, 35.0),
        bar_height: between(8.0, 30.0),
        arm_depth: between(25.0, 90.0),
        arm: between(8.0, 19.0),
        above: has_above.then(|| Above { opening: between(14.0, 24.0), gap: between(6.0, 10.0) }),
        shift: 0.0,
    };
    let fixed = stretches(&mut between);
    let moving = stretches(&mut between);
    let pose = Pose { swing: Swing { thickness, neutral, zone, angle }, fixed, moving };
    let touches: Vec<Value> = metres(&pose)
        .touches(&metres_of_bench(&section))
        .iter()
        .map(|touch| {
            json!({"first": word(touch.first), "second": word(touch.second), "gap": touch.gap * 1e3, "angle": touch.angle,
                "collides": touch.collides})
        })
        .collect();
    json!({
        "thickness": thickness, "neutral": neutral, "zone": zone, "angle": angle,
        "fixed": forms(&pose.fixed), "moving": forms(&pose.moving), "touches": touches,
        "bench": {"back": section.back, "front": section.front, "base": section.base, "inset": section.inset,
            "bar_depth": section.bar_depth, "bar_height": section.bar_height, "arm_depth": section.arm_depth,
            "arm": section.arm, "above": section.above.map(|above| json!({"opening": above.opening, "gap": above.gap}))},
    })
}

/// A leg, and up to four bends with a leg each.
fn stretches(between: &mut impl FnMut(f64, f64) -> f64) -> Vec<Stretch> {
    let mut forms = vec![Form::Flat(between(5.0, 150.0))];
    let bends = between(0.0, 4.0);
    for bend in 0..4 {
        if f64::from(bend) > bends {
            break;
        }
        let turned = between(0.2, 1.9) * if between(0.0, 1.0) < 0.6 { 1.0 } else { -1.0 };
        let made = between(0.0, 1.0) < 0.7;
        forms.push(if made { Form::Bent(between(2.0, 12.0), turned) } else { Form::Flat(between(5.0, 20.0)) });
        forms.push(Form::Flat(between(3.0, 120.0)));
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
    }
}
