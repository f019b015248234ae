use lsp_types::{Position, PositionEncodingKind, Range};
use memchr::memchr2_iter;

use crate::text::{FileId, Span};

/// What the column of a position counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// Units of UTF-16, which every client knows.
    Utf16,
}

impl Encoding {
    /// Its name in the protocol.
    pub fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
        }
    }

    fn width(self, character: char) -> usize {
        match self {
            Self::Utf8 => character.len_utf8(),
            Self::Utf16 => character.len_utf16(),
        }
    }
}

/// The lines of a text as the protocol counts them: `\n`, `\r\n` and a lone `\r` end one.
#[derive(Clone, Debug)]
pub struct Lines<'t> {
    text: &'t str,
    starts: Vec<u32>,
    encoding: Encoding,
}

impl<'t> Lines<'t> {
    /// Of a text, with columns in this encoding.
    pub fn new(text: &'t str, encoding: Encoding) -> Self {
        let bytes = text.as_bytes();
        let ends = memchr2_iter(b'\n', b'\r', bytes);
        let ends = ends.filter(|at| bytes.get(*at) == Some(&b'\n') || bytes.get(at + 1) != Some(&b'\n'));
        let starts = std::iter::once(0).chain(ends.map(|at| small(at + 1))).collect();
        Self { text, starts, encoding }
    }

    /// Where a byte stands; past the end, where the text ends; inside a character, where that begins.
    pub fn position(&self, at: u32) -> Position {
        let at = floor(self.text, at as usize);
        let line = self.starts.partition_point(|start| *start as usize <= at).saturating_sub(1);
        let start = self.starts.get(line).map_or(0, |start| *start as usize);
        let before = self.text.get(start..at).unwrap_or("");
        let column = match self.encoding {
            Encoding::Utf8 => before.len(),
            Encoding::Utf16 => before.chars().map(char::len_utf16).sum(),
        };
        Position { line: small(line), character: small(column) }
    }

    /// The byte at a position; past the end of its line, where that ends; past the last line, where the text ends.
    pub fn byte(&self, position: Position) -> u32 {
        let Some(start) = self.starts.get(position.line as usize).map(|start| *start as usize) else {
            return small(self.text.len());
        };
        let next = self.starts.get(position.line as usize + 1).map_or(self.text.len(), |next| *next as usize);
        let line = self.text.get(start..next).unwrap_or("").trim_end_matches(['\n', '\r']);
        let mut column = 0;
        for (at, character) in line.char_indices() {
            let width = self.encoding.width(character);
            // A column inside a character is where that begins.
            if column + width > position.character as usize {
                return small(start + at);
            }
            column += width;
        }
        small(start + line.len())
    }

    /// Where a span stands.
    pub fn range(&self, span: Span) -> Range {
        Range { start: self.position(span.start), end: self.position(span.end) }
    }

    /// The span of a range; a reversed one is empty at its start.
    pub fn span(&self, file: FileId, range: Range) -> Span {
        Span::new(file, self.byte(range.start), self.byte(range.end))
    }
}

fn floor(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Texts are smaller than 4 GB: the library refuses others before they come here.
fn small(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use lsp_types::Position;
    use proptest::prelude::{prop_assert, prop_assert_eq, proptest};

    use super::{Encoding, Lines};

    fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn columns_count_units_of_the_encoding() {
        // `µ` and `°` take two bytes and one unit of UTF-16, `Ω` (ohm sign) three and one, `𝛺` four and two.
        let text = "a\nµ ° \u{2126} 𝛺 x\r\nb\rc";
        let x = u32::try_from(text.find('x').unwrap()).unwrap();
        let (wide, bytes) = (Lines::new(text, Encoding::Utf16), Lines::new(text, Encoding::Utf8));
        assert_eq!((wide.position(x), bytes.position(x)), (at(1, 9), at(1, 15)));
        assert_eq!((wide.byte(at(1, 9)), bytes.byte(at(1, 15))), (x, x));
        assert_eq!(wide.byte(at(1, 7)), x - 5, "inside a pair is where the pair begins");
        assert_eq!(bytes.byte(at(1, 1)), 2, "inside a character is where it begins");
        assert_eq!(wide.byte(at(1, 99)), x + 1, "past the end of a line is its end, before the line break");
        assert_eq!(wide.byte(at(99, 0)), u32::try_from(text.len()).unwrap());
        assert_eq!(wide.position(u32::MAX), at(3, 1));
        assert_eq!(wide.byte(at(3, 0)), u32::try_from(text.find('c').unwrap()).unwrap(), "a lone return ends a line");
    }

    proptest! {
        #[test]
        fn positions_lead_back_to_their_byte(text in "([a-cµ°\u{2126}𝛺]{0,4}(\n|\r\n|\r)?){0,8}") {
            for encoding in [Encoding::Utf8, Encoding::Utf16] {
                let lines = Lines::new(&text, encoding);
                for (byte, character) in text.char_indices() {
                    let byte = u32::try_from(byte).unwrap();
                    let back = lines.byte(lines.position(byte));
                    // The second half of a line break has no column of its own.
                    let inside_break = character == '\n' && text[..byte as usize].ends_with('\r');
                    prop_assert_eq!(back, if inside_break { byte - 1 } else { byte });
                }
            }
        }

        #[test]
        fn every_position_is_a_place(text in "([a-cµ𝛺]{0,4}(\n|\r\n|\r)?){0,8}", line in 0..12_u32, column in 0..12_u32) {
            for encoding in [Encoding::Utf8, Encoding::Utf16] {
                let byte = Lines::new(&text, encoding).byte(at(line, column));
                prop_assert!(text.is_char_boundary(byte as usize));
            }
        }
    }
}
