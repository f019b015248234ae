//! From a parsed text to the same text in the one style. There are no options.
//!
//! Owns the style and the promise that nothing is lost: the text that comes out has the same tokens, the same
//! comments in the same places and the same tree, or no text comes out. It never reads names, kinds or values.
//!
//! The style:
//! - Two spaces for each level. An entry has a line of its own, unless its block was written on one line and fits
//!   100 columns: then entries stand between commas, `{ wire hot_20, gap 8 mm }`. Commas that end entries are
//!   no tokens of meaning: they come and go with the lines. An empty block is `{}`.
//! - One space between tokens; none before `,` and `:`, inside brackets, around `..`, `^` and `.`, around `/` and
//!   `*` within a unit, and between a sign and its operand.
//! - An entry is laid on one line where it fits. A longer one is broken after `then` and commas, before `because`,
//!   `until` and `else`, and around operators, the outermost place first, and goes on four spaces further in.
//! - One blank line at most, none at the start and end of a block; between two top-level declarations one of which
//!   spans lines there always is one. None stands between a doc comment and its entry.
//! - A comment at the end of a line stands two spaces behind it. Where all such comments of a row of lines (of one
//!   block, without a blank line or a deeper block between) began in one column, they do so again: two spaces behind
//!   the longest of their lines.
//! - Look-alike signs and other spellings of a unit become the one that is printed (`µm` → `um`, `×` → `*`).
//! - Lines end in `\n`; there is no byte order mark and nothing behind the last character of a line.
//!
//! Broken parts: an entry with a fault of syntax keeps its own text, and so does a whole declaration whose braces
//! do not match.

#[cfg(test)]
mod cost;
mod layout;
mod lines;
mod mark;
mod shape;
mod spell;
mod verify;
mod wrap;

use crate::syntax::Parsed;
use crate::text::FileId;

pub use shape::shape;
pub use verify::Refusal;

/// Columns of the longest line that is not broken.
pub const WIDTH: usize = 100;

/// The text in the one style; a refusal where something would be lost, which is a fault of this module.
///
/// `parsed` must be what [`crate::syntax::parse`] made of `text`.
pub fn format(file: FileId, text: &str, parsed: &Parsed) -> Result<String, Refusal> {
    let marks = mark::marks(parsed, text);
    let formatted = layout::lay_out(parsed, text, &marks);
    // Most files are formatted already, and equal texts need no comparing of tokens.
    if formatted != text {
        verify::verify(file, (text, parsed, &marks), &formatted)?;
    }
    Ok(formatted)
}

#[cfg(test)]
mod tests {
    use super::{Refusal, format};
    use crate::syntax::{Tree, parse};
    use crate::text::FileId;

    fn formatted(text: &str) -> String {
        format(FileId(0), text, &parse(FileId(0), text)).unwrap()
    }

    /// Each text becomes the one behind it, which stays as it is.
    fn all(cases: &[(&str, &str)]) {
        for (text, expected) in cases {
            assert_eq!(formatted(text), *expected, "{text}");
            assert_eq!(formatted(expected), *expected);
        }
    }

    #[test]
    fn tokens_stand_apart_or_together() {
        all(&[
            ("a   0 .. 120deg", "a 0..120 deg\n"),
            ("a -3mm- 2 *-x^ 2/ 4", "a -3 mm - 2 * -x^2 / 4\n"),
            ("a 3 mm+0.2/-0.5 mm", "a 3 mm +0.2/-0.5 mm\n"),
            ("a 5 W/(m·K) b/c", "a 5 W/(m*K) b / c\n"),
            ("a 5 W/( m K )", "a 5 W/(m K)\n"),
            ("a[1 mm ,2 mm] b[ 1 ] . c", "a [1 mm, 2 mm] b[1].c\n"),
            ("p f(h:length=3 mm,w :ratio)", "p f(h: length = 3 mm, w: ratio)\n"),
            ("accept a-b-c because\"x\"until 2027-06-30", "accept a-b-c because \"x\" until 2027-06-30\n"),
            ("expect leg 2 . tolerance<=3 %", "expect leg 2.tolerance <= 3 %\n"),
        ]);
    }

    #[test]
    fn look_alikes_are_spelt_in_one_way() {
        all(&[
            ("a 3 \u{b5}m b 2 k\u{3a9} c 1 \u{2126}/ft", "a 3 um b 2 kohm c 1 ohm/ft\n"),
            ("a 22 °C b 4 m² c 5 mil", "a 22 degC b 4 m2 c 5 thou\n"),
            ("a 3 × 2 − 1 +/- 2", "a 3 * 2 - 1 ± 2\n"),
            ("a 8 mm +- 0.2 mm", "a 8 mm ± 0.2 mm\n"),
            ("(\"\n{}", "(\"\n    {}\n"),
            ("{\"\n{}}", "{\n  \"\n  {}\n}\n"),
            ("a b ≤ c, a b ≥ c, a b ≠ c", "a b <= c\na b >= c\na b != c\n"),
            // Not a unit, so not ours to spell; and a comment is the author's.
            ("a \u{b5}m mil \"\u{b5}m\" # \u{b5}m", "a \u{b5}m mil \"\u{b5}m\"  # \u{b5}m\n"),
        ]);
    }

    #[test]
    fn blocks_stay_on_one_line_while_they_fit() {
        let long =
            "a { first_of_the_entries 1 mm, second_of_the_entries 2 mm, third_of_the_entries 3 mm, fourth 14 mm }";
        assert_eq!(long.len(), 100);
        let longer = long.replace("fourth", "fourths");
        let broken = "a {\n  first_of_the_entries 1 mm\n  second_of_the_entries 2 mm\n  third_of_the_entries 3 mm\n  fourths 14 mm\n}\n";
        all(&[
            (long, &format!("{long}\n")),
            (&longer, broken),
            ("a {b { c } d}", "a { b { c }, d }\n"),
            ("a { b\n}", "a {\n  b\n}\n"),
            ("a { b, c { d }\n e }", "a {\n  b\n  c { d }\n  e\n}\n"),
            ("a {\n\n}", "a {}\n"),
            ("a { # why\n}", "a {  # why\n}\n"),
        ]);
    }

    #[test]
    fn long_entries_are_broken_at_the_outermost_place() {
        let name = "a_name_of_twenty_let";
        all(&[
            (
                &format!("order {name} then {name} then {name} then {name} then {name}"),
                &format!("order {name} then {name} then {name} then\n    {name} then {name}\n"),
            ),
            (
                &format!("let x = min({name}, {name}, {name}) + max({name}, {name}, 3 mm)"),
                &format!("let x = min({name}, {name}, {name}) +\n    max({name}, {name}, 3 mm)\n"),
            ),
            (
                &format!("accept {name} because \"{name} {name} {name} {name}\" until 2027-06-30"),
                &format!("accept {name}\n    because \"{name} {name} {name} {name}\"\n    until 2027-06-30\n"),
            ),
            // A declaration's word must not begin a line.
            (
                &format!("order {name} then {name} then {name} then {name} then wire then {name} then b"),
                &format!("order {name} then {name} then {name} then\n    {name} then wire then {name} then b\n"),
            ),
        ]);
    }

    #[test]
    fn comments_keep_their_places() {
        all(&[
            ("#!a\n\n\n\n#b  \na", "#!a\n\n#b\na\n"),
            ("a { b # b\n # own\n c\n # end\n}# brace", "a {\n  b  # b\n  # own\n  c\n  # end\n}  # brace\n"),
            ("a  # x\nbcd  # y\n", "a  # x\nbcd  # y\n"),
            ("a   # x\nbcd # y\n", "a    # x\nbcd  # y\n"),
            ("a   # x\nplain and longer\nbcd # y\n", "a    # x\nplain and longer\nbcd  # y\n"),
            ("a   # x\n\nbcd # y\n", "a  # x\n\nbcd  # y\n"),
            ("a b then # one\n # two\n c", "a b then  # one\n    # two\n    c\n"),
            ("## doc\n\na", "## doc\na\n"),
            ("## doc\n, ## doc\n,\n, a", "## doc\n## doc\na\n"),
            ("a {\n## idle\n\n# note\n}", "a {\n  ## idle\n\n  # note\n}\n"),
        ]);
    }

    #[test]
    fn declarations_that_span_lines_stand_apart() {
        all(&[
            ("let a = 1\nlet b = 2\n\n\nlet c = 3", "let a = 1\nlet b = 2\n\nlet c = 3\n"),
            ("a {\nb\n}\nc\nd", "a {\n  b\n}\n\nc\nd\n"),
            ("c\n# about a\na {\nb\n}", "c\n\n# about a\na {\n  b\n}\n"),
            ("c\n# about c\n\na {\nb\n}", "c\n# about c\n\na {\n  b\n}\n"),
        ]);
    }

    #[test]
    fn broken_parts_keep_their_text() {
        all(&[
            ("a {\nb   3 ± ± 4\nc    5\n}", "a {\n  b   3 ± ± 4\n  c 5\n}\n"),
            ("a { b   3\", c   4 }", "a { b   3\", c 4 }\n"),
            ("a { b 7:3,, 0 }", "a { b 7:3,, 0 }\n"),
            ("heater a {\n b {\n    c   1\n d\n}\nlet   x = 3", "heater a {\n b {\n    c   1\n d\n}\n\nlet x = 3\n"),
            // Where it stands is all that tells a block without its brace.
            ("  x   1\n  wire y\n   z   1\n }\n", "  x   1\n  wire y\n   z   1\n }\n"),
            ("   heater y {\n    z   1\n", "heater y {\n z   1\n"),
        ]);
    }

    #[test]
    fn commas_stay_where_a_line_break_would_not_do() {
        all(&[
            ("a =, b 3", "a =\n, b 3\n"),
            ("a 1, then b", "a 1\n, then b\n"),
            ("a 1, { b }", "a 1\n, { b }\n"),
            ("a { b then, c }", "a { b then, c }\n"),
            // At the start of a line it would be a declaration.
            ("a { b,   wire c (3) }", "a { b,   wire c (3) }\n"),
        ]);
    }

    #[test]
    fn a_tree_that_lacks_something_is_refused() {
        let text = "a 1 {\n b\n}";
        let mut parsed = parse(FileId(0), text);
        parsed.tree = Tree::default();
        assert!(matches!(format(FileId(0), text, &parsed), Err(Refusal::Token(_))));
    }

    #[test]
    fn nothing_much_becomes_little() {
        all(&[
            ("", ""),
            ("\u{feff}\r\n \t\n", ""),
            (",,", ""),
            ("\u{feff}# a\r\n", "# a\n"),
            ("a\r\n\r\nb", "a\n\nb\n"),
        ]);
    }
}
