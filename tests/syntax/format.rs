//! What holds for the formatter on any text.

use std::path::Path;

use proptest::collection::vec;
use proptest::prelude::{any, prop_assert, prop_assert_eq, proptest};
use withy::format::{format, shape};
use withy::syntax::{Kind, Parsed, TokenTable, parse};
use withy::text::FileId;

use crate::ebnf::language;
use crate::samples::{change, changed, config, samples, soup};
use crate::sentences::sentence;

fn formatted(text: &str) -> Result<String, String> {
    let parsed = parse(FileId(0), text);
    format(FileId(0), text, &parsed).map_err(|refusal| format!("{refusal:?} in {text:?}"))
}

/// The tokens that carry meaning, spelt in one way, and the comments. This does not use what the formatter uses to
/// check itself.
fn substance(text: &str) -> (Vec<String>, Vec<String>) {
    let table = TokenTable::new(FileId(0), text);
    let tokens = (0..table.len()).filter(|index| table.kinds()[*index] != Kind::Comma);
    let spelling = |index: usize| {
        let token = &text[table.span(index).range()];
        let plain = token.replace(['\u{b5}', '\u{3bc}'], "u").replace(['\u{3a9}', '\u{2126}'], "ohm");
        let plain = plain.replace('²', "2").replace('³', "3").replace('℃', "degC").replace('℉', "degF");
        let plain =
            plain.replace("°C", "degC").replace("°F", "degF").replace('−', "-").replace("+/-", "±").replace("+-", "±");
        let plain = plain.replace(['×', '\u{b7}', '\u{387}', '\u{22c5}'], "*").replace('\u{212a}', "K");
        plain.replace('≤', "<=").replace('≥', ">=").replace('≠', "!=").replace("mil", "thou")
    };
    let comment =
        |span: withy::text::Span| text[span.range()].trim_end_matches([' ', '\t', '\r', '\u{feff}']).to_owned();
    (tokens.map(spelling).collect(), table.comments().iter().map(|each| comment(each.span)).collect())
}

fn faults(parsed: &Parsed) -> Vec<&str> {
    parsed.faults.iter().map(|fault| fault.headline.as_str()).collect()
}

/// All that is promised, for one text.
fn check(text: &str) -> Result<(), String> {
    let once = formatted(text)?;
    let twice = formatted(&once)?;
    if twice != once {
        return Err(format!("not stable: {text:?}\nonce: {once:?}\ntwice: {twice:?}"));
    }
    if substance(text) != substance(&once) {
        return Err(format!("something is lost: {text:?} becomes {once:?}"));
    }
    let (before, after) = (parse(FileId(0), text), parse(FileId(0), &once));
    if shape(&before.tree, text) != shape(&after.tree, &once) || before.faults.len() != after.faults.len() {
        let (before, after) = (faults(&before), faults(&after));
        return Err(format!("read in another way: {text:?} becomes {once:?}: {before:?}, {after:?}"));
    }
    let tidy = once.ends_with('\n') && !once.starts_with('\n') && !once.ends_with("\n\n");
    if !once.is_empty() && !tidy {
        return Err(format!("not tidy: {text:?} becomes {once:?}"));
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(256))]

    #[test]
    fn any_text(text in soup()) {
        prop_assert_eq!(check(&text), Ok(()));
    }

    #[test]
    fn any_sentence(choices in vec(any::<u8>(), 0..250)) {
        prop_assert_eq!(check(&sentence(&language(), "file", &choices)), Ok(()));
    }

    #[test]
    fn any_spoilt_sentence(choices in vec(any::<u8>(), 0..120), changes in vec(change(), 1..4)) {
        prop_assert_eq!(check(&changed(&sentence(&language(), "file", &choices), &changes)), Ok(()));
    }

    #[test]
    fn lines_of_good_entries_fit_where_they_can(choices in vec(any::<u8>(), 0..250)) {
        let text = sentence(&language(), "line", &choices);
        if parse(FileId(0), &text).faults.is_empty() {
            for line in formatted(&text).unwrap().lines() {
                // Beyond the last column, only what cannot be broken goes on.
                let beyond: String = line.chars().skip(100).collect();
                prop_assert!(!beyond.trim_end_matches(" {}").contains(" then "), "{}", line);
            }
        }
    }
}

#[test]
fn the_samples() {
    for sample in samples() {
        check(&sample.text).unwrap_or_else(|why| panic!("{}: {why}", sample.path.display()));
        let blanks = formatted(&sample.text).unwrap().lines().any(|line| line.ends_with([' ', '\t', '\r']));
        assert!(!blanks || !parse(FileId(0), &sample.text).faults.is_empty(), "{}", sample.path.display());
    }
}

#[test]
fn the_written_samples_become_the_formatted_ones() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/format");
    let mut count = 0;
    for entry in std::fs::read_dir(folder.join("written")).unwrap() {
        let path = entry.unwrap().path();
        let expected = folder.join("formatted").join(path.file_name().unwrap());
        let text = formatted(&std::fs::read_to_string(&path).unwrap()).unwrap();
        if std::env::var_os("UPDATE_SAMPLES").is_some() {
            std::fs::write(&expected, &text).unwrap();
        }
        assert_eq!(text, std::fs::read_to_string(&expected).unwrap(), "{}", path.display());
        count += 1;
    }
    assert!(count >= 5);
}
