//! A text that is read again after an edit reads like a new one.

use proptest::prelude::{prop_assert, proptest};
use proptest::sample::select;

use withy::syntax::parse;
use withy::text::{ChangedLines, FileId};

const LINES: [&str; 23] = [
    "part tray {",
    "recipe run for tray on first {",
    "let wall = 3 mm",
    "use \"a.withy\"",
    "  leg 40 mm within 1 mm",
    "  bend up 90 deg { heat 3 s, set",
    "  every bend {",
    "    heat 150 s",
    "  }",
    "}",
    "## A tray.",
    ",",
    "# A note.",
    "",
    ",",
    "  size [1 mm, 2",
    "  wall 5 mm ## x",
    "sheet clear_3",
    "{",
    "lot b from a {}  # why",
    "  x \"µ",
    "\u{feff}wire w { size 20 AWG }",
    "  part",
];

proptest! {
    /// What is not read anew must be as if it were, whether or not the tokens are still there.
    #[test]
    fn a_text_read_again_reads_like_a_new_one(
        lines in proptest::collection::vec(select(LINES.to_vec()), 0..40),
        steps in proptest::collection::vec((0..41_usize, 0..6_usize, proptest::collection::vec(select(LINES.to_vec()), 0..4)), 1..5),
    ) {
        let mut lines = lines;
        let mut text = lines.join("\n");
        let mut parsed = parse(FileId(0), &text);
        for (at, gone, new) in steps {
            let at = at.min(lines.len());
            let until = (at + gone).min(lines.len());
            lines.splice(at..until, new);
            let next = lines.join("\n");
            if let Some(changed) = ChangedLines::between(&text, &next) {
                if gone % 2 == 0 {
                    parsed.forget_tokens();
                }
                let kept = parsed.renew(&text, &next, &changed);
                prop_assert!(kept.before + kept.behind <= parsed.tree.entries.len());
            }
            // The whole of both would fill the screen.
            let same = format!("{parsed:?}") == format!("{:?}", parse(FileId(0), &next));
            prop_assert!(same, "{text:?}\n{next:?}");
            text = next;
        }
    }
}
