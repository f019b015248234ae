//! One file with twenty independent mistakes of twenty kinds gives twenty messages, each at its place, in whatever
//! order the mistakes stand.

use std::collections::BTreeSet;

use crate::common::{checked, examples, memory, place};

/// A declaration with one mistake, `§` just before its place, and the name of the error.
const MISTAKES: [(&str, &str); 20] = [
    ("wire coil {\n  alloy §nichrom_80_20\n  size 20 AWG\n}\n", "unknown-name"),
    ("wire thread {\n  alloy nichrome_80_20\n  size §60 AWG\n}\n", "no-such-size"),
    ("supply brick {\n  voltage 12 §volts at wire\n  kind dc\n  rated 20 A\n  fuse 15 A\n}\n", "unknown-unit"),
    ("sheet thin {\n  material cast_acrylic\n  §thicknes 2 mm\n  colour clear\n}\n", "unknown-entry"),
    ("sheet bare {\n  material cast_acrylic\n  thickness §3\n  colour clear\n}\n", "missing-unit"),
    ("sheet §plain {\n  material cast_acrylic\n  thickness 3 mm\n}\n", "missing-entry"),
    ("sheet glass {\n  material cast_acrylic\n  thickness 3 mm\n  colour §transparent\n}\n", "not-one-of"),
    ("sheet doubled from clear_3 {\n  thickness 4 mm\n  §thickness 5 mm\n}\n", "repeated-entry"),
    ("sheet quarter from clear_3 {\n  thickness §1/4\"\n}\n", "drawing-mark"),
    ("lot may {\n  sheet clear_3\n  measured §[2.86 mm, 2.88 mm\n  stored dry\n}\n", "unclosed-bracket"),
    ("lot june {\n  sheet §left_line\n  measured [2.86 mm]\n}\n", "wrong-name"),
    ("let reach = 40 mm §+ 2 deg\n", "mixed-kinds"),
    ("let most = §maximum(2 mm, 3 mm)\n", "unknown-function"),
    ("heater far_line from left_line {\n  line below { gap §80 cm }\n}\n", "out-of-range"),
    ("heater cold_line from left_line {\n  fuse §20..10 A\n}\n", "reversed-range"),
    ("heater loud_line from left_line §{\n  length 18 in\n\n", "unclosed-block"),
    (
        "bench rear from north {\n  §base depth 600 mm, width 700 mm, thickness 36 mm, surface wood }\n}\n",
        "unopened-block",
    ),
    ("§shete pale from clear_3 {\n  colour white\n}\n", "no-declaration"),
    (
        "## A ledge.\npart ledge {\n  sheet clear_3\n  width 200 mm\n  profile outside {\n    leg 40 mm\n    §leg 30 mm\n  }\n}\n",
        "profile-order",
    ),
    (
        "recipe covers for dust_cover on north {\n  ambient 18..27 degC\n  every bend { on left, heat §150 s ± 5 s, set 2 min }\n  order lip then front then back\n}\n",
        "inexact-setting",
    ),
];

const HEADER: &str = "language 1 # °, µ and Ω stand here so that columns are counted in characters\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/north.withy\"\nuse \"../parts/dust_cover.withy\"\n\n";

/// The file with its mistakes in the given order, and where which error is expected.
fn assemble(order: &[usize]) -> (String, Vec<(usize, usize, String)>) {
    let mut text = HEADER.to_owned();
    let mut expected = Vec::new();
    for index in order {
        let (block, name) = MISTAKES[*index];
        let (before, after) = block.split_once('§').unwrap();
        text.push_str(before);
        let line = text.matches('\n').count() + 1;
        let column = text.rsplit('\n').next().unwrap().chars().count() + 1;
        expected.push((line, column, name.to_owned()));
        text.push_str(after);
        text.push('\n');
    }
    (text, expected)
}

fn found(text: &str) -> Vec<(usize, usize, String)> {
    let mut library = examples();
    library.insert("recipes/mistakes.withy".to_owned(), text.to_owned());
    let (loaded, checked) = checked(&memory(&library), &["recipes/mistakes.withy"]);
    let here = checked.findings.iter().map(|finding| {
        let (file, line, column) = place(&loaded, finding);
        (file, line, column, finding.name().to_owned())
    });
    // What the rest of the library has to say does not come from the mistakes.
    here.filter(|finding| finding.0 == "recipes/mistakes.withy")
        .map(|(_, line, column, name)| (line, column, name))
        .collect()
}

/// Orders that are the same in every run: forwards, backwards, and shuffled by a small generator of numbers.
fn orders() -> Vec<Vec<usize>> {
    let forwards: Vec<usize> = (0..MISTAKES.len()).collect();
    let mut orders = vec![forwards.clone(), forwards.iter().rev().copied().collect()];
    let mut state = 20_261_125_u64;
    for _ in 0..30 {
        let mut order = forwards.clone();
        for last in (1..order.len()).rev() {
            // Constants of the generator: Knuth's MMIX (from memory); any mixing would do.
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            order.swap(last, usize::try_from(state >> 33).unwrap() % (last + 1));
        }
        orders.push(order);
    }
    orders
}

#[test]
fn the_mistakes_are_of_twenty_kinds() {
    let kinds: BTreeSet<&str> = MISTAKES.iter().map(|mistake| mistake.1).collect();
    assert_eq!(kinds.len(), 20);
}

#[test]
fn twenty_mistakes_give_twenty_messages_in_any_order() {
    for order in orders() {
        let (text, expected) = assemble(&order);
        assert_eq!(found(&text), expected, "{text}");
    }
}

#[test]
fn each_mistake_alone_gives_its_message() {
    for index in 0..MISTAKES.len() {
        let (text, expected) = assemble(&[index]);
        assert_eq!(found(&text), expected, "{text}");
    }
}

#[test]
fn without_mistakes_there_are_no_messages() {
    assert_eq!(found(HEADER), Vec::new());
}
