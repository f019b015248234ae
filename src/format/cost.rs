//! Reading and formatting cost no more than the length of a text, however broken the text is.

use crate::format::format;
use crate::syntax::{READS, parse};
use crate::text::FileId;

/// How often tokens are read while a text is read and formatted.
fn work(text: &str) -> u64 {
    let before = READS.get();
    let parsed = parse(FileId(0), text);
    format(FileId(0), text, &parsed).unwrap();
    READS.get() - before
}

/// Twice the text, twice the work; four times, if it grew with the square.
fn assert_linear(what: &str, text: impl Fn(usize) -> String) {
    let (once, twice) = (work(&text(1000)), work(&text(2000)));
    assert!(once >= 1000, "{what:?}: {once} reads are not all that was done");
    assert!(twice <= once * 9 / 4, "{what:?}: {once} reads for 1000, {twice} for 2000");
}

#[test]
fn broken_lines_cost_no_more_than_their_number() {
    // Lines that go wrong in ways that might send the reader back to the start.
    let lines = [
        "  gap 8 mm ± ± 3",
        "heater x{n} {",
        "  line below { wire hot_20",
        "  line below { wire hot_20, gap 8 mm } }",
        "}",
        "wire x{n} { } }",
        "  leg (height - 20 mm",
        "  size [1 mm,",
        "  size 1 mm, 2 mm, 3 mm",
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
    for line in lines {
        let numbered = |index: usize| format!("{}\n", line.replace("{n}", &index.to_string()));
        assert_linear(line, |count| (0..count).map(numbered).collect());
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
        "1,",
        "a 1, 2 ",
    ];
    for piece in pieces {
        assert_linear(piece, |count| format!("x {}", piece.repeat(count)));
    }
}

#[test]
fn deeper_and_deeper_costs_no_more_than_its_length() {
    let stairs = |count: usize| {
        let lines: Vec<String> = (0..count).map(|depth| " ".repeat(depth % 200) + "a {").collect();
        lines.join("\n")
    };
    assert_linear("stairs", stairs);
}
