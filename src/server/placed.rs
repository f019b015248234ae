//! Findings as the server keeps them: the words of one stay as they are while its places move along with what is typed.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use serde_json::value::{RawValue, to_raw_value};
use smallvec::SmallVec;

use crate::report::{Diagnostic, Label, message};
use crate::text::{FileId, Span};

/// A stretch of a text that was replaced.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replaced {
    /// Its first byte.
    pub start: u32,
    /// Just past its last byte, before.
    pub end: u32,
    /// How long it is now.
    pub length: u32,
}

/// A finding with where its places are now. A clone shares its words.
#[derive(Clone, Debug)]
pub struct Placed {
    words: Arc<Words>,
    /// One for each label; none where what it pointed at is gone.
    places: SmallVec<[Option<Span>; 2]>,
    /// Whether the text is still the one that its edits were made for.
    has_edits: bool,
}

#[derive(Debug)]
struct Words {
    finding: Diagnostic,
    /// The message as it is written in JSON: most of what a client is sent, and the same at each keystroke.
    message: OnceLock<Box<RawValue>>,
}

impl Placed {
    /// Where it was found.
    pub fn new(finding: Diagnostic) -> Self {
        let places = finding.labels.iter().map(|label| Some(label.span)).collect();
        Self { words: Arc::new(Words { finding, message: OnceLock::new() }), places, has_edits: true }
    }

    /// The finding with the places that it was found at: for what does not change when it moves.
    pub fn as_found(&self) -> &Diagnostic {
        &self.words.finding
    }

    /// The finding as it would be found now.
    pub fn finding(&self) -> Diagnostic {
        let mut finding = self.words.finding.clone();
        let labels = finding.labels.into_iter().zip(&self.places);
        finding.labels = labels.filter_map(|(label, place)| Some(Label { span: (*place)?, ..label })).collect();
        if !self.has_edits {
            finding.edits.clear();
        }
        finding
    }

    /// Where the fault itself is.
    pub fn primary(&self) -> Option<Span> {
        self.places.first().copied().flatten()
    }

    /// Whether somebody has to do something about it.
    pub fn is_open(&self) -> bool {
        self.words.finding.is_open()
    }

    /// Whether that is in this file.
    pub fn is_open_in(&self, file: FileId) -> bool {
        self.is_open() && self.primary().is_some_and(|place| place.file == file)
    }

    /// The other places that are still there, with what is said about each.
    pub fn others(&self) -> impl Iterator<Item = (Span, &str)> {
        let labels = self.words.finding.labels.iter().zip(&self.places).skip(1);
        labels.filter_map(|(label, place)| Some(((*place)?, label.text.as_str())))
    }

    /// Whether it has a place in a file, or an edit of it.
    pub fn concerns(&self, file: FileId) -> bool {
        let mut changed = self.words.finding.edits.iter().flat_map(|edit| &edit.changes);
        self.places.iter().flatten().any(|place| place.file == file)
            || self.has_edits && changed.any(|change| change.span.file == file)
    }

    /// Keeps the message as it is written, for a finding that will be sent again and again.
    pub fn word(&self) {
        self.words.message.get_or_init(|| self.written());
    }

    /// The message as it is written in JSON.
    pub fn message(&self) -> Cow<'_, RawValue> {
        match self.words.message.get() {
            Some(message) => Cow::Borrowed(message),
            None => Cow::Owned(self.written()),
        }
    }

    fn written(&self) -> Box<RawValue> {
        // A text can always be written.
        to_raw_value(&message(&self.words.finding)).unwrap_or_else(|_| RawValue::NULL.to_owned())
    }

    /// Whether a client is shown the same.
    pub fn looks_like(&self, other: &Self) -> bool {
        let (one, two) = (&self.words.finding, &other.words.finding);
        let texts = || one.labels.iter().map(|label| &label.text).eq(two.labels.iter().map(|label| &label.text));
        let same_words = || one.subject == two.subject && texts() && self.message().get() == other.message().get();
        self.places == other.places && (Arc::ptr_eq(&self.words, &other.words) || same_words())
    }

    /// Moves it along with a text in which something was replaced; false where that touches its place.
    pub fn move_along(&mut self, file: FileId, replaced: &Replaced) -> bool {
        self.has_edits = false;
        let along = |at: u32| at - replaced.end + replaced.start + replaced.length;
        for place in &mut self.places {
            let Some(span) = place else { continue };
            if span.file != file || span.end <= replaced.start {
                continue;
            }
            if span.start < replaced.end {
                *place = None;
            } else {
                (span.start, span.end) = (along(span.start), along(span.end));
            }
        }
        self.primary().is_some()
    }

    /// Gives its files the numbers of another load; false where one is gone.
    pub fn renumber(&mut self, numbers: &BTreeMap<FileId, FileId>) -> bool {
        self.has_edits = false;
        self.places.iter_mut().flatten().all(|place| {
            let number = numbers.get(&place.file);
            number.map(|number| place.file = *number).is_some()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Placed, Replaced};
    use crate::report::Diagnostic;
    use crate::text::{FileId, Span};

    fn placed() -> Placed {
        let span = |start, end| Span::new(FileId(3), start, end);
        let finding = Diagnostic::error("a", span(10, 14), "headline").also(span(2, 4), "there");
        Placed::new(finding.also(Span::new(FileId(4), 0, 9), "elsewhere").edit("mend", span(10, 14), "x"))
    }

    #[test]
    fn findings_move_along_with_their_text() {
        let step = |start, end, length| {
            let mut placed = placed();
            let stays = placed.move_along(FileId(3), &Replaced { start, end, length });
            let finding = placed.finding();
            assert!(finding.edits.is_empty(), "they were for another text");
            let places: Vec<(u32, u32)> =
                finding.labels.iter().map(|label| (label.span.start, label.span.end)).collect();
            let others: Vec<(u32, u32)> = placed.others().map(|other| (other.0.start, other.0.end)).collect();
            assert!(!stays || places[1..] == others);
            stays.then_some(places)
        };
        assert_eq!(step(5, 5, 3), Some(vec![(13, 17), (2, 4), (0, 9)]));
        assert_eq!(step(0, 2, 0), Some(vec![(8, 12), (0, 2), (0, 9)]));
        assert_eq!(step(14, 20, 1), Some(vec![(10, 14), (2, 4), (0, 9)]));
        assert_eq!(step(3, 5, 2), Some(vec![(10, 14), (0, 9)]), "only the other place is gone");
        assert_eq!(step(9, 11, 2), None);
    }

    #[test]
    fn what_has_not_moved_is_what_was_found() {
        let placed = placed();
        assert_eq!(placed.finding(), *placed.as_found());
        assert_eq!(placed.finding().edits.len(), 1);
    }

    #[test]
    fn what_a_client_is_shown_tells_two_apart() {
        let (one, mut moved) = (placed(), placed());
        one.word();
        assert!(one.looks_like(&moved) && moved.looks_like(&one), "words are compared, whether they are kept or not");
        assert!(moved.move_along(FileId(3), &Replaced { start: 5, end: 5, length: 1 }));
        assert!(!one.looks_like(&moved));
        let mut named = placed().finding();
        named.headline.push('!');
        assert!(!one.looks_like(&Placed::new(named)));
        let mut remarked = placed().finding();
        remarked.labels[1].text.push('!');
        assert!(!one.looks_like(&Placed::new(remarked)));
    }
}
