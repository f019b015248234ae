use crate::text::{Files, Span};

/// A span as it is reported: inside its file, on character borders, with the line and column of its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place<'a> {
    /// The file's name in reports.
    pub path: &'a str,
    /// Offset of the first byte.
    pub start: usize,
    /// Offset just past the last byte.
    pub end: usize,
    /// Line of the start, from 1.
    pub line: usize,
    /// Column of the start in characters, from 1.
    pub column: usize,
}

impl<'a> Place<'a> {
    /// The place of `span`. A byte order mark takes no column, because no editor shows one.
    pub fn of(span: Span, files: &'a Files) -> Self {
        let file = files.get(span.file);
        let text = file.text();
        let (start, end) = fit(span, text);
        let line = file.lines().line_of(u32::try_from(start).unwrap_or(u32::MAX));
        let before = text.get(file.lines().start(line) as usize..start).unwrap_or("");
        let marks = usize::from(line == 0 && before.starts_with(BYTE_ORDER_MARK));
        Self { path: file.path(), start, end, line: line + 1, column: before.chars().count() - marks + 1 }
    }

    /// The place just after `span`.
    pub fn after(span: Span, files: &'a Files) -> Self {
        let (_, end) = fit(span, files.get(span.file).text());
        let end = u32::try_from(end).unwrap_or(u32::MAX);
        Self::of(Span::new(span.file, end, end), files)
    }
}

/// What some editors write before the text of a file.
pub(super) const BYTE_ORDER_MARK: char = '\u{feff}';

/// The bytes of `span` widened to whole characters of `text` and cut at its end.
pub(super) fn fit(span: Span, text: &str) -> (usize, usize) {
    let start = text.floor_char_boundary(span.start as usize);
    let end = text.ceil_char_boundary(span.end as usize).max(start);
    (start, end)
}

#[cfg(test)]
mod tests {
    use super::Place;
    use crate::text::{Files, SourceFile, Span};

    #[test]
    fn spans_are_cut_to_whole_characters_of_the_file() {
        let mut files = Files::new();
        let file = files.add(SourceFile::new("a.withy", "\u{feff}µ x\nΩ"));
        let columns = |start, end| {
            let place = Place::of(Span::new(file, start, end), &files);
            (place.start, place.end, place.line, place.column)
        };
        assert_eq!(columns(0, 0), (0, 0, 1, 1), "at the byte order mark");
        assert_eq!(columns(3, 5), (3, 5, 1, 1), "the first character after it");
        assert_eq!(columns(4, 4), (3, 5, 1, 1), "in the middle of a character");
        assert_eq!(columns(6, 7), (6, 7, 1, 3));
        assert_eq!(columns(8, 99), (8, 10, 2, 1), "past the end");
        assert_eq!(columns(u32::MAX, u32::MAX), (10, 10, 2, 2));
    }
}
