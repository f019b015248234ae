use std::ops::Range;

use logos::Logos;

use crate::syntax::Kind;
use crate::text::{ChangedLines, FileId, Span};

/// All tokens of one text, in order. Nothing is lost: between two neighbours lie only blanks.
///
/// Tokens that carry meaning and comments are kept in two lists, since the parser reads only the first.
#[derive(Clone, Debug)]
pub struct TokenTable {
    file: FileId,
    kinds: Vec<Kind>,
    bounds: Vec<(u32, u32)>,
    /// The column of a token that is the first on its line; [`WITHIN`] for all others.
    columns: Vec<u16>,
    comments: Vec<Comment>,
    length: u32,
}

/// Stands for no column: further to the right, lines are taken to begin at the one before it.
const WITHIN: u16 = u16::MAX;

/// A comment and how it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comment {
    /// From the `#` to the end of the line.
    pub span: Span,
    /// Whether it is a doc comment (`##`).
    pub doc: bool,
    /// Whether nothing, or only commas, stands before it on its line.
    pub alone: bool,
    /// The number of meaningful tokens before it.
    pub before: u32,
}

impl TokenTable {
    /// Cuts `text` into tokens. Every text can be cut.
    pub fn new(file: FileId, text: &str) -> Self {
        let guess = text.len() / 5;
        let mut table = Self {
            file,
            kinds: Vec::with_capacity(guess),
            bounds: Vec::with_capacity(guess),
            columns: Vec::with_capacity(guess),
            comments: Vec::new(),
            length: offset(text.len()),
        };
        table.cut(text, 0..text.len());
        table
    }

    /// Cuts some lines of a text into tokens; no token reaches from one line into the next.
    fn cut(&mut self, text: &str, lines: Range<usize>) {
        let from = lines.start;
        let (mut fresh_line, mut lone) = (true, true);
        let mut line_start = offset(from);
        let mut lexer = Kind::lexer(text.get(lines).unwrap_or(""));
        while let Some(kind) = lexer.next() {
            let range = lexer.span();
            let (start, end) = (offset(from + range.start), offset(from + range.end));
            match kind.unwrap_or(Kind::Stray) {
                Kind::LineBreak => {
                    (fresh_line, lone) = (true, true);
                    line_start = end;
                }
                kind @ (Kind::Comment | Kind::DocComment) => {
                    self.comments.push(Comment {
                        span: Span::new(self.file, start, without_returns(text, start, end)),
                        doc: kind == Kind::DocComment,
                        alone: lone,
                        before: offset(self.kinds.len()),
                    });
                }
                kind => {
                    let end = if kind == Kind::OpenText { without_returns(text, start, end) } else { end };
                    let indent = fresh_line.then(|| columns(text, line_start, start));
                    self.push(kind, start, end, indent, text);
                    fresh_line = false;
                    lone &= kind == Kind::Comma;
                }
            }
        }
    }

    /// Makes the table that of `text`, which differs from the text before in some lines.
    pub fn renew(&mut self, text: &str, lines: &ChangedLines) {
        let first = self.bounds.partition_point(|bounds| bounds.0 < lines.start);
        let behind = self.bounds.partition_point(|bounds| bounds.0 < lines.old_end);
        let (kinds, mut bounds) = (self.kinds.split_off(behind), self.bounds.split_off(behind));
        let columns = self.columns.split_off(behind);
        let mut comments =
            self.comments.split_off(self.comments.partition_point(|comment| comment.span.start < lines.old_end));
        self.kinds.truncate(first);
        self.bounds.truncate(first);
        self.columns.truncate(first);
        self.comments.truncate(self.comments.partition_point(|comment| comment.span.start < lines.start));
        self.length = offset(text.len());
        self.cut(text, lines.start as usize..lines.new_end as usize);
        let tokens = (behind, self.kinds.len());
        for (start, end) in &mut bounds {
            (*start, *end) = (lines.moved(*start), lines.moved(*end));
        }
        for comment in &mut comments {
            comment.span = lines.moved_span(comment.span);
            comment.before = offset(comment.before as usize - tokens.0 + tokens.1);
        }
        self.kinds.extend(kinds);
        self.bounds.extend(bounds);
        self.columns.extend(columns);
        self.comments.extend(comments);
    }

    fn push(&mut self, kind: Kind, start: u32, end: u32, indent: Option<u32>, text: &str) {
        let glued = indent.is_none() && self.bounds.last().is_some_and(|last| last.1 == start);
        let previous = self.kinds.last().copied();
        // A run of stray characters is one fault, not one for each.
        if kind == Kind::Stray && glued && previous == Some(Kind::Stray) {
            if let Some(last) = self.bounds.last_mut() {
                last.1 = end;
            }
            return;
        }
        let after_unit =
            glued && matches!(previous, Some(Kind::Word | Kind::CloseParen | Kind::Percent | Kind::DegreeSign));
        let before_unit = || {
            let next = text.get(end as usize..).and_then(|rest| rest.chars().next());
            next.is_some_and(|next| next.is_alphabetic() || matches!(next, '(' | '°' | '℃' | '℉'))
        };
        let kind = match kind {
            Kind::OpenParen if glued && previous == Some(Kind::Word) => Kind::CallParen,
            Kind::OpenBracket if glued && previous == Some(Kind::Word) => Kind::IndexBracket,
            Kind::Slash if after_unit && before_unit() => Kind::UnitSlash,
            Kind::Star if after_unit && before_unit() => Kind::UnitStar,
            kind => kind,
        };
        self.kinds.push(kind);
        self.bounds.push((start, end));
        let column = indent.map_or(WITHIN, |indent| u16::try_from(indent).unwrap_or(WITHIN - 1).min(WITHIN - 1));
        self.columns.push(column);
    }

    /// The file the tokens are of.
    pub fn file(&self) -> FileId {
        self.file
    }

    /// The number of tokens that carry meaning.
    pub fn len(&self) -> usize {
        self.kinds.len()
    }

    /// Whether no token carries meaning.
    pub fn is_empty(&self) -> bool {
        self.kinds.is_empty()
    }

    /// The kinds of the tokens that carry meaning.
    pub fn kinds(&self) -> &[Kind] {
        count_read();
        &self.kinds
    }

    /// The bytes of token `index`; past the last token, the end of the text.
    pub fn span(&self, index: usize) -> Span {
        count_read();
        let (start, end) = self.bounds.get(index).copied().unwrap_or((self.length, self.length));
        Span::new(self.file, start, end)
    }

    /// The bytes from the first to the last token of a range; of an empty range, the place where it lies.
    pub fn cover(&self, tokens: Range<usize>) -> Span {
        if tokens.is_empty() {
            let before = tokens.start.checked_sub(1).map_or(0, |index| self.span(index).end);
            return Span::new(self.file, before, before);
        }
        self.span(tokens.start).to(self.span(tokens.end - 1))
    }

    /// The column (spaces and tabulators, from 0) of a token that is the first on its line; none for all others.
    pub fn indent(&self, index: usize) -> Option<u32> {
        count_read();
        self.columns.get(index).filter(|column| **column != WITHIN).map(|column| u32::from(*column))
    }

    /// The comments above or between some tokens; those below the last token of a file go with it.
    pub fn comments_of(&self, tokens: &Range<usize>) -> &[Comment] {
        count_read();
        let from = self.comments.partition_point(|comment| (comment.before as usize) < tokens.start);
        let to = self.comments.partition_point(|comment| (comment.before as usize) < tokens.end);
        let to = if tokens.end >= self.len() { self.comments.len() } else { to };
        self.comments.get(from..to).unwrap_or(&[])
    }

    /// The first of the commas right before a token, else the token itself: a comma that ends nothing may stand between
    /// a doc comment and what it is about.
    pub fn before_commas(&self, index: usize) -> usize {
        index - self.kinds[..index].iter().rev().take_while(|kind| **kind == Kind::Comma).count()
    }

    /// Where a token begins, or the first of the comments and commas above it.
    pub fn head(&self, index: usize) -> u32 {
        let index = self.before_commas(index);
        let first = self.comments.partition_point(|comment| (comment.before as usize) < index);
        let comment = self.comments.get(first).map_or(u32::MAX, |comment| comment.span.start);
        comment.min(self.span(index).start)
    }

    /// The comments, in order.
    pub fn comments(&self) -> &[Comment] {
        count_read();
        &self.comments
    }
}

/// Spaces and tabulators between the start of a line and its first token; other blanks, such as a byte order mark,
/// take no room.
fn columns(text: &str, line_start: u32, token: u32) -> u32 {
    let blanks = text.as_bytes().get(line_start as usize..token as usize).unwrap_or(&[]);
    offset(blanks.iter().filter(|byte| matches!(byte, b' ' | b'\t')).count())
}

/// The end of a token that runs to the end of its line: the `\r` of a line that ends in `\r\n` belongs to the
/// line break.
fn without_returns(text: &str, start: u32, end: u32) -> u32 {
    let token = text.get(start as usize..end as usize).unwrap_or("");
    start + offset(token.trim_end_matches('\r').len())
}

#[cfg(test)]
thread_local! {
    /// How often a table was read on this thread. Tests hold it against the length of a text: work can be counted
    /// where time cannot be trusted.
    pub static READS: std::cell::Cell<u64> = const { std::cell::Cell::new(0) };
}

#[inline]
fn count_read() {
    #[cfg(test)]
    READS.with(|reads| reads.set(reads.get() + 1));
}

/// Offsets are 32 bits wide; the library refuses larger files before they come here.
fn offset(bytes: usize) -> u32 {
    u32::try_from(bytes).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::TokenTable;
    use crate::syntax::Kind;
    use crate::text::FileId;

    fn kinds(text: &str) -> Vec<Kind> {
        TokenTable::new(FileId(0), text).kinds().to_vec()
    }

    #[test]
    fn glue_tells_calls_and_units_from_operators() {
        use Kind as K;
        assert_eq!(kinds("x(x ("), [K::Word, K::CallParen, K::Word, K::OpenParen]);
        assert_eq!(kinds("x[x ["), [K::Word, K::IndexBracket, K::Word, K::OpenBracket]);
        assert_eq!(
            kinds("W/m W / m W/2"),
            [K::Word, K::UnitSlash, K::Word, K::Word, K::Slash, K::Word, K::Word, K::Slash, K::Number]
        );
        assert_eq!(
            kinds("W/(m·K)"),
            [K::Word, K::UnitSlash, K::OpenParen, K::Word, K::UnitStar, K::Word, K::CloseParen]
        );
        assert_eq!(kinds("°C/min"), [K::DegreeSign, K::UnitSlash, K::Word]);
        assert_eq!(kinds("min/°C"), [K::Word, K::UnitSlash, K::DegreeSign]);
    }

    #[test]
    fn look_alikes_are_what_they_look_like() {
        use Kind as K;
        assert_eq!(kinds("µm kΩ m² K"), [K::Word; 4]);
        assert_eq!(kinds("3 × 2 · 1"), [K::Number, K::Star, K::Number, K::Star, K::Number]);
        assert_eq!(
            kinds("a − b ≤ ≥ ≠ ± +/- +-"),
            [
                K::Word,
                K::Minus,
                K::Word,
                K::LessOrEqual,
                K::GreaterOrEqual,
                K::NotEqualTo,
                K::PlusMinus,
                K::PlusMinus,
                K::PlusMinus
            ]
        );
    }

    #[test]
    fn indent_counts_spaces_and_tabulators_of_first_tokens() {
        let table = TokenTable::new(FileId(0), "\u{feff} a b\r\n\t\r c\n");
        assert_eq!([0, 1, 2, 3].map(|index| table.indent(index)), [Some(1), None, Some(2), None]);
    }

    #[test]
    fn carriage_returns_belong_to_no_comment_and_no_text() {
        let text = "a \"b\r\r\n# c\r\n";
        let table = TokenTable::new(FileId(0), text);
        assert_eq!(&text[table.span(1).range()], "\"b");
        assert_eq!(&text[table.comments()[0].span.range()], "# c");
    }

    #[test]
    fn a_comment_after_nothing_but_commas_stands_alone() {
        let table = TokenTable::new(FileId(0), "a # 1\n, # 2\n# 3\nb, # 4\n");
        let alone: Vec<bool> = table.comments().iter().map(|comment| comment.alone).collect();
        assert_eq!(alone, [false, true, true, false]);
    }
}
