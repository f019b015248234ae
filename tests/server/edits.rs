//! Random edits: whatever is typed, the server has the same text as the client, and finds what a fresh one finds.

use std::path::Path;

use serde_json::{Value, json};
use withy::library::formatted;

use crate::client::{BOTH, Client, Columns, library, uri};
use crate::random::Dice;

/// Pieces of recipes, and of what no recipe is made of.
const PIECES: [&str; 24] = [
    "",
    "",
    "",
    " ",
    "\n",
    "\r\n",
    "{",
    "}",
    "\"",
    "# µ\n",
    "°",
    "Ω",
    "𝛺",
    "heat 90 s",
    "computed",
    "use ",
    ", ",
    "3 mm",
    "bend lip { set 90 s }\n",
    "sheet x { }\n",
    "(",
    "± 4 %",
    "north",
    "\u{feff}",
];

fn pick(dice: &mut Dice, below: usize) -> usize {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to `below`")]
    let picked = (dice.next() * below as f64) as usize;
    picked.min(below.saturating_sub(1))
}

fn boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Replaces up to eight bytes somewhere by a piece. No edit begins or ends within a line break, which has no column.
fn edit(client: &mut Client, path: &Path, dice: &mut Dice) {
    let text = client.text(path).to_owned();
    let start = boundary(&text, pick(dice, text.len() + 1));
    let end = boundary(&text, (start + pick(dice, 9)).min(text.len())).max(start);
    let within = |at: usize| text[..at].ends_with('\r') || text[at..].starts_with('\r');
    if within(start) || within(end) {
        return;
    }
    // A lone return would end a line for an editor and not for this client.
    client.edit(path, start, end, PIECES[pick(dice, PIECES.len())]);
}

/// What a server that has just been started says of the same text.
fn afresh(path: &Path, text: &str, columns: Columns) -> Vec<Value> {
    let mut client = Client::start(columns);
    client.open(path, text);
    let findings = client.findings(path);
    client.end();
    findings
}

#[test]
fn texts_and_findings_stay_equal() {
    let edits = if std::env::var_os("WITHY_DEEP").is_some() { 10_000 } else { 300 };
    for columns in BOTH {
        let (_folder, root) = library();
        let path = root.join("recipes/dust_cover.withy");
        let original = std::fs::read_to_string(&path).unwrap();
        let mut dice = Dice(7);
        let mut client = Client::start(columns);
        client.open(&path, &original);
        for number in 1..=edits {
            edit(&mut client, &path, &mut dice);
            if number % 25 != 0 {
                continue;
            }
            let text = client.text(&path).to_owned();
            let edits = client.ask(
                "textDocument/formatting",
                json!({ "textDocument": { "uri": uri(&path) }, "options": { "tabSize": 2, "insertSpaces": true } }),
            );
            if let Some(expected) = formatted("", &text).text {
                assert_eq!(client.edited(&text, &edits), expected, "after {number} edits of {text:?}");
            }
            if number % 100 == 0 {
                let found = client.findings(&path);
                assert_eq!(found, afresh(&path, &text, columns), "after {number} edits: {text:?}");
                // Back to something that is nearly whole, else soon nothing is left to be checked.
                client.replace(&path, &original);
            }
        }
        client.end();
    }
}
