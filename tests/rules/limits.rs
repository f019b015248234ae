//! Near misses: a number of a wrong example is moved until its rule falls silent, and the finding just before that must
//! hold its figure against its limit.

use withy::lint::rule;
use withy::report::{Diagnostic, Figure};

use crate::found::check;
use crate::pages::wrong;

/// A rule; the words of its wrong example with `{}` for the number, and what stands there; a number with which it fires and
/// one with which it does not; how near its figure is to its limit at the edge, as a share.
type Case = (&'static str, &'static str, &'static str, f64, f64, f64);

const NEAR: f64 = 0.02;
/// The rule allows for this much before it fires: two sizes that are one to the trade, five per cent between like bends.
const ALLOWED: f64 = 0.07;

#[rustfmt::skip] // One row a case reads as the table it is.
const CASES: &[Case] = &[
    ("fire-heat", "heat {} s", "240", 240.0, 150.0, NEAR),
    ("overlong-heat", "heat {} s", "170", 130.0, 114.0, NEAR),
    ("short-heat", "heat {} s", "90", 90.0, 114.0, NEAR),
    ("heat-beyond-limit", "heat_limit {} s", "150", 150.0, 200.0, NEAR),
    ("one-face-too-thick", "thickness {} mm ±", "3.3", 3.3, 3.0, ALLOWED),
    ("narrow-heated-zone", "radius {} mm", "12", 12.0, 9.0, NEAR),
    ("slow-transfer", "transfer {} s", "25", 25.0, 3.0, NEAR),
    ("uneven-bends", "heat {} s }", "160", 160.0, 152.0, ALLOWED),
    ("short-set", "set {} s", "30", 30.0, 150.0, NEAR),
    ("early-unclamp", "set {} s", "150", 150.0, 260.0, NEAR),
    ("supply-overload", "rated {} A", "7", 7.0, 12.0, NEAR),
    ("continuous-overload", "rated {} A", "10", 10.0, 13.0, NEAR),
    ("fuse-too-large", "fuse {} A", "12", 12.0, 9.0, NEAR),
    ("fuse-too-small", "fuse {} A", "10", 10.0, 12.0, NEAR),
    ("lead-drop", "length {} ft", "20", 20.0, 5.0, NEAR),
    ("not-extra-low-voltage", "voltage {} V", "230", 230.0, 24.0, NEAR),
    ("gap-too-small", "gap {} mm", "3", 3.0, 4.0, NEAR),
    ("wire-sag", "spring {}", "none", 0.05, 0.2, NEAR),
    ("near-flammable", "channel {} in", "3/16", 0.1875, 0.75, NEAR),
    ("wire-too-hot", "voltage {} V", "17", 17.0, 12.0, NEAR),
    ("wire-stress", "preload {} lbf", "3", 3.0, 0.9, NEAR),
    ("spring-too-short", "travel {} mm", "3", 3.0, 15.0, NEAR),
    ("spring-slack", "rate {} lbf/in", "6", 6.0, 1.0, NEAR),
    ("line-power-off-practice", "at {} %", "50", 50.0, 70.0, NEAR),
    ("wire-short-of-sheet", "width {} mm", "600", 600.0, 500.0, NEAR),
    ("bends-too-close", "leg {} mm\n    bend up 45 deg radius 6 mm as two", "17", 17.0, 30.0, NEAR),
    ("tight-radius", "radius {} mm", "5", 5.0, 6.5, NEAR),
    ("blank-too-large", "leg {} mm\n    bend", "140", 140.0, 60.0, NEAR),
    ("fence-out-of-reach", "reach 1/2..{} in", "1", 1.0, 12.0, NEAR),
    ("outside-allowance", "within {} mm", "0.05", 0.05, 1.5, NEAR),
    ("long-line-bow", "width {} mm", "660", 660.0, 590.0, NEAR),
];

/// How often the stretch between firing and silence is halved.
const HALVINGS: usize = 9;

/// The wrong example with another number.
fn moved(case: &Case, number: f64) -> String {
    let (name, words, stands, ..) = *case;
    let text = wrong(rule(name).unwrap());
    let old = words.replace("{}", stands);
    assert!(text.contains(&old), "{name}: no `{old}` in\n{text}");
    let new = match name {
        // What moves is the pull; hardly any of it is lost as the wire grows.
        "wire-sag" => format!("spring {{ rate 0.1 lbf/in, preload {number} lbf, travel 1/2 in }}"),
        _ => words.replace("{}", &number.to_string()),
    };
    text.replacen(&old, &new, 1)
}

fn finding(case: &Case, number: f64) -> Option<Diagnostic> {
    let (_, checked) = check(&moved(case, number));
    checked.findings.into_iter().find(|finding| finding.name() == case.0)
}

/// How far the figure of a finding is from its limit, as a share of it.
fn distance(figure: &Figure) -> Option<f64> {
    let limit = figure.limit?;
    [figure.value, figure.low, figure.high].into_iter().map(|value| ((value - limit) / limit).abs()).reduce(f64::min)
}

/// What is wrong with the edge of a rule.
fn fault(case: &Case) -> Option<String> {
    let (name, _, _, mut fires, mut silent, near) = *case;
    let Some(mut last) = finding(case, fires) else { return Some(format!("{name} does not fire at {fires}")) };
    if finding(case, silent).is_some() {
        return Some(format!("{name} fires at {silent}"));
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (fires + silent);
        match finding(case, middle) {
            Some(found) => (last, fires) = (found, middle),
            None => silent = middle,
        }
    }
    let nearest = last.figures.iter().filter_map(distance).reduce(f64::min);
    let fits = nearest.is_some_and(|distance| distance <= near);
    (!fits).then(|| format!("{name} turns between {fires} and {silent}, but its figures are {:?}", last.figures))
}

#[test]
fn each_rule_turns_where_its_figure_meets_its_limit() {
    let faults: Vec<String> = CASES.iter().filter_map(fault).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Rules that turn at a step, where there is no edge to come near to: the last of one side and the first of the other.
#[test]
fn each_rule_with_steps_turns_between_two_of_them() {
    let cases = [
        ("lead-too-thin", "size 18 AWG", ["size 18 AWG", "size 16 AWG"]),
        ("thin-margin", "heat 114.6 s", ["heat 114.6 s", "heat 114.2 s"]),
        ("over-precise", "2.873 mm ± 0.3 mm", ["2.87 mm ± 0.3 mm", "2.87 mm ± 0.1 mm"]),
        (
            "relay-wear",
            "100 s full then 5 s at 0 % then 65 s full",
            ["99 s full then 1 s at 0 % then 65 s full", "165 s full"],
        ),
        // The program has 421 bytes, as long as the calls of this version are.
        ("program-too-large", "program_space 200", ["program_space 421", "program_space 422"]),
        // Both runs at the line that nothing switches: then nobody works elsewhere.
        ("unattended-heat", "  run trays 2 times", ["  run trays 1 times", "  run tables 1 times"]),
        ("pin-clash", "output 5 heats only_line", ["output 5 heats only_line", "output 5 buzzer"]),
        (
            "duplicate-recipe",
            "set computed\n  }\n}\n\nrecipe",
            ["set computed  # the same\n  }\n}\n\nrecipe", "set 300 s\n  }\n}\n\nrecipe"],
        ),
        ("stale-acceptance", "until 2026-01-31", ["until 2026-11-24", "until 2026-11-25"]),
        ("mixed-unit-systems", "channel 19 mm", ["channel 1.9 cm", "channel 3/4 in"]),
    ];
    for (name, stands, [fires, silent]) in cases {
        let text = wrong(rule(name).unwrap());
        assert!(text.contains(stands), "{name}: no `{stands}` in\n{text}");
        let fired = |new: &str| {
            let (_, checked) = check(&text.replacen(stands, new, 1));
            checked.findings.iter().any(|finding| finding.name() == name)
        };
        assert!(fired(fires), "{name} does not fire at `{fires}`");
        assert!(!fired(silent), "{name} fires at `{silent}`");
    }
}

/// Bends whose windows nobody could tell apart are told as one; those of other angles, each for itself.
#[test]
fn bends_of_much_the_same_angle_are_told_as_one() {
    let told = |angles: [&str; 2]| {
        let [one, two] = angles;
        let text = format!(
            "language 1\n\nuse \"../bench/south.withy\"\nuse \"../stock/acrylic.withy\"\n\n## A test.\npart p {{\n  \
             sheet clear_3\n  width 200 mm\n  profile outside {{\n    leg 60 mm\n    bend up {one} radius 6 mm as one\n    \
             leg 80 mm\n    bend up {two} radius 6 mm as two\n    leg 60 mm\n  }}\n}}\n\n## A test.\nrecipe r for p on south \
             {{\n  ambient 18..26 degC\n  every bend {{ heat 150 s, set 200 s }}\n  order one then two\n}}\n"
        );
        let (_, checked) = check(&text);
        let headlines = checked.findings.into_iter().filter(|finding| finding.name() == "unproved-window");
        headlines.map(|finding| finding.headline).collect::<Vec<_>>()
    };
    let both = "the window of bends `one` and `two` is open at the nominal only";
    assert_eq!(told(["60 deg", "60 deg"]), [both]);
    assert_eq!(told(["60 deg", "60.02 deg"]), [both]);
    assert_eq!(told(["60 deg", "90 deg"]).len(), 2);
}
