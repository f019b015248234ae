//! Messages that are known to be poor, until they are mended. Whoever finds one writes it here with what is said today;
//! as soon as another message comes, the test asks for the entry to be taken out. An empty list means that none is known.

use std::collections::BTreeMap;

use crate::common::{checked, examples, memory, shown};

/// A text that stands in a file beside the examples, and what is said of it today.
struct Poor {
    text: &'static str,
    said: &'static str,
}

const POOR: [Poor; 0] = [];

/// What is said of a text.
fn said(text: &str) -> Vec<String> {
    let mut library: BTreeMap<String, String> = examples();
    library.insert("parts/poor.withy".to_owned(), text.to_owned());
    let io = memory(&library);
    let (loaded, checked) = checked(&io, &["parts/poor.withy"]);
    checked.findings.iter().map(|finding| shown(&loaded, finding)).collect()
}

/// Entries whose message has changed.
fn mended(list: &[Poor]) -> Vec<&'static str> {
    list.iter().filter(|poor| !said(poor.text).iter().any(|said| said.ends_with(poor.said))).map(|it| it.text).collect()
}

#[test]
fn what_is_listed_as_poor_is_still_said() {
    assert_eq!(mended(&POOR), Vec::<&str>::new(), "mended: take them out of the list");
    // A message that is no longer said would be noticed.
    let list = [
        Poor { text: "let play = 8 mm ± 0.2\n", said: "a length and a plain number do not go together" },
        Poor { text: "let play = 8 mm ± 0.2\n", said: "something is wrong" },
    ];
    assert_eq!(mended(&list), ["let play = 8 mm ± 0.2\n"]);
}
