use std::collections::BTreeMap;
use std::convert::Infallible;
use std::fmt;
use std::ops::Range;

use ariadne::{Cache, Source};

use crate::report::place::{BYTE_ORDER_MARK, fit};
use crate::report::plain::{plain, stand_in};
use crate::text::{FileId, Files, Span};

/// The texts of the files as the drawing library gets them, each made when it is first needed.
pub(super) struct Sources<'a> {
    files: &'a Files,
    drawn: BTreeMap<FileId, Source<String>>,
}

impl<'a> Sources<'a> {
    /// Nothing made yet.
    pub fn new(files: &'a Files) -> Self {
        Self { files, drawn: BTreeMap::new() }
    }

    /// The files themselves.
    pub fn files(&self) -> &'a Files {
        self.files
    }

    /// The bytes of the drawn text that show `span`. An empty span becomes the character after it, since nothing
    /// can be drawn under no character.
    pub fn range(&self, span: Span) -> (FileId, Range<usize>) {
        let text = self.files.get(span.file).text();
        let (start, end) = fit(span, text);
        let shown = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
        let skipped = text.len() - shown.len();
        let (start, end) = (start.saturating_sub(skipped), end.saturating_sub(skipped));
        let next = shown.ceil_char_boundary(start + 1).max(start + 1);
        (span.file, start..if start == end { next } else { end })
    }
}

impl Cache<FileId> for Sources<'_> {
    type Storage = String;

    fn fetch(&mut self, id: &FileId) -> Result<&Source<String>, impl fmt::Debug> {
        let files = self.files;
        let source = self.drawn.entry(*id).or_insert_with(|| Source::from(drawn(files.get(*id).text())));
        Ok::<_, Infallible>(source)
    }

    fn display<'b>(&self, id: &'b FileId) -> Option<impl fmt::Display + 'b> {
        Some(plain(self.files.get(*id).path()))
    }
}

/// `text` without a byte order mark, with stand-ins for what a terminal would obey, and with one space at the
/// end, which gives the end of the file a character to point at. The library breaks lines at characters that
/// are no line breaks for [`crate::text::LineIndex`]; all of them have stand-ins, so that the line numbers agree.
fn drawn(text: &str) -> String {
    let text = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
    let mut drawn = String::with_capacity(text.len() + 1);
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        let breaks = c == '\n' || c == '\r' && rest.peek() == Some(&'\n');
        drawn.push(if breaks || c == '\t' { c } else { stand_in(c).unwrap_or(c) });
    }
    drawn.push(' ');
    drawn
}

#[cfg(test)]
mod tests {
    use super::drawn;

    #[test]
    fn only_line_feeds_break_lines() {
        let text = drawn("\u{feff}a\r\nb\rc\u{b}d\u{85}e\u{2028}f\tg\n");
        assert_eq!(text, "a\r\nb?c?d¿e\u{fffd}f\tg\n ");
    }
}
