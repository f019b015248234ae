//! Findings of every kind in texts of an invented workshop.

use withy::report::{Acceptance, Change, Class, Diagnostic, Edit, Figure};
use withy::text::{FileId, Files, SourceFile, Span};

const RECIPE: &str = "\
use \"../bench/north.withy\"

recipe lens_tray for tray on north {
  ambient 18..27 °C, sheet clear_5   # 5 mm
  bend front { heat 90 s }
  accept uncalibrated-heater because \"trial strips planned\" until 2027-06-30
}
";

const BENCH: &str = "# µ-workshop bench: 12 V, 1.2 Ω\r\nsupply rail_12v {\r\n\tfuse 25 A\r\n\trated 30 A\r\n}\r\n";

/// The files of the sample and their findings, in no particular order.
pub fn sample() -> (Files, Vec<Diagnostic>) {
    let mut files = Files::new();
    let recipe = files.add(SourceFile::new("recipes/lens tray.withy", RECIPE));
    let bench = files.add(SourceFile::new("bench/north.withy", BENCH));

    let name = at(&files, recipe, "clear_5");
    let unknown = Diagnostic::error("unknown-name", name, "nothing is called `clear_5`")
        .here("not declared in this file or a file it uses")
        .help("Declare it, or use the file that declares it.")
        .edit("use `clear_3`", name, "clear_3");

    let current = Diagnostic::rule(
        "supply-overload",
        Class::Danger,
        at(&files, recipe, "bend front { heat 90 s }"),
        "bend `front` draws more than `rail_12v` may give",
    )
    .here("both lines heat here")
    .also(at(&files, bench, "rated 30 A"), "80 % of this may be drawn for long")
    .also(at(&files, bench, "fuse 25 A"), "the fuse")
    .figure(figure("peak current", [31.2, 29.8, 32.7], "A", Some((24.0, "80 % of the rating"))))
    .figure(figure("time at the peak", [90.0, 90.0, 90.0], "s", None))
    .note("The figures hold at 22 °C.")
    .note("A fuse of this size opens after\nabout a minute.");

    let set = Diagnostic::rule(
        "missing-set-time",
        Class::Notice,
        at(&files, recipe, "}\n  accept").before(),
        "bend `front` does not say how long it is held",
    )
    .control_edit("set 110 s, as computed", at(&files, recipe, " }\n  accept").before(), "\n    set 110 s");

    let mut accepted = Diagnostic::rule(
        "uncalibrated-heater",
        Class::Warning,
        at(&files, bench, "rail_12v"),
        "the heaters on `rail_12v` were never measured",
    )
    .figure(figure("spread", [f64::NAN, f64::NEG_INFINITY, 0.25], "", None));
    accepted.accepted =
        Some(Acceptance { because: "trial strips planned".to_owned(), until: Some("2027-06-30".to_owned()) });
    accepted.edits.push(Edit {
        title: "name the supply and its rating anew".to_owned(),
        changes_control: true,
        changes: vec![
            Change { span: at(&files, bench, "rail_12v"), text: "rail".to_owned() },
            Change { span: at(&files, bench, "30 A"), text: "24 A".to_owned() },
        ],
    });

    let end = u32::try_from(RECIPE.len()).unwrap();
    let hint = Diagnostic::rule("stray-end", Class::Hint, Span::new(recipe, end, end), "the file ends here");
    (files, vec![hint, accepted, set, current, unknown])
}

fn at(files: &Files, file: FileId, part: &str) -> Span {
    let start = files.get(file).text().find(part).unwrap();
    Span::new(file, u32::try_from(start).unwrap(), u32::try_from(start + part.len()).unwrap())
}

fn figure(name: &str, [value, low, high]: [f64; 3], unit: &str, limit: Option<(f64, &str)>) -> Figure {
    Figure {
        name: name.to_owned(),
        value,
        low,
        high,
        unit: unit.to_owned(),
        limit: limit.map(|(limit, _)| limit),
        limit_source: limit.map(|(_, source)| source.to_owned()),
    }
}
