//! Cost grows with the text, not faster, however broken the text is.

use std::fmt::Write;
use std::time::{Duration, Instant};

use withy::format::format;
use withy::syntax::parse;
use withy::text::FileId;

/// The time for reading and formatting all texts, with everything kept, so that memory costs the same however it is
/// divided.
fn cost(texts: &[String]) -> Duration {
    let start = Instant::now();
    let parsed: Vec<_> = texts.iter().map(|text| parse(FileId(0), text)).collect();
    let formatted: Vec<_> =
        texts.iter().zip(&parsed).map(|(text, parsed)| format(FileId(0), text, parsed).unwrap()).collect();
    let elapsed = start.elapsed();
    assert_eq!(formatted.len(), parsed.len());
    elapsed
}

/// How often `short` is repeated in all.
const SHARE: usize = 16;

/// One long text must cost what its sixteenth costs sixteen times; if cost grew with the square, it would be sixteen
/// times as much. The shortest of some runs in turn is the one least disturbed.
fn assert_linear(what: &str, short: &str, long: &str) {
    let (shorts, longs) = (vec![short.to_owned(); SHARE], [long.to_owned()]);
    let runs: Vec<(Duration, Duration)> = (0..4).map(|_| (cost(&shorts), cost(&longs))).collect();
    let apart = runs.iter().map(|run| run.0).min().unwrap();
    let whole = runs.iter().map(|run| run.1).min().unwrap();
    assert!(whole < apart * 5, "{what:?}: {apart:?} in {SHARE} parts, {whole:?} as one");
}

fn repeated(line: &str, count: usize) -> String {
    let mut text = String::new();
    for index in 0..count {
        writeln!(text, "{}", line.replace("{n}", &index.to_string())).unwrap();
    }
    text
}

/// Lines that go wrong in ways that might send the reader back to the start.
const LINES: [&str; 18] = [
    "  gap 8 mm ± ± 3",
    "heater x{n} {",
    "  line below { wire hot_20",
    "}",
    "wire x{n} { } }",
    "  leg (height - 20 mm",
    "  size [1 mm,",
    "  name \"never closed",
    "  expect if bend lip.window.low < 3 s then",
    "## idle",
    ", , ,",
    "{ a } { b } }",
    "  accept rule-",
    "x{n} = # note",
    "  leg 18 mm # one\n  gap 3 mm  # two",
    "let x{n} = 1 +",
    "   deeper and deeper {",
    "a, b { wire z (3), c }",
];

#[test]
fn broken_lines_cost_no_more_than_their_number() {
    for line in LINES {
        assert_linear(line, &repeated(line, 500), &repeated(line, 500 * SHARE));
    }
}

#[test]
fn one_endless_line_costs_no_more_than_its_length() {
    let pieces = [
        "a, ",
        "{ a } ",
        "a { b }, ",
        "{ } } ",
        "[ ",
        "( ",
        "x + ",
        "- ",
        "a b c 3 mm ",
        ", ",
        "} ",
        "{ ",
        "if ",
        "a # ",
    ];
    for piece in pieces {
        assert_linear(piece, &piece.repeat(1000), &piece.repeat(1000 * SHARE));
    }
}
