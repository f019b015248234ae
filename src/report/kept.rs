use std::cmp::Ordering;

use crate::report::{Acceptance, Diagnostic, Subject};
use crate::text::Span;

/// What is kept of a finding until everything is checked: all of it, or only what will be shown, since in a large library
/// the words of all findings would fill the memory.
pub trait Kept: Sized {
    /// What kind of finding it is.
    fn subject(&self) -> Subject;
    /// The places that it names, the primary one first; those of its edits are left out.
    fn places(&self) -> impl Iterator<Item = Span>;
    /// The same, accepted; none where nobody wants to hear of it any more.
    fn accepted(self, acceptance: Acceptance) -> Option<Self>;
    /// Names another place.
    #[must_use]
    fn also(self, place: Span, text: &str) -> Self;
    /// The order of two of one subject at one place.
    fn by_words(&self, other: &Self) -> Ordering;
}

impl Kept for Diagnostic {
    fn subject(&self) -> Subject {
        self.subject
    }

    fn places(&self) -> impl Iterator<Item = Span> {
        self.labels.iter().map(|label| label.span)
    }

    fn accepted(mut self, acceptance: Acceptance) -> Option<Self> {
        self.accepted = Some(acceptance);
        Some(self)
    }

    fn also(self, place: Span, text: &str) -> Self {
        Self::also(self, place, text)
    }

    fn by_words(&self, other: &Self) -> Ordering {
        // What follows the headline rarely matters and has no natural order; the printed form holds every field, and unlike
        // comparison it finds a figure that is not a number equal to itself.
        self.headline.cmp(&other.headline).then_with(|| format!("{self:?}").cmp(&format!("{other:?}")))
    }
}
