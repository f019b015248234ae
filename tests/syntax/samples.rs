//! Texts that the properties are tried on, and ways to spoil them.

use std::path::{Path, PathBuf};

use proptest::prelude::{ProptestConfig, Strategy, any, prop_oneof};
use proptest::sample::select;

/// A text and the file it is from.
#[derive(Clone, Debug)]
pub struct Sample {
    pub path: PathBuf,
    pub text: String,
}

/// All sample files, wrong ones among them.
pub fn samples() -> Vec<Sample> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut samples = Vec::new();
    for folder in ["tests/format", "examples", "src/types/catalogue"] {
        collect(&root.join(folder), &mut samples);
    }
    samples.sort_by(|one, other| one.path.cmp(&other.path));
    assert!(!samples.is_empty());
    samples
}

fn collect(folder: &Path, samples: &mut Vec<Sample>) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for path in entries.map(|entry| entry.unwrap().path()) {
        if path.is_dir() {
            collect(&path, samples);
        } else if path.extension().is_some_and(|extension| extension == "withy")
            && let Ok(text) = std::fs::read_to_string(&path)
        {
            samples.push(Sample { path, text });
        }
    }
}

/// How a property is tried: `cases` times, unless `PROPTEST_CASES` says otherwise.
pub fn config(cases: u32) -> ProptestConfig {
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::default() };
    if std::env::var_os("PROPTEST_CASES").is_some() { config } else { ProptestConfig { cases, ..config } }
}

/// A short stretch of one of the samples, cut at lines.
pub fn excerpt() -> impl Strategy<Value = String> {
    (select(samples()), any::<u16>(), 1..30_usize).prop_map(|(sample, from, count)| {
        let lines: Vec<&str> = sample.text.split_inclusive('\n').collect();
        let from = usize::from(from) % lines.len().max(1);
        lines[from.min(lines.len())..].iter().take(count).copied().collect()
    })
}

/// What spoils a text.
pub const SCRAPS: [&str; 70] = [
    "{",
    "}",
    "(",
    ")",
    "[",
    "]",
    ",",
    "\n",
    "\n  ",
    "\n    ",
    " ",
    "#",
    "## doc\n",
    "# note\n",
    "\"",
    "\"text\"",
    "\\",
    ".",
    "..",
    "±",
    "+/-",
    "+-",
    "+",
    "-",
    "*",
    "/",
    "^",
    "%",
    "=",
    "==",
    "!=",
    "<",
    "<=",
    ">",
    ">=",
    ":",
    "µ",
    "Ω",
    "×",
    "−",
    "≤",
    "°C",
    "°",
    "²",
    "\r\n",
    "\u{feff}",
    "\t",
    "1",
    "0.5",
    "1/8",
    "3 mm",
    "+0.2/-0.5",
    "2027-06-30",
    "12\"",
    "$",
    "if",
    "then",
    "else",
    "because",
    "until",
    "as",
    "with",
    "none",
    "accept",
    "expect",
    "heater",
    "let x =",
    "wire y {",
    "use \"a\"",
    "mm",
];

/// A change of a text: what is done, where, and with what.
pub type Change = (u8, u16, u8);

/// Changes of a text.
pub fn change() -> impl Strategy<Value = Change> {
    (0..5_u8, any::<u16>(), any::<u8>())
}

/// Spoils `text` at a place between two characters.
pub fn changed(text: &str, changes: &[Change]) -> String {
    let mut text = text.to_owned();
    for (action, place, scrap) in changes {
        let places: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
        let at = places[usize::from(*place) % places.len()];
        let scrap = SCRAPS[usize::from(*scrap) % SCRAPS.len()];
        let word = |from: usize| text[from..].find([' ', '\n', ',', '(']).map_or(text.len(), |end| from + end);
        let line = |from: usize| text[from..].find('\n').map_or(text.len(), |end| from + end + 1);
        match action {
            0 => text.insert_str(at, scrap),
            1 => text.replace_range(at..word(at), ""),
            2 => text.replace_range(at..line(at), ""),
            3 => text.replace_range(at..word(at), scrap),
            _ => {
                let again = text[at..line(at)].to_owned();
                text.insert_str(at, &again);
            }
        }
    }
    text
}

/// Anything at all: characters, scraps, excerpts.
pub fn soup() -> impl Strategy<Value = String> {
    let scraps = proptest::collection::vec((select(SCRAPS.to_vec()), any::<bool>()), 0..40).prop_map(|scraps| {
        scraps.into_iter().map(|(scrap, blank)| if blank { format!("{scrap} ") } else { scrap.to_owned() }).collect()
    });
    let spoilt =
        (excerpt(), proptest::collection::vec(change(), 0..6)).prop_map(|(text, changes)| changed(&text, &changes));
    prop_oneof![2 => scraps, 3 => spoilt, 1 => any::<String>()]
}
