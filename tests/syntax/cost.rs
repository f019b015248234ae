//! Cost grows with the text, not faster, however broken the text is.

use std::fmt::Write;
use std::time::{Duration, Instant};

use withy::format::format;
use withy::syntax::parse;
use withy::text::FileId;

/// The shortest of some runs, which is the one least disturbed.
fn cost(text: &str) -> Duration {
    let run = || {
        let start = Instant::now();
        let parsed = parse(FileId(0), text);
        format(FileId(0), text, &parsed).unwrap();
        start.elapsed()
    };
    (0..5).map(|_| run()).min().unwrap()
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
        let (few, many) = (repeated(line, 1000), repeated(line, 8000));
        let (few, many) = (cost(&few), cost(&many));
        // Eight times as many lines: eight times the cost if it is linear, 64 times if it is quadratic.
        assert!(many < few * 24 + Duration::from_millis(20), "{line:?}: {few:?} for 1000 lines, {many:?} for 8000");
    }
}

#[test]
fn one_endless_line_costs_no_more_than_its_length() {
    for piece in [
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
    ] {
        let (few, many) = (cost(&piece.repeat(2000)), cost(&piece.repeat(16000)));
        assert!(many < few * 24 + Duration::from_millis(20), "{piece:?}: {few:?} for 2000, {many:?} for 16000");
    }
}
