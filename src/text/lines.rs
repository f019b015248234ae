use memchr::memchr_iter;

/// A place for people: line and column, both from 1; the column counts characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Position {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

/// Byte offsets at which the lines of one text begin.
#[derive(Debug)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Finds the lines of `text`; `\n` ends a line, a `\r` before it belongs to the line.
    pub fn new(text: &str) -> Self {
        let ends = memchr_iter(b'\n', text.as_bytes());
        let starts = std::iter::once(0).chain(ends.map(|at| u32::try_from(at + 1).unwrap_or(u32::MAX))).collect();
        Self { starts }
    }

    /// The number of lines; a text that ends in a line break has an empty last line.
    pub fn count(&self) -> usize {
        self.starts.len()
    }

    /// The line (from 0) that holds the byte at `offset`.
    pub fn line_of(&self, offset: u32) -> usize {
        self.starts.partition_point(|start| *start <= offset) - 1
    }

    /// The offset of a line's first byte; past the last line, the last line's.
    pub fn start(&self, line: usize) -> u32 {
        self.starts[line.min(self.starts.len() - 1)]
    }

    /// Line and column of `offset` in `text`, which must be the text the index was made from.
    pub fn position(&self, text: &str, offset: u32) -> Position {
        let line = self.line_of(offset);
        let before = text.get(self.starts[line] as usize..offset as usize).unwrap_or("");
        let column = before.chars().count() + 1;
        Position {
            line: u32::try_from(line + 1).unwrap_or(u32::MAX),
            column: u32::try_from(column).unwrap_or(u32::MAX),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::LineIndex;

    #[test]
    fn columns_count_characters_not_bytes() {
        let text = "a\nµ ° x\r\n";
        let lines = LineIndex::new(text);
        let x = u32::try_from(text.find('x').unwrap()).unwrap();
        let at = lines.position(text, x);
        assert_eq!((at.line, at.column), (2, 5));
        assert_eq!(lines.count(), 3);
    }
}
