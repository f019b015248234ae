//! The `bend` group of the reference checks, through the language: a part is written down and its blank measured.
//!
//! Cases come from `tests/reference/checks.toml` and, where the variable `WITHY_CHECKS` names one, from another file
//! of the same form. Sources stand beside each case in the file.

use std::path::{Path, PathBuf};

use toml::{Table, Value};
use withy::library::Plan;

use crate::common::{checked, examples, memory, root, shown};

/// The arc at the neutral line and the length used by a bend of 90 deg, in m, out of a compiled recipe.
fn bend(thickness: &str, radius: &str, neutral: f64) -> (f64, f64) {
    let source = format!(
        "use \"../bench/south.withy\"\n\
         material plate from cast_acrylic {{ neutral_line {neutral} }}\n\
         sheet plain {{\n  material plate\n  thickness {thickness} ± 0 {unit}\n  colour clear\n}}\n\
         ## One bend.\npart ledge {{\n  sheet plain\n  width 100 mm\n  profile outside {{\n    leg 100 mm\n    \
         bend up 90 deg radius {radius}\n    leg 100 mm\n  }}\n}}\n\
         recipe ledges for ledge on south {{\n  ambient 20 degC\n  every bend {{ heat 100 s, set 100 s }}\n}}\n",
        unit = thickness.rsplit(' ').next().unwrap()
    );
    let mut library = examples();
    library.insert("recipes/ledge.withy".to_owned(), source);
    let (loaded, checked) = checked(&memory(&library), &["recipes/ledge.withy"]);
    let errors: Vec<String> =
        checked.findings.iter().filter(|finding| finding.is_error()).map(|finding| shown(&loaded, finding)).collect();
    let plan = checked.made.into_iter().find(|made| made.name == "ledges").and_then(|made| made.plan);
    let Some(Plan::Recipe(plan)) = plan else { panic!("{thickness}, {radius}, {neutral}: {errors:#?}") };
    (plan.blank.lines[0].arc.nominal(), 0.2 - plan.blank.length.nominal())
}

/// What a case's inputs lead to, by name; none for a shape that nobody knows.
fn answer(inputs: &Table) -> Option<Vec<(&'static str, Vec<f64>)>> {
    let mut shape: Vec<&str> = inputs.keys().map(String::as_str).collect();
    shape.sort_unstable();
    let one = |name: &str| number(&inputs[name]);
    match shape.as_slice() {
        ["K", "r_in", "t_in"] => {
            let (arc, used) = bend(&format!("{} in", one("t_in")), &format!("{} in", one("r_in")), one("K"));
            Some(vec![("BA_in", vec![arc / 0.0254]), ("BD_in", vec![used / 0.0254])])
        }
        ["K", "r", "t"] => {
            let (arc, used) = bend(&format!("{} mm", one("t")), &format!("{} mm", one("r")), one("K"));
            Some(vec![("BA", vec![arc * 1e3]), ("BD", vec![used * 1e3])])
        }
        // A rule for cold sheet metal, none of our code: arithmetic, so that the row is not passed over.
        ["r", "s"] => {
            let (r, s) = (one("r"), one("s"));
            let k = 0.65 + 0.5 * libm::log10(r / s);
            let v = std::f64::consts::FRAC_PI_2 * (r + 0.5 * s * k) - 2.0 * (r + s);
            Some(vec![("k", vec![k]), ("v", vec![v])])
        }
        ["r_over_t"] => {
            // None of our code either: the strain of the outermost fibre where the middle keeps its length.
            let ratios = inputs["r_over_t"].as_array().unwrap();
            Some(vec![("strain", ratios.iter().map(|ratio| 1.0 / (2.0 * number(ratio) + 1.0)).collect())])
        }
        _ => None,
    }
}

/// Runs the `bend` cases of one file: how many there are, and the faults.
fn run(text: &str) -> (usize, Vec<String>) {
    let table: Table = text.parse().unwrap();
    let (mut seen, mut faults) = (0, Vec::new());
    for case in table["check"].as_array().unwrap().iter().filter(|case| case["group"].as_str() == Some("bend")) {
        seen += 1;
        let id = case["id"].as_str().unwrap();
        let Some(found) = answer(case["inputs"].as_table().unwrap()) else {
            faults.push(format!("{id}: inputs of a shape nobody knows: {}", case["inputs"]));
            continue;
        };
        for (name, wanted) in case["expected"].as_table().unwrap() {
            let wanted = wanted.as_array().map_or_else(|| vec![number(wanted)], |all| all.iter().map(number).collect());
            let Some((_, found)) = found.iter().find(|found| found.0 == name) else {
                faults.push(format!("{id}: nobody computes {name}"));
                continue;
            };
            let close = |(found, wanted): (&f64, &f64)| (found - wanted).abs() <= allowed(&case["tolerance"], *wanted);
            if found.len() != wanted.len() || !found.iter().zip(&wanted).all(close) {
                faults.push(format!("{id}: {name} is {found:?} instead of {wanted:?}"));
            }
        }
    }
    (seen, faults)
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).unwrap()
}

fn allowed(tolerance: &Value, wanted: f64) -> f64 {
    let of = |key: &str| tolerance.get(key).map(number);
    of("abs").or(of("rel").map(|share| share * wanted.abs())).unwrap_or_else(|| panic!("no tolerance in {tolerance}"))
}

#[test]
fn bends_use_what_the_references_say() {
    let own: PathBuf = root().join("tests/reference/checks.toml");
    let other = std::env::var_os("WITHY_CHECKS").map(PathBuf::from);
    let mut faults = Vec::new();
    for file in std::iter::once(own).chain(other) {
        let text = std::fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        let (seen, mut found) = run(&text);
        assert!(seen > 0, "{} has no check of bends", Path::new(&file).display());
        faults.append(&mut found);
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_wrong_figure_and_an_unknown_shape_are_faults() {
    let case = |inputs: &str, expected: &str| {
        let text =
            format!("[[check]]\nid='x'\ngroup='bend'\ninputs={inputs}\nexpected={expected}\ntolerance={{abs=0.001}}\n");
        run(&text).1
    };
    let inputs = "{t=3.0,r=6.0,K=0.5}";
    assert_eq!(case(inputs, "{BA=11.781,BD=6.219}"), Vec::<String>::new());
    assert_eq!(case(inputs, "{BA=11.783,BD=6.219}").len(), 1);
    assert_eq!(case(inputs, "{BD=6.217}").len(), 1);
    assert_eq!(case(inputs, "{offset=6.2}").len(), 1);
    let unknown = case("{t=3.0,furlongs=6.0}", "{BA=11.781}");
    assert!(unknown[0].contains("furlongs"), "{unknown:?}");
}
