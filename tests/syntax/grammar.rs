//! `grammar/withy.ebnf` and the parser describe the same language.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use proptest::collection::vec;
use proptest::prelude::{Strategy, any, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;
use withy::report::Subject;
use withy::syntax::{Kind, TokenTable, is_declaration_word, parse};
use withy::text::FileId;

use crate::ebnf::{Node, Rules, language, nodes, rule};
use crate::recogniser::{Recogniser, kind_name, kind_named, kind_of};
use crate::samples::{change, changed, config, samples, soup};
use crate::sentences::sentence;

static GRAMMAR: LazyLock<Recogniser> = LazyLock::new(|| Recogniser::new(language()));

/// Limits on size are no part of the grammar.
const LIMITS: [&str; 2] = ["overlong-entry", "nested-too-deep"];

/// Whether parser and grammar agree on a text.
fn agree(text: &str) -> Result<(), String> {
    let faults = parse(FileId(0), text).faults;
    let is_limit = |subject: Subject| matches!(subject, Subject::Error(name) if LIMITS.contains(&name));
    if faults.iter().any(|fault| is_limit(fault.subject)) || GRAMMAR.accepts(text) == faults.is_empty() {
        return Ok(());
    }
    let heads: Vec<&str> = faults.iter().map(|fault| fault.headline.as_str()).collect();
    Err(format!("the grammar says {}, the parser {heads:?}: {text:?}", GRAMMAR.accepts(text)))
}

fn choices() -> impl Strategy<Value = Vec<u8>> {
    vec(any::<u8>(), 0..250)
}

proptest! {
    #![proptest_config(config(64))]

    #[test]
    fn sentences_are_read_without_faults_and_nothing_else_is(choices in choices()) {
        prop_assert_eq!(agree(&sentence(GRAMMAR.rules(), "file", &choices)), Ok(()));
    }

    #[test]
    fn spoilt_sentences_are_judged_alike(choices in choices(), changes in vec(change(), 1..4)) {
        prop_assert_eq!(agree(&changed(&sentence(GRAMMAR.rules(), "file", &choices), &changes)), Ok(()));
    }

    #[test]
    fn spoilt_samples_are_judged_alike(text in soup()) {
        prop_assert_eq!(agree(&text), Ok(()));
    }

    #[test]
    fn entries_are_judged_alike(choices in choices()) {
        prop_assert_eq!(agree(&sentence(GRAMMAR.rules(), "line", &choices)), Ok(()));
    }

    #[test]
    fn tokens_of_the_grammar_are_tokens_of_the_lexer(kind in select(patterns()), choices in vec(any::<u8>(), 0..12)) {
        let text = sentence(GRAMMAR.rules(), &kind_name(kind), &choices);
        // What the grammar leaves out, and glue, are not known where sentences are made.
        if GRAMMAR.is_token(&kind_name(kind), &text) {
            let table = TokenTable::new(FileId(0), &text);
            let longer = TokenTable::new(FileId(0), &format!("{text} x"));
            prop_assert_eq!(table.len(), 1, "{:?}", text);
            let found = table.kinds()[0];
            let reserved = kind == Kind::Word && found.is_reserved();
            prop_assert!(found == kind || reserved, "{:?} is {:?}, not {:?}", text, found, kind);
            prop_assert!(longer.len() == 2 || kind == Kind::OpenText);
        }
    }

    #[test]
    fn tokens_of_the_lexer_are_tokens_of_the_grammar(text in soup()) {
        let table = TokenTable::new(FileId(0), &text);
        for index in 0..table.len() {
            let (kind, token) = (table.kinds()[index], &text[table.span(index).range()]);
            // A text with a wrong escape is a fault of its own, and no sentence.
            let wrong_escape = kind == Kind::Text && !parse(FileId(0), &format!("x {token}")).faults.is_empty();
            if patterns().contains(&kind) {
                prop_assert_eq!(GRAMMAR.is_token(&kind_name(kind), token), !wrong_escape, "{:?} {:?}", kind, token);
            }
        }
        for comment in table.comments() {
            let name = if comment.doc { "doc-comment" } else { "comment" };
            prop_assert!(GRAMMAR.is_token(name, &text[comment.span.range()]));
        }
    }
}

/// The kinds of token that the grammar describes character by character.
fn patterns() -> Vec<Kind> {
    let glued = [Kind::CallParen, Kind::IndexBracket, Kind::UnitSlash, Kind::UnitStar];
    // A run of stray characters is one token.
    let others = [Kind::Stray, Kind::LineBreak, Kind::Comment, Kind::DocComment];
    let described = |kind: &Kind| GRAMMAR.rules().contains_key(&kind_name(*kind));
    Kind::ALL.into_iter().filter(|kind| described(kind) && !glued.contains(kind) && !others.contains(kind)).collect()
}

/// The names that `name` leads to.
fn reached<'r>(rules: &'r Rules, name: &str, found: &mut BTreeSet<&'r str>) {
    for node in nodes(rule(rules, name)) {
        if let Node::Name(next) = node
            && rules.contains_key(next)
            && found.insert(next)
        {
            reached(rules, next, found);
        }
    }
}

#[test]
fn the_samples_are_judged_alike() {
    for sample in samples() {
        agree(&sample.text).unwrap_or_else(|why| panic!("{}: {why}", sample.path.display()));
    }
}

#[test]
fn every_token_is_named_and_every_name_is_a_token_or_leads_somewhere() {
    let rules = GRAMMAR.rules();
    let mut in_sentences = BTreeSet::new();
    reached(rules, "file", &mut in_sentences);
    let mut kinds = BTreeSet::new();
    for name in in_sentences.iter().copied().chain(["file"]) {
        // Below a token's own rule lie characters, not tokens.
        if let Some(kind) = kind_named(name) {
            kinds.insert(kind as u8);
            continue;
        }
        for node in nodes(rule(rules, name)) {
            match node {
                Node::Literal(literal) if !below_token(rules, name) => {
                    let kind = kind_of(literal).unwrap_or_else(|| panic!("`{literal}` in `{name}` is not one token"));
                    assert!(!rules.contains_key(&kind_name(kind)) || kind == Kind::Word, "`{literal}` has a rule");
                    kinds.insert(kind as u8);
                }
                Node::Name(next) => assert!(rules.contains_key(next), "`{next}` in `{name}` is not defined"),
                _ => {}
            }
        }
    }
    let trivia = [Kind::LineBreak, Kind::Comment, Kind::DocComment];
    let wrong = [Kind::OpenText, Kind::CurlyText, Kind::DrawingMark, Kind::Stray];
    let outside = [trivia.as_slice(), &wrong].concat();
    for kind in Kind::ALL {
        if outside.contains(&kind) {
            assert!(rules.contains_key(&kind_name(kind)), "{kind:?} is not described");
            assert!(!in_sentences.contains(kind_name(kind).as_str()), "{kind:?} stands in a sentence");
        } else {
            assert!(kinds.contains(&(kind as u8)), "{kind:?} stands in no sentence");
        }
    }
    let lists = ["file", "joined-after", "joined-before", "declaration-word", "blank"];
    for name in rules.keys().filter(|name| !lists.contains(&name.as_str())) {
        let described = outside.iter().any(|kind| {
            let mut below = BTreeSet::from([""]);
            reached(rules, &kind_name(*kind), &mut below);
            below.contains(name.as_str()) || kind_name(*kind) == *name
        });
        assert!(in_sentences.contains(name.as_str()) || described, "nothing leads to `{name}`");
    }
}

/// Whether a rule is only a part of tokens.
fn below_token(rules: &Rules, name: &str) -> bool {
    Kind::ALL.into_iter().map(kind_name).filter(|kind| rules.contains_key(kind)).any(|kind| {
        let mut below = BTreeSet::new();
        reached(rules, &kind, &mut below);
        below.contains(name)
    })
}

#[test]
fn the_lists_of_the_grammar_are_those_of_the_code() {
    for kind in Kind::ALL {
        assert_eq!(GRAMMAR.joined_after().contains(&kind), kind.wants_more(), "{kind:?} in `joined-after`");
        assert_eq!(GRAMMAR.joined_before().contains(&kind), kind.continues(), "{kind:?} in `joined-before`");
    }
    let literals = |list: &str| -> BTreeSet<String> {
        let literal = |node: &Node| match node {
            Node::Literal(literal) => Some(literal.clone()),
            _ => None,
        };
        nodes(rule(GRAMMAR.rules(), list)).into_iter().filter_map(literal).collect()
    };
    let reserved = Kind::ALL.into_iter().filter(|kind| kind.is_reserved());
    assert_eq!(literals("reserved-word"), reserved.map(|kind| kind.describe().replace('`', "")).collect());
    for word in literals("declaration-word") {
        assert!(is_declaration_word(&TokenTable::new(FileId(0), &word), &word, 0), "{word}");
    }
    assert_eq!(literals("declaration-word").len(), 15);
}

#[test]
fn the_grammar_tells_right_from_wrong() {
    let right = [
        "",
        "let x = 3 mm",
        "a 1 1/2 in, b [1, 2,], c {}",
        "part p(h: length = 1 mm) { leg h ± 1 mm\n  leg (h\n + 2 mm) } batch b { run r 4 times }",
        "expect bend lip.window.low <= 3 s",
    ];
    let wrong = ["(", "a {", "let x = 3 mm ±", "a \"b", "a [1 2]", "x (bend lip)", "a\n{ b }", "a 1 < 2 < 3", "a }"];
    for text in right {
        assert!(GRAMMAR.accepts(text), "{text}");
    }
    for text in wrong {
        assert!(!GRAMMAR.accepts(text), "{text}");
    }
}

/// What may not stand in a row does not do so either behind an operator that binds less, or behind a sign.
#[test]
fn operators_in_a_row_are_judged_alike() {
    for (text, right) in [
        ("x 1 ^ 2 .. 3", true),
        ("x 1 ^ 2 .. -0 ± 0", false),
        ("x 1 + 2 .. 3 ± 0", false),
        ("x 2 .. -a ± 0", true),
        ("x 1 ± -a ± 0 ± 1", false),
        ("x -a ± 0 ± 1", false),
        ("x -a ^ 2 * 3 + 1 == 2", true),
        ("x 1 == -a ± 1 == 2", false),
    ] {
        let text = format!("{text}\n");
        assert_eq!(agree(&text), Ok(()));
        assert_eq!(GRAMMAR.accepts(&text), right, "{text}");
    }
}
