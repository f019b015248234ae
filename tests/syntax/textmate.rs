//! The `TextMate` grammar is written from the compiler's tables. What it makes of texts is tested under the engine itself,
//! in `tests/editors`.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use withy::names::DeclKind;
use withy::syntax::DECLARATIONS;
use withy::types::FUNCTIONS;
use withy::types::schema::{BlockSchema, declaration};

use crate::words::{in_step, reserved, units};

/// The words at the head of entries, in every block.
pub fn heads() -> BTreeSet<&'static str> {
    fn collect(block: &BlockSchema, heads: &mut BTreeSet<&'static str>) {
        for entry in block.entries {
            // A stretch of a profile can hold stretches.
            if heads.insert(entry.word)
                && let Some(inner) = entry.block
            {
                collect(inner, heads);
            }
        }
    }
    let mut heads = BTreeSet::from(["language"]);
    for block in DeclKind::ALL.into_iter().filter_map(declaration) {
        collect(block, &mut heads);
    }
    heads
}

/// One of the words, the longest that fits, as a regular expression.
pub fn one_of<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let mut words: Vec<&str> = words.into_iter().collect();
    words.sort_by_key(|word| (std::cmp::Reverse(word.len()), *word));
    format!("(?:{})", words.join("|"))
}

fn captures(names: &[&str]) -> Value {
    let of = |(index, name): (usize, &&str)| ((index + 1).to_string(), json!({ "name": format!("{name}.withy") }));
    Value::Object(names.iter().enumerate().map(of).collect())
}

fn grammar() -> Value {
    let reserved = reserved();
    // No letter and no digit on either side: `mm` is no unit in `mmx`, `as` no word in `aside`.
    let (before, after) = ("(?<![\\p{L}\\p{N}_])", "(?![\\p{L}\\p{N}_²³])");
    let name = "[\\p{L}_][\\p{L}\\p{N}_²³]*";
    let heads = one_of(heads());
    let declarations = one_of(DECLARATIONS);
    // `°` alone is no unit, but it stands where one should.
    let unit = format!("{}{after}", one_of(units()));
    let units = format!("{unit}(?:[/*×·](?:{unit}|\\({unit}(?:\\s*[*×·]?\\s*{unit})*\\)))*");
    let number = "[0-9][0-9_]*(?:\\.[0-9][0-9_]*)?(?:[eE][+-]?[0-9]+)?";
    let figure = format!("(?:[0-9]+/[0-9]+|{number}(?:\\s+[0-9]+/[0-9]+)?)");
    let deviation = format!("(?:[0-9]+/[0-9]+|{number})");
    let rule = |name: &str, pattern: String| json!({ "name": format!("{name}.withy"), "match": pattern });
    let words = json!([
        { "include": "#comments" },
        { "include": "#texts" },
        rule("constant.other.date", format!("{before}[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}{after}")),
        {
            "match": format!("(\\+{deviation}/-{deviation})\\s*({units})?"),
            "captures": captures(&["constant.numeric", "keyword.other.unit"])
        },
        {
            "match": format!("{before}({figure})(?:\\s*({units}))?"),
            "captures": captures(&["constant.numeric", "keyword.other.unit"])
        },
        rule("support.function", format!("{before}{}(?=\\()", one_of(FUNCTIONS.map(|function| function.0)))),
        rule("keyword.other", format!("{before}{}{after}", one_of(reserved.iter().map(String::as_str)))),
        rule("keyword.operator", "±|\\+/-|\\+-|\\.\\.|[<>=!]=|[-−+*/^=<>≠≤≥×·]".to_owned()),
        rule("punctuation.separator", "[,:.]".to_owned()),
        // Takes whole words, so that nothing else is found within them.
        rule("variable.other", name.to_owned())
    ]);
    json!({
        "information_for_contributors": ["Written from the compiler's tables by `WITHY_UPDATE=1 cargo test --test syntax textmate`."],
        "name": "Withy",
        "scopeName": "source.withy",
        "fileTypes": ["withy"],
        "patterns": [{ "include": "#declarations" }, { "include": "#entries" }, { "include": "#words" }],
        "repository": {
            "comments": { "patterns": [
                rule("comment.line.documentation", "##.*$".to_owned()),
                rule("comment.line.number-sign", "#.*$".to_owned())
            ] },
            "texts": { "patterns": [{
                "name": "string.quoted.double.withy",
                "begin": "\"",
                "end": "\"|$",
                "patterns": [
                    rule("constant.character.escape", "\\\\[\"\\\\]".to_owned()),
                    rule("invalid.illegal.escape", "\\\\.".to_owned())
                ]
            }] },
            "declarations": { "patterns": [{
                "match": format!("^\\s*({declarations}){after}(?:[ \\t]+((?!{}{after}){name}))?", one_of(reserved.iter().map(String::as_str))),
                "captures": captures(&["keyword.declaration", "entity.name.type"])
            }] },
            "entries": { "patterns": [
                {
                    "match": format!("(?:^|(?<=[{{,]))\\s*(accept)[ \\t]+({name}(?:-{name})*)"),
                    "captures": captures(&["support.type.property-name", "entity.name.label"])
                },
                {
                    "match": format!("(?:^|(?<=[{{,]))\\s*({heads}){after}"),
                    "captures": captures(&["support.type.property-name"])
                },
                { "include": "#blocks" }
            ] },
            "blocks": { "patterns": [{
                "begin": "\\{",
                "end": "\\}",
                "beginCaptures": { "0": { "name": "punctuation.section.block.begin.withy" } },
                "endCaptures": { "0": { "name": "punctuation.section.block.end.withy" } },
                "patterns": [{ "include": "#entries" }, { "include": "#words" }]
            }] },
            "words": { "patterns": words }
        }
    })
}

#[test]
fn the_textmate_grammar_is_in_step() {
    let text = serde_json::to_string_pretty(&grammar()).unwrap();
    in_step("grammar/withy.tmLanguage.json", &format!("{text}\n"));
}
