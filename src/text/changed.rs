//! Where two versions of a text differ.

use std::sync::Arc;

use crate::text::{FileId, Span};

/// The lines in which two versions of a text differ. Before them both are the same, and behind them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChangedLines {
    /// Where the first of the lines begins in both.
    pub start: u32,
    /// Where the lines end in the old version.
    pub old_end: u32,
    /// Where they end in the new one.
    pub new_end: u32,
}

/// Texts are compared in blocks of so many bytes.
const BLOCK: usize = 64;

impl ChangedLines {
    /// Between two versions; none where they are the same.
    pub fn between(old: &str, new: &str) -> Option<Self> {
        let (a, b) = (old.as_bytes(), new.as_bytes());
        let alike = same(a.chunks(BLOCK), b.chunks(BLOCK), |a, b| a.iter().zip(b).take_while(|(a, b)| a == b).count());
        if alike == a.len() && alike == b.len() {
            return None;
        }
        let most = a.len().min(b.len()) - alike;
        let tail = same(a[a.len() - most..].rchunks(BLOCK), b[b.len() - most..].rchunks(BLOCK), |a, b| {
            a.iter().rev().zip(b.iter().rev()).take_while(|(a, b)| a == b).count()
        });
        let start = a[..alike].iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        // The rest of the line in which the difference ends belongs to it.
        let tail = a[a.len() - tail..].iter().position(|byte| *byte == b'\n').map_or(0, |at| tail - at - 1);
        let at = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Some(Self { start: at(start), old_end: at(a.len() - tail), new_end: at(b.len() - tail) })
    }

    /// Where a place behind the lines is in the new version.
    pub fn moved(&self, offset: u32) -> u32 {
        offset - self.old_end + self.new_end
    }

    /// The same for a span.
    pub fn moved_span(&self, span: Span) -> Span {
        Span { start: self.moved(span.start), end: self.moved(span.end), ..span }
    }

    /// Where a span of the old version is in the new one; none where it touches the lines.
    pub fn across(&self, span: Span) -> Option<Span> {
        if span.start >= self.old_end {
            return Some(self.moved_span(span));
        }
        (span.end < self.start).then_some(span)
    }
}

/// What points into texts, and follows them when they are edited.
pub trait Follows {
    /// Moves along with a file of which some lines have changed; false where that touches a place, and then some places
    /// may have moved and others not.
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool;
}

impl Follows for Span {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        if self.file != file {
            return true;
        }
        let moved = lines.across(*self);
        *self = moved.unwrap_or(*self);
        moved.is_some()
    }
}

impl<T: Follows> Follows for Option<T> {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.as_mut().is_none_or(|inner| inner.follow(file, lines))
    }
}

impl<T: Follows> Follows for Box<T> {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.as_mut().follow(file, lines)
    }
}

impl<T: Follows + Clone> Follows for Arc<T> {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        Self::make_mut(self).follow(file, lines)
    }
}

impl<T: Follows> Follows for [T] {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.iter_mut().all(|one| one.follow(file, lines))
    }
}

/// How many bytes are alike at the beginning of two rows of blocks; `within` tells it of two blocks.
fn same<'a>(
    one: impl Iterator<Item = &'a [u8]>,
    other: impl Iterator<Item = &'a [u8]>,
    within: impl Fn(&[u8], &[u8]) -> usize,
) -> usize {
    let mut alike = 0;
    for (one, other) in one.zip(other) {
        if one != other {
            return alike + within(one, other);
        }
        alike += one.len();
    }
    alike
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    use super::ChangedLines;

    proptest! {
        #[test]
        fn both_sides_of_the_lines_are_alike(old in "([ab]|\n){0,90}", new in "([ab]|\n){0,90}", shared in "([ab]|\n){0,200}") {
            let (old, new) = (format!("{shared}{old}{shared}"), format!("{shared}{new}{shared}"));
            let Some(lines) = ChangedLines::between(&old, &new) else {
                prop_assert_eq!(old, new);
                return Ok(());
            };
            let (start, old_end, new_end) = (lines.start as usize, lines.old_end as usize, lines.new_end as usize);
            prop_assert!(start <= old_end && start <= new_end);
            prop_assert_eq!(&old[..start], &new[..start]);
            prop_assert_eq!(&old[old_end..], &new[new_end..]);
            for (text, end) in [(&old, old_end), (&new, new_end)] {
                prop_assert!(start == 0 || text[..start].ends_with('\n'));
                prop_assert!(end == text.len() || text[..end].ends_with('\n'));
            }
        }
    }
}
