//! A library that is being edited is checked as if it were checked for the first time.

// The lint's own exceptions for tests do not reach helpers of an integration test.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_assert, prop_assert_eq, prop_oneof, proptest};
use proptest::sample::{Index, select};

use withy::library::{
    Aid, CacheFolder, Checked, Depth, Loaded, Made, Memory, Places, RecipeNote, Renewed, Session, Taker, check,
    check_taking, load, note,
};
use withy::names::DeclId;
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

/// Keeps findings, and the figures of every recipe.
struct Noting<'a> {
    loaded: &'a Loaded,
    /// How many recipes and batches were planned.
    planned: usize,
}

impl Taker for Noting<'_> {
    type Finding = Diagnostic;
    type Made = Option<RecipeNote>;

    fn finding(&mut self, finding: Diagnostic) -> Diagnostic {
        finding
    }

    fn made(&mut self, made: Made) -> Option<RecipeNote> {
        self.planned += 1;
        note(self.loaded, &made, made.plan.as_ref()?)
    }

    fn ended(&mut self, made: Option<RecipeNote>, declaration: DeclId, _blocked: bool) -> Option<RecipeNote> {
        made.map(|note| RecipeNote { recipe: declaration, ..note })
    }
}

/// The full check of a session, as an editor's server makes it.
#[derive(Default)]
struct Figures {
    renewed: Renewed<Diagnostic, Option<RecipeNote>>,
    planned: usize,
}

impl Figures {
    fn check(&mut self, session: &mut Session) -> (Vec<Diagnostic>, Vec<Option<RecipeNote>>) {
        match session.take_edits() {
            Some(edits) => self.renewed.follow(&edits),
            None => self.renewed = Renewed::default(),
        }
        let loaded = Arc::clone(session.loaded());
        let mut noting = Noting { loaded: &loaded, planned: 0 };
        let store = store();
        let aid = Aid { store: &store, ..Aid::NONE };
        let Checked { findings, made } = self.renewed.check(&loaded, &session.looks(), None, &aid, &mut noting);
        self.planned = noting.planned;
        (findings, made)
    }
}

#[test]
fn only_what_an_edit_touches_is_planned_again() {
    let texts = examples();
    let (mut session, _) = Session::open(&Memory::new(texts.clone()), places(), recipes(&texts));
    let mut figures = Figures::default();
    session.check(&Memory::new(texts.clone()));
    figures.check(&mut session);
    let all = figures.planned;
    assert!(all > 20, "{all}");
    let mut planned = |name: &str, old: &str, new: &str| {
        let path = Path::new("/library").join(name);
        let text = texts[&path].replacen(old, new, 1);
        assert_ne!(text, texts[&path], "{name}: {old}");
        session.edit(&path, &text);
        session.check(&Memory::new(texts.clone()));
        figures.check(&mut session);
        figures.planned
    };
    assert_eq!(planned("recipes/field_lab.withy", "language 1", "language 1\n# A comment."), 0);
    let touched = planned("recipes/small_tray.withy", "order ", "# Why.\n  order ");
    assert!((1..3).contains(&touched), "{touched}");
    let of_bench = planned("bench/north.withy", "12.1 V", "12.2 V");
    assert!((3..all / 2).contains(&of_bench), "{of_bench} of {all}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases() / 4, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn figures_after_edits_are_those_of_a_fresh_check(
        steps in proptest::collection::vec((any::<Index>(), step(), any::<bool>(), any::<bool>()), 1..8),
    ) {
        let mut texts = examples();
        let paths: Vec<PathBuf> = texts.keys().cloned().collect();
        let (mut session, _) = Session::open(&Memory::new(texts.clone()), places(), recipes(&texts));
        let mut figures = Figures::default();
        let mut file = 0;
        for (choice, step, stay, looked_at) in steps {
            file = if stay { file } else { choice.index(paths.len()) };
            let path = &paths[file];
            let next = apply(&texts[path], &step);
            session.edit(path, &next);
            texts.insert(path.clone(), next);
            session.check(&Memory::new(texts.clone()));
            // Figures are not computed after every keystroke.
            if !looked_at {
                continue;
            }
            let (found, notes) = figures.check(&mut session);
            let (loaded, _) = load(&Memory::new(texts.clone()), &places(), &recipes(&texts), None);
            let mut noting = Noting { loaded: &loaded, planned: 0 };
            let store = store();
            let aid = Aid { store: &store, ..Aid::NONE };
            let wanted = check_taking(&loaded, Depth::Full, None, &aid, &mut noting);
            prop_assert_eq!(format!("{found:#?}"), format!("{:#?}", wanted.findings), "{:?} {:?}", path, step);
            prop_assert_eq!(format!("{notes:#?}"), format!("{:#?}", wanted.made), "{:?} {:?}", path, step);
        }
    }
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

/// Solved bends from test to test: none of these is about how bends are solved.
fn store() -> CacheFolder {
    CacheFolder::at(Path::new(concat!(env!("CARGO_TARGET_TMPDIR"), "/cache/bends")))
}

/// Takes plans away, and keeps how they look.
struct Printing<'a>(&'a mut Vec<(String, String)>);

impl Taker for Printing<'_> {
    type Finding = Diagnostic;
    type Made = Made;

    fn finding(&mut self, finding: Diagnostic) -> Diagnostic {
        finding
    }

    fn made(&mut self, made: Made) -> Made {
        self.0.extend(made.plan.as_ref().map(|plan| (made.name.clone(), format!("{plan:?}"))));
        Made { plan: None, ..made }
    }

    fn ended(&mut self, made: Made, _declaration: DeclId, blocked: bool) -> Made {
        Made { blocked, ..made }
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
    let store = store();
    let aid = Aid { store: &store, ..Aid::NONE };
    let bare = check_taking(&loaded, Depth::Full, None, &aid, &mut Printing(&mut taken));
    assert_eq!(bare.findings, kept.findings);
    assert!(bare.made.iter().all(|made| made.plan.is_none()));
    let told = |made: &Made| (made.name.clone(), made.span, made.blocked);
    assert!(bare.made.iter().map(told).eq(kept.made.iter().map(told)));
    let plans = kept.made.iter().filter_map(|made| Some((made.name.clone(), format!("{:?}", made.plan.as_ref()?))));
    assert!(taken.into_iter().eq(plans));
}
