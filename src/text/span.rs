use crate::text::FileId;

/// A half-open range of bytes in one file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file the bytes are in.
    pub file: FileId,
    /// Offset of the first byte.
    pub start: u32,
    /// Offset just past the last byte.
    pub end: u32,
}

impl Span {
    /// The bytes `start..end` of `file`; a reversed range is an empty one at `start`.
    pub fn new(file: FileId, start: u32, end: u32) -> Self {
        Self { file, start, end: end.max(start) }
    }

    /// The smallest span that covers both; `other` must be in the same file, otherwise `self` is returned.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        if self.file != other.file {
            return self;
        }
        Self { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The empty span just after this one.
    #[must_use]
    pub fn after(self) -> Self {
        Self { start: self.end, ..self }
    }

    /// The empty span at this one's start.
    #[must_use]
    pub fn before(self) -> Self {
        Self { end: self.start, ..self }
    }

    /// Whether no byte is covered.
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }

    /// The byte range, for slicing.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}
