//! Near misses: each mistake gives one message, and the mend it offers leaves nothing to report.

use std::path::PathBuf;

use withy::library::{Aid, Depth, Memory, Places, check_with, load};
use withy::report::{Diagnostic, edit};

const ROOT: &str = "/library";
const FILE: &str = "/library/parts/new.withy";

const STOCK: &str = "
sheet clear_3 { material cast_acrylic, thickness 3 mm, colour clear }
let play = 0.5 mm
";

const BENCH: &str = r#"
use "stock.withy"
supply rail { voltage 12 V ± 1 %, kind dc, rated 30 A, fuse 25 A }
wire hot { alloy nichrome_80_20, size 20 AWG }
heater line_a {
  line below { wire hot, gap 8 mm }
  length 20 in, channel 18 mm, supply rail, switch solid_state
  shield { metal aluminium, mass 0.1 kg/m }
  leads { metal copper, area 2.5 mm2, length 1.2 m }
  spring { rate 0.4 N/mm, preload 6 N, travel 15 mm }
}
heater line_b from line_a { length 16 in }
bench twin {
  base { depth 600 mm, width 700 mm, thickness 36 mm, surface wood }
  arm left { heater line_a, depth 80 mm, thickness 18 mm, swings 0..120 deg, place 0 mm }
  arm right { heater line_b, depth 60 mm, thickness 18 mm, swings 0..120 deg, place 180..420 mm }
  fence { reach 30..600 mm, reads 0.5 mm }
  clamp { height 20 mm, depth 30 mm, inset 15 mm, grip 10 mm }
  handling { load 20 s, reposition 15 s, unload 10 s }
}
"#;

const PARTS: &str = r#"
use "stock.withy"
## An angle with one bend.
part bracket(height: length = 60 mm) {
  sheet clear_3, width 180 mm
  profile outside { leg height, bend up 90 deg radius 6 mm as edge, leg 40 mm }
}
## A tray with two bends.
part tray {
  sheet clear_3, width 180 mm
  profile outside {
    leg 40 mm
    bend up 90 deg radius 6 mm as near
    leg 90 mm
    bend up 90 deg radius 6 mm as far
    leg 40 mm
  }
}
"#;

/// The errors of a file of the library, with the `use` lines offered.
fn errors(text: &str) -> Vec<Diagnostic> {
    let library = [("stock", STOCK), ("bench", BENCH), ("parts", PARTS)];
    let files = library.map(|(name, text)| (format!("{ROOT}/{name}.withy"), text));
    let io = Memory::new(files.into_iter().chain([(FILE.to_owned(), text)]));
    let places = Places { root: PathBuf::from(ROOT), shown_from: PathBuf::from(ROOT) };
    let (loaded, unreadable) = load(&io, &places, &[PathBuf::from(FILE)], None);
    assert_eq!(unreadable, []);
    let checked = check_with(&loaded, Depth::Full, None, &Aid { shelf: Some(&io), ..Aid::NONE });
    checked.findings.into_iter().filter(Diagnostic::is_error).collect()
}

/// The text after the mend of its only error; what went wrong otherwise.
fn mended(text: &str, name: &str, which: usize) -> Result<String, String> {
    let before = errors(text);
    let [error] = before.as_slice() else { return Err(format!("not one error: {}", shown(&before))) };
    if error.name() != name {
        return Err(format!("another error: {}", shown(&before)));
    }
    let Some(mend) = error.edits.get(which) else { return Err(format!("no such mend: {}", shown(&before))) };
    let file = error.primary().file;
    let text = edit::apply(file, text, std::slice::from_ref(mend)).map_err(|fault| fault.to_string())?;
    match errors(&text).as_slice() {
        [] => Ok(text),
        after => Err(format!("after `{}`: {}", mend.title, shown(after))),
    }
}

fn shown(errors: &[Diagnostic]) -> String {
    let lines: Vec<String> = errors
        .iter()
        .map(|error| {
            let titles: Vec<&str> = error.edits.iter().map(|edit| edit.title.as_str()).collect();
            format!("{}: {} {titles:?}", error.name(), error.headline)
        })
        .collect();
    lines.join("; ")
}

/// Puts an entry into a whole file of its kind.
fn within(place: &str, entry: &str) -> String {
    let uses = "use \"../stock.withy\"\nuse \"../bench.withy\"\nuse \"../parts.withy\"\n\n";
    let body = match place {
        "file" => return entry.to_owned(),
        "sheet" => format!("sheet other from clear_3 {{\n  {entry}\n}}\n"),
        "lot" => format!("lot november {{\n  sheet clear_3\n  {entry}\n}}\n"),
        "supply" => format!("supply other from rail {{\n  {entry}\n}}\n"),
        "wire" => format!("wire other {{\n  alloy nichrome_80_20\n  {entry}\n}}\n"),
        "heater" => format!("heater other from line_a {{\n  {entry}\n}}\n"),
        "material" => format!("material other from cast_acrylic {{\n  {entry}\n}}\n"),
        "profile" => format!(
            "## A ledge.\npart ledge {{\n  sheet clear_3\n  width 180 mm\n  profile outside {{\n    leg 60 mm\n    {entry}\n    leg 40 mm\n  }}\n}}\n"
        ),
        "leg" => format!(
            "## A ledge.\npart ledge {{\n  sheet clear_3\n  width 180 mm\n  profile outside {{\n    {entry}\n    bend up 90 deg radius 6 mm\n    leg 40 mm\n  }}\n}}\n"
        ),
        "bracket" => format!(
            "recipe one for bracket on twin {{\n  ambient 18..27 degC\n  every bend {{ on left, heat 150 s, set 300 s }}\n  {entry}\n}}\n"
        ),
        "tray" => format!(
            "recipe two for tray on twin {{\n  ambient 18..27 degC\n  every bend {{ on left, heat 150 s, set 300 s }}\n  {entry}\n}}\n"
        ),
        "bend" => {
            format!("recipe three for bracket on twin {{\n  ambient 18..27 degC\n  every bend {{ {entry} }}\n}}\n")
        }
        _ => format!("{entry}\n"),
    };
    format!("{uses}{body}")
}

/// Where the mistake stands, the mistake, the name of its error, the mend's number and what the mend makes of it.
const CASES: &[(&str, &str, &str, usize, &str)] = &[
    ("sheet", "thickness 2,5 mm", "decimal-comma", 0, "thickness 2.5 mm"),
    ("sheet", "size [1,220 mm, 2440 mm]", "decimal-comma", 1, "size [1220 mm, 2440 mm]"),
    ("sheet", "thickness: 3 mm", "needless-sign", 0, "thickness 3 mm"),
    ("sheet", "thickness = 3 mm", "needless-sign", 0, "thickness 3 mm"),
    ("sheet", "thickness 3 mm;", "stray-character", 0, "thickness 3 mm"),
    ("sheet", "thickness 3 mm; colour white", "stray-character", 0, "thickness 3 mm, colour white"),
    ("sheet", "thickness 1/8\"", "drawing-mark", 0, "thickness 1/8 in"),
    ("sheet", "thickness 3 mm ± -0.1 mm", "negative-tolerance", 0, "thickness 3 mm ± 0.1 mm"),
    ("sheet", "thickness 4..2 mm", "reversed-range", 0, "thickness 2..4 mm"),
    ("sheet", "size 1220 mm x 2440 mm", "list-without-brackets", 0, "size [1220 mm, 2440 mm]"),
    ("sheet", "size 1220 mm × 2440 mm", "list-without-brackets", 0, "size [1220 mm, 2440 mm]"),
    ("sheet", "size 1220 mm, 2440 mm", "list-without-brackets", 0, "size [1220 mm, 2440 mm]"),
    ("sheet", "colour clear thickness 3 mm", "misfit", 0, "colour clear, thickness 3 mm"),
    ("sheet", "thicknes 3 mm", "unknown-entry", 0, "thickness 3 mm"),
    ("lot", "measured [2,86 mm, 2.88 mm]", "decimal-comma", 0, "measured [2.86 mm, 2.88 mm]"),
    ("lot", "measured 2.86 mm, 2.88 mm, 2.84 mm", "list-without-brackets", 0, "[2.86 mm, 2.88 mm, 2.84 mm]"),
    ("supply", "voltage 12 v", "unknown-unit", 0, "voltage 12 V"),
    ("supply", "voltage 12 volts", "unknown-unit", 0, "voltage 12 V"),
    ("wire", "size 0.8 mm", "not-a-size", 0, "diameter 0.8 mm"),
    ("wire", "size 20", "not-a-size", 0, "size 20 AWG"),
    ("wire", "size AWG 20", "not-a-size", 0, "size 20 AWG"),
    ("heater", "shield { mass .2 kg/m }", "bad-number", 0, "mass 0.2 kg/m"),
    ("heater", "leads { area 2.5 mm^2 }", "power-of-unit", 0, "area 2.5 mm2"),
    ("heater", "leads { size 2.5 mm2 }", "not-a-size", 0, "area 2.5 mm2"),
    ("material", "emissivity 92 % ± 4 %", "share-of-share", 0, "emissivity 88..96 %"),
    ("material", "emissivity 92 % ± 4 %", "share-of-share", 1, "emissivity 88.32..95.68 %"),
    ("material", "conductivity 0.17 W/(m degC)", "temperature-misused", 0, "0.17 W/(m K)"),
    ("leg", "leg 60 mm ± 0.5 mm", "inexact-setting", 0, "leg 60 mm within 0.5 mm"),
    ("leg", "leg 60 +0.8/-0.2 mm", "inexact-setting", 0, "leg 60 mm within +0.8/-0.2 mm"),
    ("leg", "leg 3 in within +1/32 -1/64 in", "loose-deviations", 0, "within +1/32/-1/64 in"),
    ("profile", "bend 90 deg radius 6 mm", "unfinished-entry", 1, "bend down 90 deg radius 6 mm"),
    ("profile", "bend up 90 deg 6 mm", "unfinished-entry", 0, "bend up 90 deg radius 6 mm"),
    ("profile", "bend up 90 ± 1 deg radius 6 mm", "inexact-setting", 0, "bend up 90 deg within 1 deg radius 6 mm"),
    ("profile", "bend up 90° radius 6 mm", "unknown-unit", 0, "bend up 90deg radius 6 mm"),
    ("tray", "order near, far", "misfit", 0, "order near then far"),
    ("tray", "order near", "incomplete-order", 0, "order near then far"),
    ("tray", "order near with far", "together-on-one-arm", 0, "order near then far"),
    ("bracket", "expect cycle_time 25 min", "comparison-wanted", 0, "expect cycle_time <= 25 min"),
    ("bracket", "expect blank.length 50..150 mm", "comparison-wanted", 0, "expect blank.length within 50..150 mm"),
    ("bracket", "expect blank.lenght >= 50 mm", "unknown-figure", 0, "expect blank.length >= 50 mm"),
    ("bracket", "accept uncalibrated-heater because “trials, later”", "curly-quotes", 0, "because \"trials, later\""),
    ("bracket", "accept uncalibrated-heater because \"trials\" until 30.06.2027", "date-order", 0, "until 2027-06-30"),
    ("bracket", "accept uncalibrated-heater because \"trials\" until 30-06-2027", "misfit", 0, "until 2027-06-30"),
    ("bend", "on left, heat 2:45, set 300 s", "time-of-two-numbers", 0, "heat 165 s"),
    ("bend", "on left, heat 150 sec, set 300 s", "unknown-unit", 0, "heat 150 s"),
    ("bend", "on left, heat 150 s, set 5 m", "wrong-kind", 0, "set 5 min"),
    ("bend", "on left, heat 150 s ± 2 s, set 300 s", "inexact-setting", 0, "heat 150 s"),
    ("bend", "heat 150 s, set 300 s", "missing-entry", 1, "{ on right, heat 150 s"),
    ("bend", "on lefft, heat 150 s, set 300 s", "unknown-name", 0, "on left,"),
    ("top", "sheet clear-4 from clear_3 { thickness 4 mm }", "bad-name", 0, "sheet clear_4"),
    ("top", "lot december { sheet clear-3, measured [3 mm] }", "misfit", 0, "sheet clear_3"),
    ("top", "let least = 3 mm - paly", "unknown-name", 0, "play"),
    (
        "top",
        "recipe four for bracket(60 mm) on twin { ambient 20 degC, every bend { on left, heat 9 s, set 9 s } }",
        "wrong-arguments",
        0,
        "bracket(height = 60 mm)",
    ),
    (
        "top",
        "recipe five for bracket { ambient 20 degC, every bend { on left, heat 9 s, set 9 s } }",
        "malformed-declaration",
        0,
        "for bracket on twin {",
    ),
    (
        "top",
        "part shelf(depth: lenght = 60 mm) {\n  sheet clear_3, width 90 mm\n  profile outside { leg depth }\n}",
        "unknown-kind",
        0,
        "depth: length",
    ),
    (
        "file",
        "language 1\nlot december { sheet clear_3, measured [3 mm] }\n",
        "unknown-name",
        0,
        "language 1\nuse \"../stock.withy\"\n",
    ),
    ("file", "lot december { sheet clear_3, measured [3 mm] }\n", "unknown-name", 0, "use \"../stock.withy\"\n\nlot"),
    (
        "file",
        "use \"../bench.withy\"\r\n\r\nlot december { sheet clear_3, measured [3 mm] }\r\n",
        "unknown-name",
        0,
        "use \"../bench.withy\"\r\nuse \"../stock.withy\"\r\n",
    ),
    ("file", "let least = play - 0.1 mm", "unknown-name", 0, "use \"../stock.withy\"\n\nlet"),
    ("file", "use ../stock.withy\nlet least = play\n", "malformed-use", 0, "use \"../stock.withy\"\n"),
    ("file", "use \"../Stock.withy\"\nlet least = play\n", "use-letter-case", 0, "use \"../stock.withy\"\n"),
    ("file", "use \"..\\\\stock.withy\"\nlet least = play\n", "use-with-backslash", 0, "use \"../stock.withy\"\n"),
    ("file", "use \"../stcok.withy\"\nlet least = play\n", "unreadable-use", 0, "use \"../stock.withy\"\n"),
];

#[test]
fn a_near_miss_gives_one_message_and_its_mend_clears_it() {
    let mut wrong = Vec::new();
    for (place, entry, name, which, expected) in CASES {
        match mended(&within(place, entry), name, *which) {
            Ok(text) if text.contains(expected) => {}
            Ok(text) => wrong.push(format!("{entry}\n    became {text}")),
            Err(why) => wrong.push(format!("{entry}\n    {why}")),
        }
    }
    assert!(wrong.is_empty(), "{} of {}:\n{}", wrong.len(), CASES.len(), wrong.join("\n"));
}

#[test]
fn what_settles_a_time_or_a_power_is_never_mended_unasked() {
    let settles = |place: &str, entry: &str| {
        let errors = errors(&within(place, entry));
        errors.iter().flat_map(|error| &error.edits).map(|edit| edit.changes_control).collect::<Vec<_>>()
    };
    assert_eq!(settles("bend", "on left, heat 2:45, set 300 s"), [true]);
    assert_eq!(settles("bend", "on left, heat 150 s, set 5 m"), [true]);
    assert_eq!(settles("bend", "on left, heat 150 s ± 2 s, set 300 s"), [true]);
    assert_eq!(settles("bend", "heat 150 s, set 300 s"), [true, true]);
    assert_eq!(settles("wire", "size 20"), [true]);
    assert_eq!(settles("sheet", "size [1,220 mm, 2440 mm]"), [true, true]);
    // Another spelling of the same value settles nothing.
    assert_eq!(settles("bend", "on left, heat 150 sec, set 300 s"), [false]);
    assert_eq!(settles("sheet", "thickness 2,5 mm"), [false]);
}

#[test]
fn no_mend_is_offered_where_it_would_be_a_guess() {
    for (place, entry, name) in [
        ("heater", "spring { preload 0.6 kg }", "wrong-kind"),
        ("heater", "length 6.5 W/in", "wrong-kind"),
        ("heater", "channel 18", "missing-unit"),
        ("leg", "leg 59..61 mm", "inexact-setting"),
        ("file", "let least = nothing_of_this_name", "unknown-name"),
    ] {
        let found = errors(&within(place, entry));
        let names: Vec<&str> = found.iter().map(Diagnostic::name).collect();
        assert_eq!(names, [name], "{entry}: {}", shown(&found));
        assert!(found.iter().all(|error| error.edits.is_empty()), "{entry}: {}", shown(&found));
        assert!(found.iter().all(|error| !error.helps.is_empty()), "{entry}: {}", shown(&found));
    }
}

#[test]
fn a_file_that_would_close_a_circle_is_not_offered() {
    let own = "use \"../bench.withy\"\nlet reach = depth\n";
    let back = "use \"parts/new.withy\"\nlet depth = 3 mm\n";
    let io = Memory::new([
        (format!("{ROOT}/back.withy"), back),
        (format!("{ROOT}/bench.withy"), BENCH),
        (format!("{ROOT}/stock.withy"), STOCK),
        (FILE.to_owned(), own),
    ]);
    let places = Places { root: PathBuf::from(ROOT), shown_from: PathBuf::from(ROOT) };
    let (loaded, _) = load(&io, &places, &[PathBuf::from(FILE)], None);
    let checked = check_with(&loaded, Depth::Full, None, &Aid { shelf: Some(&io), ..Aid::NONE });
    let error = checked.findings.iter().find(|finding| finding.name() == "unknown-name").expect("the name is missing");
    assert!(error.edits.is_empty(), "{:?}", error.edits);
}
