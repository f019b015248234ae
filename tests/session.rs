//! A library that is being edited is checked as if it were checked for the first time.

// The lint's own exceptions for tests do not reach helpers of an integration test.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_assert, prop_oneof, proptest};
use proptest::sample::{Index, select};

use withy::library::{Aid, CacheFolder, Depth, Made, Memory, Places, Session, check, check_taking, load};
use withy::report::Diagnostic;

type Texts = BTreeMap<PathBuf, String>;

/// The examples, under the paths that they use each other by.
fn examples() -> Texts {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let walk = ignore::WalkBuilder::new(&root).build();
    let files = walk.map(Result::unwrap).filter(|entry| entry.path().extension().is_some_and(|end| end == "withy"));
    let here = |path: &Path| Path::new("/library").join(path.strip_prefix(&root).unwrap());
    let wrong = root.join("wrong");
    files
        .filter(|entry| !entry.path().starts_with(&wrong))
        .map(|entry| (here(entry.path()), std::fs::read_to_string(entry.path()).unwrap()))
        .collect()
}

fn places() -> Places {
    Places { root: PathBuf::from("/library"), shown_from: PathBuf::from("/library") }
}

fn recipes(texts: &Texts) -> Vec<PathBuf> {
    texts.keys().filter(|path| path.starts_with("/library/recipes")).cloned().collect()
}

fn fresh(texts: &Texts) -> Vec<Diagnostic> {
    let io = Memory::new(texts.clone());
    let (loaded, _) = load(&io, &places(), &recipes(texts), None);
    check(&loaded, Depth::Types, None).findings
}

/// One change of a text.
#[derive(Clone, Debug)]
enum Step {
    /// Some lines go.
    Drop(Index, usize),
    /// A line comes.
    Insert(Index, &'static str),
    /// A line is said again elsewhere.
    Copy(Index, Index),
    /// A word within a line goes.
    Cut(Index, Index),
    /// A character comes within a line.
    Type(Index, Index, char),
    /// A word stands in the place of another one everywhere.
    Rename(Index),
}

const LINES: [&str; 14] = [
    "}",
    "let wall = 3 mm + other",
    "let other = wall * 2",
    "heater left from right {",
    "part tray {",
    "  heat 150 mm",
    "  order lip then front",
    "  bend lip { heat 145 s }",
    "recipe again for tray on first {",
    "use \"../stock/nothing.withy\"",
    "## A doc comment.",
    "  width wall",
    "  accept no-such-rule because \"x\"",
    "sheet clear { thickness 3 mm }",
];

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        (any::<Index>(), 1..8_usize).prop_map(|(at, count)| Step::Drop(at, count)),
        (any::<Index>(), select(LINES.to_vec())).prop_map(|(at, line)| Step::Insert(at, line)),
        (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Step::Copy(from, to)),
        (any::<Index>(), any::<Index>()).prop_map(|(line, word)| Step::Cut(line, word)),
        (any::<Index>(), any::<Index>(), prop_oneof![Just('x'), Just('{'), Just('"'), Just('7'), Just('\u{b5}')])
            .prop_map(|(line, at, typed)| Step::Type(line, at, typed)),
        any::<Index>().prop_map(Step::Rename),
    ]
}

fn apply(text: &str, step: &Step) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines.push(String::new());
    match step {
        Step::Drop(at, count) => {
            let at = at.index(lines.len());
            lines.drain(at..(at + count).min(lines.len()));
        }
        Step::Insert(at, line) => lines.insert(at.index(lines.len()), (*line).to_owned()),
        Step::Copy(from, to) => {
            let line = lines[from.index(lines.len())].clone();
            lines.insert(to.index(lines.len()), line);
        }
        Step::Cut(line, word) => {
            let line = line.index(lines.len());
            let mut words: Vec<&str> = lines[line].split(' ').collect();
            words.remove(word.index(words.len()));
            lines[line] = words.join(" ");
        }
        Step::Type(line, at, typed) => {
            let line = line.index(lines.len());
            let mut line_text: Vec<char> = lines[line].chars().collect();
            line_text.insert(at.index(line_text.len() + 1), *typed);
            lines[line] = line_text.into_iter().collect();
        }
        Step::Rename(line) => {
            let line = &lines[line.index(lines.len())];
            if let Some(name) = line.split(' ').nth(1).filter(|name| name.len() > 2).map(str::to_owned) {
                return text.replace(&name, &format!("{name}x"));
            }
        }
    }
    lines.join("\n")
}

fn cases() -> u32 {
    if std::env::var_os("WITHY_DEEP").is_some() { 2000 } else { 40 }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn a_check_after_edits_finds_what_a_fresh_check_finds(
        steps in proptest::collection::vec((any::<Index>(), step(), any::<bool>()), 1..12),
    ) {
        let mut texts = examples();
        let paths: Vec<PathBuf> = texts.keys().cloned().collect();
        let (mut session, _) = Session::open(&Memory::new(texts.clone()), places(), recipes(&texts));
        let mut file = 0;
        for (choice, step, stay) in steps {
            // Edits mostly come in rows in one file.
            file = if stay { file } else { choice.index(paths.len()) };
            let path = &paths[file];
            let next = apply(&texts[path], &step);
            session.edit(path, &next);
            texts.insert(path.clone(), next);
            let found = session.check(&Memory::new(texts.clone()));
            let wanted = fresh(&texts);
            let same = format!("{found:?}") == format!("{wanted:?}");
            let names = |found: &[Diagnostic]| found.iter().map(|one| one.headline.clone()).collect::<Vec<_>>();
            prop_assert!(same, "{path:?} {step:?}\n{:#?}\n{:#?}", names(&found), names(&wanted));
        }
    }
}

#[test]
fn plans_that_are_taken_away_change_nothing_else() {
    // Several copies of the examples, since plans are only taken away portion by portion.
    let copy = |number: usize, path: &Path| {
        Path::new("/library").join(number.to_string()).join(path.strip_prefix("/library").unwrap())
    };
    let copies = |number| examples().into_iter().map(move |(path, text)| (copy(number, &path), text));
    let texts: Texts = (0..4).flat_map(copies).collect();
    let asked: Vec<PathBuf> = texts.keys().filter(|path| path.iter().any(|part| part == "recipes")).cloned().collect();
    let (loaded, _) = load(&Memory::new(texts), &places(), &asked, None);
    let kept = check(&loaded, Depth::Full, None);
    let mut taken = Vec::new();
    let store = CacheFolder::at(Path::new(concat!(env!("CARGO_TARGET_TMPDIR"), "/cache/bends")));
    let aid = Aid { store: &store, progress: &() };
    let bare = check_taking(&loaded, Depth::Full, None, &aid, &mut |made, plan| {
        taken.push((made.name.clone(), format!("{plan:?}")));
    });
    assert_eq!(bare.findings, kept.findings);
    assert!(bare.made.iter().all(|made| made.plan.is_none()));
    let told = |made: &Made| (made.name.clone(), made.span, made.blocked);
    assert!(bare.made.iter().map(told).eq(kept.made.iter().map(told)));
    let plans = kept.made.iter().filter_map(|made| Some((made.name.clone(), format!("{:?}", made.plan.as_ref()?))));
    assert!(taken.into_iter().eq(plans));
}
