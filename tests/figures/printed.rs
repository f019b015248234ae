//! What is printed and drawn, as a person sees it.

use withy::library::{catalogue_report, compile};

use crate::examples::{COMPILED, EXAMPLES, of_example};

#[test]
fn the_figures_of_one_bend() {
    insta::assert_snapshot!("eyepiece_foot", of_example("eyepiece_stand_run", Some("foot"), true).unwrap().text);
}

#[test]
fn the_catalogue_of_cast_acrylic() {
    insta::assert_snapshot!("cast_acrylic", catalogue_report(Some("cast_acrylic"), 110).unwrap().text);
}

#[test]
fn a_name_that_is_not_in_the_catalogue_is_told() {
    let why = catalogue_report(Some("nichrom_80_20"), 110).unwrap_err();
    assert_eq!(why, "the catalogue has no `nichrom_80_20`; did you mean `nichrome_80_20`?");
}

/// Each bend whose temperatures can be computed has its curve, and writing it twice gives the same bytes.
#[test]
fn curves_are_written_and_stay_the_same() {
    let (loaded, checked) = &*EXAMPLES;
    let compiled = &*COMPILED;
    let (again, _) = compile(loaded, checked, 110);
    let names = |name: &str| -> Vec<String> {
        let one = compiled.iter().find(|one| one.name == name).unwrap();
        let names = one.outputs.iter().map(|output| output.name.clone());
        names.filter(|name| !name.starts_with("program.") && name != "machine.h").collect()
    };
    assert_eq!(
        names("dust_cover_run"),
        [
            "steps.csv",
            "steps.json",
            "blank.svg",
            "poses.svg",
            "schedule.svg",
            "figures.json",
            "curve-front.svg",
            "curve-back.svg",
            "curve-lip.svg"
        ]
    );
    assert!(names("field_lab").contains(&"curve-2-left_lip.svg".to_owned()));
    assert_eq!(
        names("instruction_holder_run"),
        [
            "steps.csv",
            "steps.json",
            "blank.svg",
            "poses.svg",
            "schedule.svg",
            "figures.json",
            "curve-spine.svg",
            "curve-lip.svg"
        ]
    );
    for (one, other) in compiled.iter().zip(&again) {
        assert_eq!(one.outputs, other.outputs);
    }
}

/// The chart of a batch is whole by itself: one bar of heat for each heat, stretch by stretch, and nothing from outside.
#[test]
fn a_chart_is_whole_by_itself() {
    let chart = |name: &str| {
        let one = COMPILED.iter().find(|one| one.name == name).unwrap();
        text_of(one, "schedule.svg")
    };
    for name in ["field_lab", "dust_cover_run", "specimen_tray_run"] {
        let svg = chart(name);
        assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\"") && svg.ends_with("</svg>\n"));
        for foreign in ["href", "url(h", "@import", "<script", "NaN", "inf"] {
            assert!(!svg.contains(foreign), "{name}: {foreign}");
        }
        assert_eq!(svg.matches("<text").count(), svg.matches("</text>").count());
        assert!(svg.contains("Never leave a hot line unattended."));
    }
    // One bar in the legend; three bends; five stages of four bends.
    assert_eq!(chart("dust_cover_run").matches("<rect class=\"heat\"").count(), 1 + 3);
    assert_eq!(chart("specimen_tray_run").matches("<rect class=\"heat\"").count(), 1 + 5);
    for words in ["arm left", "arm right", "operator", "rail_12v", "for long 24 A", "all parts are out"] {
        assert!(chart("field_lab").contains(words), "{words}");
    }
}

/// The drawing needs nothing from outside, and says what a person must know.
#[test]
fn a_curve_is_whole_by_itself() {
    let one = COMPILED.iter().find(|one| one.name == "eyepiece_stand_run").unwrap();
    let svg = text_of(one, "curve-foot.svg");
    assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\"") && svg.ends_with("</svg>\n"));
    for foreign in ["href", "url(", "@import", "<script", "NaN", "inf"] {
        assert!(!svg.contains(foreign), "{foreign}");
    }
    for words in ["verdict proved", "ready 134 s", "over 187 s", "proved 151..152 s", "blisters from 200 °C"] {
        assert!(svg.contains(words), "{words}");
    }
    assert_eq!(svg.matches("<text").count(), svg.matches("</text>").count());
    // A curve out of data from memory says so.
    let one = COMPILED.iter().find(|one| one.name == "instruction_holder_run").unwrap();
    let svg = text_of(one, "curve-lip.svg");
    assert!(svg.contains("thermal data from memory") && svg.contains("verdict nominal"), "{svg}");
}

fn text_of<'a>(one: &'a withy::library::Compiled, name: &str) -> &'a str {
    let output = one.outputs.iter().find(|output| output.name == name).unwrap();
    std::str::from_utf8(&output.bytes).unwrap()
}
