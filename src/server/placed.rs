//! Findings as the server keeps them: the words of one stay as they are while its places move along with what is typed.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde_json::value::{RawValue, to_raw_value};
use smallvec::SmallVec;

use crate::report::{Acceptance, Change, Diagnostic, Edit, Kept, Label, Subject, message};
use crate::text::{ChangedLines, FileId, Follows, Span};

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

/// A finding that somebody has to do something about, with where its places are now. A clone shares what does not move.
#[derive(Clone, Debug)]
pub struct Placed {
    fixed: Arc<Fixed>,
    /// One for each label; none where what it pointed at is gone.
    places: SmallVec<[Option<Span>; 2]>,
    /// Whether it has edits, and the text is still the one that they were made for.
    has_edits: bool,
}

/// What stays as it is. Figures, notes and helps are in the message only: in a large library there are many.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Fixed {
    subject: Subject,
    /// What is said about each of its places.
    remarks: SmallVec<[Box<str>; 2]>,
    edits: Vec<Edit>,
    message: Message,
}

/// A message as it is written in JSON: most of what a client is sent, and the same at each keystroke.
#[derive(Clone, Debug)]
struct Message(Box<RawValue>);

impl PartialEq for Message {
    fn eq(&self, other: &Self) -> bool {
        self.0.get() == other.0.get()
    }
}

impl Eq for Message {}

impl PartialOrd for Message {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Message {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.get().cmp(other.0.get())
    }
}

/// Words that are known, since in a library many findings have the same ones.
#[derive(Debug, Default)]
pub struct Words(BTreeSet<Arc<Fixed>>);

impl Words {
    /// The one that is known already, else this one, which is then.
    fn known(&mut self, new: Fixed) -> Arc<Fixed> {
        if let Some(known) = self.0.get(&new) {
            return Arc::clone(known);
        }
        let new = Arc::new(new);
        self.0.insert(Arc::clone(&new));
        new
    }

    /// Forgets the words that no finding has any more.
    pub fn forget_unused(&mut self) {
        self.0.retain(|fixed| Arc::strong_count(fixed) > 1);
    }
}

impl Placed {
    /// Where it was found.
    pub fn new(finding: Diagnostic) -> Self {
        Self::sharing(finding, &mut Words::default())
    }

    /// The same, with the words of another finding that has the same ones.
    pub fn sharing(finding: Diagnostic, words: &mut Words) -> Self {
        // A text can always be written.
        let message = Message(to_raw_value(&message(&finding)).unwrap_or_else(|_| RawValue::NULL.to_owned()));
        let Diagnostic { subject, labels, edits, .. } = finding;
        let places = labels.iter().map(|label| Some(label.span)).collect();
        let remarks = labels.into_iter().map(|label| label.text.into_boxed_str()).collect();
        let has_edits = !edits.is_empty();
        Self { fixed: words.known(Fixed { subject, remarks, edits, message }), places, has_edits }
    }

    /// The finding where it is now, but for what only its message tells.
    pub fn bare(&self) -> Diagnostic {
        let labels = self.fixed.remarks.iter().zip(&self.places).enumerate();
        Diagnostic {
            subject: self.fixed.subject,
            headline: String::new(),
            labels: labels
                .filter_map(|(number, (remark, place))| {
                    Some(Label { span: (*place)?, text: remark.to_string(), primary: number == 0 })
                })
                .collect(),
            figures: Vec::new(),
            notes: Vec::new(),
            helps: Vec::new(),
            edits: if self.has_edits { self.fixed.edits.clone() } else { Vec::new() },
            accepted: None,
            known: false,
        }
    }

    /// What kind of finding it is.
    pub fn subject(&self) -> Subject {
        self.fixed.subject
    }

    /// Where the fault itself is.
    pub fn primary(&self) -> Option<Span> {
        self.places.first().copied().flatten()
    }

    /// Whether the fault itself is in this file.
    pub fn is_in(&self, file: FileId) -> bool {
        self.primary().is_some_and(|place| place.file == file)
    }

    /// The other places that are still there, with what is said about each.
    pub fn others(&self) -> impl Iterator<Item = (Span, &str)> {
        let all = self.fixed.remarks.iter().zip(&self.places).skip(1);
        all.filter_map(|(remark, place)| Some(((*place)?, &**remark)))
    }

    /// Whether it has a place in a file, or an edit of it.
    pub fn concerns(&self, file: FileId) -> bool {
        let mut changed = self.fixed.edits.iter().flat_map(|edit| &edit.changes);
        self.places.iter().flatten().any(|place| place.file == file)
            || self.has_edits && changed.any(|change| change.span.file == file)
    }

    /// The message as it is written in JSON.
    pub fn message(&self) -> &RawValue {
        &self.fixed.message.0
    }

    /// Whether a client is shown the same.
    pub fn looks_like(&self, other: &Self) -> bool {
        let (one, two) = (&self.fixed, &other.fixed);
        let same = || one.subject == two.subject && one.remarks == two.remarks && one.message == two.message;
        self.places == other.places && (Arc::ptr_eq(one, two) || same())
    }

    /// What tells a fault from others, though two findings may tell more or less about it.
    pub fn fault(&self) -> (Subject, &[Option<Span>]) {
        (self.fixed.subject, &self.places)
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

impl Kept for Placed {
    fn subject(&self) -> Subject {
        self.fixed.subject
    }

    fn places(&self) -> impl Iterator<Item = Span> {
        self.places.iter().copied().flatten()
    }

    fn accepted(self, _acceptance: Acceptance) -> Option<Self> {
        None
    }

    fn also(mut self, place: Span, text: &str) -> Self {
        self.places.push(Some(place));
        Arc::make_mut(&mut self.fixed).remarks.push(text.into());
        self
    }

    fn by_words(&self, other: &Self) -> Ordering {
        let (one, two) = (&self.fixed, &other.fixed);
        one.message.cmp(&two.message).then_with(|| one.cmp(two)).then_with(|| self.places.cmp(&other.places))
    }
}

impl Follows for Placed {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        let moves = |change: &Change| change.span.file == file && change.span.end >= lines.start;
        let has_moving_edits = self.fixed.edits.iter().flat_map(|edit| &edit.changes).any(moves);
        self.places.follow(file, lines)
            && (!has_moving_edits || Arc::make_mut(&mut self.fixed).edits.follow(file, lines))
    }
}

#[cfg(test)]
mod tests {
    use super::{Placed, Replaced, Words};
    use crate::report::{Class, Diagnostic, Subject};
    use crate::text::{FileId, Span};

    fn finding() -> Diagnostic {
        let span = |start, end| Span::new(FileId(3), start, end);
        let finding = Diagnostic::error("a", span(10, 14), "headline").here("here").also(span(2, 4), "there");
        finding.also(Span::new(FileId(4), 0, 9), "elsewhere").edit("mend", span(10, 14), "x").note("a note")
    }

    #[test]
    fn findings_move_along_with_their_text() {
        let step = |start, end, length| {
            let mut placed = Placed::new(finding());
            let stays = placed.move_along(FileId(3), &Replaced { start, end, length });
            let finding = placed.bare();
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
        let (finding, placed) = (finding(), Placed::new(finding()));
        let bare = placed.bare();
        assert_eq!((bare.subject, &bare.labels, &bare.edits), (finding.subject, &finding.labels, &finding.edits));
        assert_eq!(bare.edits.len(), 1);
        assert_eq!(placed.message().get(), r#""headline\nhere\na note""#);
    }

    #[test]
    fn what_a_client_is_shown_tells_two_apart() {
        let (one, mut moved) = (Placed::new(finding()), Placed::new(finding()));
        assert!(one.looks_like(&moved) && moved.looks_like(&one), "two with the same words");
        assert!(moved.move_along(FileId(3), &Replaced { start: 5, end: 5, length: 1 }));
        assert!(!one.looks_like(&moved), "at another place");
        let changes: [fn(&mut Diagnostic); 3] = [
            |finding| finding.notes[0].push('!'),
            |finding| finding.labels[1].text.push('!'),
            |finding| finding.subject = Subject::Rule("a", Class::Notice),
        ];
        for change in changes {
            let mut other = finding();
            change(&mut other);
            assert!(!one.looks_like(&Placed::new(other)));
        }
    }

    #[test]
    fn findings_with_one_message_share_it() {
        let mut words = Words::default();
        let (one, two) = (Placed::sharing(finding(), &mut words), Placed::sharing(finding(), &mut words));
        assert!(std::ptr::eq(one.message(), two.message()));
    }
}
