use std::ops::Range;

use crate::syntax::Comment;

/// The lines of the formatted text, before the comments at their ends are aligned.
pub struct Lines<'a> {
    text: &'a str,
    /// The code of all lines without their indent, one after the other.
    code: String,
    rows: Vec<Line>,
    /// Columns of the last line so far, indent included.
    pub width: usize,
}

/// One line; its code ends where that of the next begins.
struct Line {
    indent: usize,
    code: usize,
    blank_before: bool,
    /// The comment at its end.
    comment: Option<Comment>,
    /// Whether it may stand in a row of aligned comments.
    alignable: bool,
}

/// A state of [`Lines`] to come back to.
#[derive(Clone, Copy)]
pub struct Mark {
    code: usize,
    width: usize,
}

impl<'a> Lines<'a> {
    /// No lines yet.
    pub fn new(text: &'a str) -> Self {
        let code = String::with_capacity(text.len());
        Self { text, code, rows: Vec::with_capacity(text.len() / 32), width: 0 }
    }

    /// Begins a line.
    pub fn start(&mut self, indent: usize, blank_before: bool) {
        self.rows.push(Line { indent, code: self.code.len(), blank_before, comment: None, alignable: true });
        self.width = indent;
    }

    /// Goes on with the last line.
    pub fn push(&mut self, text: &str) {
        self.code.push_str(text);
        self.width += if text.is_ascii() { text.len() } else { text.chars().count() };
    }

    /// Goes on with a text that is kept as it is, line breaks apart, and `shift` columns of indent.
    pub fn push_raw(&mut self, text: &str, shift: usize) {
        let mut lines = text.split('\n').peekable();
        while let Some(whole) = lines.next() {
            let line = whole.trim_start_matches([' ', '\t', '\r', '\u{feff}']);
            let blanks = whole[..whole.len() - line.len()].chars().filter(|blank| matches!(blank, ' ' | '\t'));
            self.code.extend(blanks.skip(shift));
            if lines.peek().is_none() {
                self.push(line);
            } else {
                self.code.push_str(line.trim_end_matches('\r'));
                self.code.push('\n');
                self.width = 0;
                if let Some(last) = self.rows.last_mut() {
                    last.alignable = false;
                }
            }
        }
    }

    /// Puts a comment behind the last line; false where there is no place for one.
    pub fn trail(&mut self, comment: Comment) -> bool {
        match self.rows.last_mut() {
            Some(last) if last.comment.is_none() && !self.code[last.code..].starts_with('#') => {
                last.comment = Some(comment);
                true
            }
            _ => false,
        }
    }

    /// Whether a comment stands at the end of the last line.
    pub fn has_comment(&self) -> bool {
        self.rows.last().is_some_and(|line| line.comment.is_some())
    }

    /// Puts a comment on a line of its own.
    pub fn push_comment(&mut self, comment: Comment, indent: usize, blank_before: bool) {
        self.start(indent, blank_before);
        self.push(content(self.text, comment));
    }

    /// How many lines there are.
    pub fn count(&self) -> usize {
        self.rows.len()
    }

    /// Whether what was written since there were `count` lines is more than one line.
    pub fn spans_lines(&self, count: usize) -> bool {
        self.rows.len() > count + 1
            || self.rows.get(count).is_some_and(|line| self.code.as_bytes()[line.code..].contains(&b'\n'))
    }

    /// Puts a blank line before line `index`, unless one stands between it and `last`.
    pub fn separate(&mut self, index: usize, last: usize) {
        let Some(lines) = self.rows.get_mut(index..=last) else { return };
        if !lines.iter().any(|line| line.blank_before)
            && let Some(first) = lines.first_mut()
        {
            first.blank_before = true;
        }
    }

    /// Remembers the end of the last line.
    pub fn mark(&self) -> Mark {
        Mark { code: self.code.len(), width: self.width }
    }

    /// Goes back to `mark`, which must lie in the last line.
    pub fn back_to(&mut self, mark: Mark) {
        self.code.truncate(mark.code);
        self.width = mark.width;
    }

    /// The whole text.
    pub fn into_text(self) -> String {
        let mut out = String::with_capacity(self.code.len() + self.text.len() / 2 + self.rows.len());
        let mut row = 0..0;
        let mut column = None;
        for (index, line) in self.rows.iter().enumerate() {
            if line.blank_before {
                out.push('\n');
            }
            (0..line.indent).for_each(|_| out.push(' '));
            out.push_str(self.code_of(index));
            if let Some(comment) = line.comment {
                if !row.contains(&index) {
                    row = self.row(index);
                    column = self.common_column(row.clone());
                }
                let pad = column.map_or(2, |column| column - self.width_of(index));
                (0..pad).for_each(|_| out.push(' '));
                out.push_str(content(self.text, comment));
            }
            out.push('\n');
        }
        out
    }

    fn code_of(&self, index: usize) -> &str {
        let end = self.rows.get(index + 1).map_or(self.code.len(), |next| next.code);
        &self.code[self.rows[index].code..end]
    }

    fn width_of(&self, index: usize) -> usize {
        self.rows[index].indent + self.code_of(index).chars().count()
    }

    /// The neighbouring lines of one block from `first` on.
    fn row(&self, first: usize) -> Range<usize> {
        let indent = self.rows[first].indent;
        let belongs = |line: &&Line| line.alignable && line.indent == indent && !line.blank_before;
        let rest = self.rows[first + 1..].iter().take_while(belongs).count();
        first..first + 1 + if self.rows[first].alignable { rest } else { 0 }
    }

    /// The column of the row's comments, if they were aligned in the source.
    fn common_column(&self, row: Range<usize>) -> Option<usize> {
        let commented = || row.clone().filter_map(|index| Some((index, self.rows[index].comment?)));
        let mut columns = commented().map(|(_, comment)| self.source_column(comment));
        let first = columns.next()?;
        let aligned = commented().nth(1).is_some() && columns.all(|column| column == first);
        aligned.then(|| commented().map(|(index, _)| self.width_of(index)).max().unwrap_or(0) + 2)
    }

    fn source_column(&self, comment: Comment) -> usize {
        let before = self.text.get(..comment.span.start as usize).unwrap_or("");
        let line = before.rfind('\n').map_or(0, |end| end + 1);
        before[line..].chars().count()
    }
}

/// A comment without the blanks at its end.
pub fn content(text: &str, comment: Comment) -> &str {
    trimmed(text.get(comment.span.range()).unwrap_or(""))
}

/// A line without the blanks at its end.
pub fn trimmed(line: &str) -> &str {
    line.trim_end_matches([' ', '\t', '\r', '\u{feff}'])
}
