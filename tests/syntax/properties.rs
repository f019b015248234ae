//! What holds for the parser on any text.

use proptest::collection::vec;
use proptest::prelude::{Strategy, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;
use withy::format::shape;
use withy::syntax::{Entry, Kind, Parsed, parse};
use withy::text::{FileId, Span};

use crate::samples::{change, changed, config, samples, soup};

fn read(text: &str) -> Parsed {
    parse(FileId(0), text)
}

/// Tokens and comments, in order.
fn pieces(parsed: &Parsed, text: &str) -> Vec<Span> {
    let table = parsed.table(text);
    let tokens = (0..table.len()).map(|index| table.span(index));
    let mut pieces: Vec<Span> = tokens.chain(table.comments().iter().map(|comment| comment.span)).collect();
    pieces.sort();
    pieces
}

/// The lines of all entries, in order.
fn lines(entries: &[Entry]) -> Vec<Span> {
    let below = |entry: &Entry| entry.block().map_or_else(Vec::new, |block| lines(&block.entries));
    entries.iter().flat_map(|entry| [vec![entry.line()], below(entry)].concat()).collect()
}

/// Declarations with blocks, well indented.
fn declaration() -> impl Strategy<Value = String> {
    let formatted =
        samples().into_iter().filter(|sample| sample.path.parent().is_some_and(|it| it.ends_with("formatted")));
    let declarations: Vec<String> = formatted
        .flat_map(|sample| {
            let parsed = read(&sample.text);
            let entries = parsed.tree.entries.iter().filter(|entry| entry.block().is_some() && entry.head().is_some());
            let texts = entries.map(|entry| format!("{}\n", &sample.text[entry.span().range()]));
            texts.filter(|text| opens(text) && read(text).faults.is_empty()).collect::<Vec<_>>()
        })
        .collect();
    assert!(declarations.len() > 5);
    select(declarations)
}

/// Whether a text begins with a declaration of the usual shape.
fn opens(text: &str) -> bool {
    let parsed = read(text);
    withy::syntax::opens_declaration(parsed.table(text), text, 0)
}

proptest! {
    #![proptest_config(config(256))]

    #[test]
    fn nothing_is_lost(text in soup()) {
        let parsed = read(&text);
        let mut end = 0;
        for piece in pieces(&parsed, &text) {
            prop_assert!(end <= piece.start && piece.start < piece.end);
            let gap = &text[end as usize..piece.start as usize];
            prop_assert!(gap.chars().all(|c| matches!(c, ' ' | '\t' | '\r' | '\n' | '\u{feff}')), "{:?}", gap);
            end = piece.end;
        }
        let rest = text[end as usize..].trim_matches([' ', '\t', '\r', '\n', '\u{feff}']);
        prop_assert_eq!(rest, "");
    }

    #[test]
    fn every_token_stands_in_an_entry(text in soup()) {
        let parsed = read(&text);
        let lines = lines(&parsed.tree.entries);
        let is_unmatched = |index: usize| parsed.unmatched.iter().any(|stretch| stretch.contains(&index));
        let table = parsed.table(&text);
        for index in (0..table.len()).filter(|index| !is_unmatched(*index)) {
            let (kind, span) = (table.kinds()[index], table.span(index));
            let inside = lines.iter().filter(|line| line.start <= span.start && span.end <= line.end).count();
            let divides = matches!(kind, Kind::Comma | Kind::OpenBrace | Kind::CloseBrace);
            prop_assert!(inside == 1 || (divides && inside == 0), "{:?} {:?} in {}", kind, span, inside);
        }
    }

    #[test]
    fn a_broken_declaration_leaves_its_neighbours_alone(
        before in declaration(), broken in declaration(), after in declaration(), changes in vec(change(), 1..4),
    ) {
        // The first word stays, so that the declaration before is over.
        let broken = format!("{}{}\n", &broken[..12], changed(&broken[12..], &changes));
        let text = format!("{before}{broken}{after}");
        let parsed = read(&text);
        let whole = shape(&parsed.tree, &text);
        let (first, last) = (shape(&read(&before).tree, &before), shape(&read(&after).tree, &after));
        if opens(&broken) {
            prop_assert!(whole.starts_with(&first), "{}", text);
        }
        // A comment or a doc comment at the end may belong to what follows.
        prop_assert!(whole.ends_with(&last), "{}\n{}", text, whole);
    }

    #[test]
    fn faults_lie_in_the_text_and_in_order(text in soup()) {
        let parsed = read(&text);
        let places: Vec<u32> = parsed.faults.iter().map(|fault| fault.primary().start).collect();
        prop_assert!(places.is_sorted());
        for fault in &parsed.faults {
            prop_assert!(text.get(fault.primary().range()).is_some());
            for edit in fault.edits.iter().flat_map(|edit| &edit.changes) {
                prop_assert!(text.get(edit.span.range()).is_some());
            }
        }
    }
}

#[test]
fn the_same_text_gives_the_same_tree() {
    for sample in samples() {
        let (once, twice) = (read(&sample.text), read(&sample.text));
        assert_eq!(format!("{once:?}"), format!("{twice:?}"));
    }
}

/// More faults than this hide the one root cause.
const MOST_FAULTS: usize = 3;

#[test]
fn deleting_one_token_gives_few_faults() {
    for sample in samples() {
        let parsed = read(&sample.text);
        let table = parsed.table(&sample.text);
        for index in 0..table.len() {
            let span = table.span(index);
            let text = format!("{}{}", &sample.text[..span.start as usize], &sample.text[span.end as usize..]);
            few_more(&parsed, &text, &format!("{} without {:?}", sample.path.display(), &sample.text[span.range()]));
        }
    }
}

#[test]
fn deleting_one_line_gives_few_faults() {
    for sample in samples() {
        let parsed = read(&sample.text);
        let lines: Vec<&str> = sample.text.split_inclusive('\n').collect();
        for index in 0..lines.len() {
            let text = [&lines[..index], &lines[index + 1..]].concat().concat();
            few_more(&parsed, &text, &format!("{} without line {}", sample.path.display(), index + 1));
        }
    }
}

fn few_more(before: &Parsed, text: &str, what: &str) {
    let after = read(text);
    let faults: Vec<_> = after.faults.iter().map(|fault| (&fault.headline, fault.primary())).collect();
    let most = before.faults.len() + MOST_FAULTS;
    assert!(faults.len() <= most, "{what}: {} faults instead of {}: {faults:?}", faults.len(), before.faults.len());
}
