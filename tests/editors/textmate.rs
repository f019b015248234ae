//! The `TextMate` grammar, under the engine that editors run it with, against the compiler's own tokens.

use std::collections::BTreeMap;
use std::io::Write;
use std::process::{Command, Stdio};

use withy::syntax::{Arg, Entry, Expr, ExprKind, Kind, Parsed, UnitSyntax, parse};
use withy::text::{FileId, Span};
use withy::units::lookup;

use crate::{at, program};

/// The scopes of each byte of a text.
type Scopes = Vec<String>;

/// What the engine makes of texts.
fn scopes(texts: &[&str]) -> Vec<Scopes> {
    let mut node = Command::new(program("WITHY_NODE", "node"))
        .arg(at("tests/editors/tokens.js"))
        .env("NODE_PATH", at("editors/vscode/node_modules"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("Node is missing: `tests/run` installs it");
    let mut input = node.stdin.take().unwrap();
    input.write_all(&serde_json::to_vec(texts).unwrap()).unwrap();
    drop(input);
    let output = node.wait_with_output().unwrap();
    assert!(output.status.success(), "run `npm ci` in editors/vscode");
    let all: Vec<Vec<(usize, usize, usize, String)>> = serde_json::from_slice(&output.stdout).unwrap();
    texts.iter().zip(&all).map(|(text, tokens)| by_byte(text, tokens)).collect()
}

fn by_byte(text: &str, tokens: &[(usize, usize, usize, String)]) -> Scopes {
    let mut scopes = vec![String::new(); text.len()];
    let starts: Vec<usize> = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    for (line, from, to, scope) in tokens {
        let mut units = 0;
        for (byte, character) in text[starts[*line]..].char_indices().take_while(|(_, character)| *character != '\n') {
            if (*from..*to).contains(&units) {
                scopes[starts[*line] + byte].clone_from(scope);
            }
            units += character.len_utf16();
        }
    }
    scopes
}

/// Units in an entry's arguments, and of what stands within them.
fn units<'t>(entries: &'t [Entry], found: &mut Vec<UnitSyntax<'t>>) {
    fn of_expr<'t>(expr: &'t Expr, found: &mut Vec<UnitSyntax<'t>>) {
        match expr.kind() {
            ExprKind::Measure(measure) => found.extend(&measure.unit),
            ExprKind::Deviations(_, unit) => found.extend(unit),
            ExprKind::Deviating(value, _, unit) => {
                of_expr(value, found);
                found.extend(unit);
            }
            ExprKind::Binary(left, _, _, right) => {
                of_expr(left, found);
                of_expr(right, found);
            }
            ExprKind::Paren(inner) | ExprKind::Negate(inner) => of_expr(inner, found),
            ExprKind::Call(_, arguments) => {
                arguments.iter().filter_map(|argument| argument.value.as_ref()).for_each(|value| of_expr(value, found));
            }
            _ => {}
        }
    }
    for entry in entries {
        for arg in entry.args() {
            match arg {
                Arg::Expr(expr) => of_expr(expr, found),
                Arg::List(list) => list.items.iter().for_each(|item| of_expr(item, found)),
                _ => {}
            }
        }
        units(entry.inner(), found);
    }
}

/// Each piece of a text whose scope is known from the compiler, with that scope.
fn expected(text: &str, parsed: &Parsed) -> Vec<(Span, &'static str)> {
    let mut pieces = Vec::new();
    let table = parsed.table(text);
    for comment in table.comments() {
        pieces
            .push((comment.span, if comment.doc { "comment.line.documentation" } else { "comment.line.number-sign" }));
    }
    let rules: Vec<Span> = rule_names(&parsed.tree.entries);
    for index in 0..table.len() {
        let (kind, span) = (table.kinds()[index], table.span(index));
        let scope = match kind {
            Kind::Text => "string.quoted",
            Kind::Date => "constant.other.date",
            Kind::Number | Kind::Fraction | Kind::Deviations => "constant.numeric",
            // At the head of an entry, and within the name of a rule, a reserved word is something else.
            kind if kind.is_reserved() => "",
            _ => continue,
        };
        if !scope.is_empty() {
            pieces.push((span, scope));
        } else if !rules.iter().any(|rule| rule.start <= span.start && span.end <= rule.end) {
            pieces.push((span, "keyword.other|support.type.property-name"));
        }
    }
    pieces.extend(rules.into_iter().map(|rule| (rule, "entity.name.label")));
    heads(&parsed.tree.entries, true, &mut pieces);
    let mut of_numbers = Vec::new();
    units(&parsed.tree.entries, &mut of_numbers);
    // Behind a count the grammar takes a word for a unit (`40 times`); only the table knows better.
    let known = |span: &Span| lookup(&text[span.range()]).is_some() || &text[span.range()] == "AWG";
    let factors = of_numbers.iter().flat_map(UnitSyntax::words);
    pieces.extend(factors.filter(known).map(|span| (span, "keyword.other.unit")));
    pieces
}

fn heads(entries: &[Entry], outside: bool, pieces: &mut Vec<(Span, &'static str)>) {
    for entry in entries {
        // `language` is the one entry outside of all blocks.
        let scope =
            if outside { "keyword.declaration|support.type.property-name" } else { "support.type.property-name" };
        pieces.extend(entry.head().map(|head| (head, scope)));
        heads(entry.inner(), false, pieces);
    }
}

fn rule_names(entries: &[Entry]) -> Vec<Span> {
    let mut found = Vec::new();
    for entry in entries {
        found.extend(entry.args().iter().filter_map(|arg| if let Arg::Rule(span) = arg { Some(span) } else { None }));
        found.extend(rule_names(entry.inner()));
    }
    found
}

/// Pieces of a text that the grammar colours otherwise than the compiler reads them.
fn differences(text: &str, scopes: &[String]) -> Vec<String> {
    let parsed = parse(FileId(0), text);
    let fits =
        |scope: &str, wanted: &str| wanted.split('|').any(|one| scope.split(' ').any(|part| part.starts_with(one)));
    let wrong = |(span, wanted): &(Span, &str)| {
        let range = span.range();
        let bytes = range.clone().filter(|byte| text.is_char_boundary(*byte) && !text[*byte..].starts_with(' '));
        bytes
            .map(|byte| &scopes[byte])
            .find(|scope| !fits(scope, wanted))
            .map(|scope| format!("`{}` at byte {} is `{scope}`, not `{wanted}`", &text[range.clone()], range.start))
    };
    expected(text, &parsed).iter().filter_map(wrong).collect()
}

fn examples() -> BTreeMap<String, String> {
    let folders = ["examples/bench", "examples/parts", "examples/recipes", "examples/stock", "src/types/catalogue"];
    let mut files = BTreeMap::new();
    for folder in folders {
        for entry in std::fs::read_dir(at(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|end| end == "withy") {
                files.insert(path.display().to_string(), std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    assert!(files.len() > 40, "the examples are gone");
    files
}

#[test]
fn the_textmate_grammar_colours_the_examples_as_the_compiler_reads_them() {
    let files = examples();
    let texts: Vec<&str> = files.values().map(String::as_str).collect();
    let mut pieces = 0;
    let mut faults = Vec::new();
    for ((name, text), scopes) in files.iter().zip(scopes(&texts)) {
        pieces += expected(text, &parse(FileId(0), text)).len();
        faults.extend(differences(text, &scopes).into_iter().map(|why| format!("{name}: {why}")));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(pieces > 4_000, "only {pieces} pieces were looked at");
}

#[test]
fn a_wrong_colour_is_seen() {
    let text = "sheet thin {\n  thickness 3 mm ± 0.4 mm # µ Ω\n}\n";
    let right = scopes(&[text]).remove(0);
    assert_eq!(differences(text, &right), Vec::<String>::new());
    for word in ["sheet", "thickness", "3", "mm", "# µ Ω"] {
        let mut wrong = right.clone();
        wrong[text.find(word).unwrap()] = "variable.other.withy".to_owned();
        assert_eq!(differences(text, &wrong).len(), 1, "{word}");
    }
}

#[test]
fn what_is_no_unit_and_no_keyword_is_left_alone() {
    let text = "let a = 3 mmx\nlet b = \"as # \\\" mm\" # 3 mm\nbatch c {\n  run d 40 times from aside\n}\n";
    let scopes = scopes(&[text]).remove(0);
    let at = |word: &str| scopes[text.find(word).unwrap()].as_str();
    assert!(at("mmx").contains("variable"), "{}", at("mmx"));
    assert!(at("times").contains("variable"), "{}", at("times"));
    assert!(at("aside").contains("variable"), "{}", at("aside"));
    assert!(at("as #").contains("string"), "{}", at("as #"));
    assert!(at("\\\"").contains("constant.character.escape"), "{}", at("\\\""));
    assert!(at("# 3").contains("comment"), "{}", at("# 3"));
}
