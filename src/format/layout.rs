use std::ops::Range;

use crate::format::WIDTH;
use crate::format::lines::Lines;
use crate::format::mark::{Mark, Marks, Stretch};
use crate::format::wrap::CONTINUATION;
use crate::syntax::{Block, Comment, Entry, Kind, Parsed, TokenTable};

/// How far a block's entries stand in from the block's own entry.
const STEP: usize = 2;

/// Writes the whole file; never fails.
pub fn lay_out(parsed: &Parsed, text: &str, marks: &Marks) -> String {
    let mut layout = Layout {
        text,
        table: parsed.table(text),
        marks: &marks.marks,
        lines: Lines::new(text),
        token: 0,
        comment: 0,
        written: 0,
        done: 0,
    };
    layout.file(&parsed.tree.entries, &marks.stretches);
    layout.lines.into_text()
}

/// Goes through tokens, comments and tree side by side.
pub struct Layout<'a> {
    pub text: &'a str,
    pub table: &'a TokenTable,
    pub marks: &'a [Mark],
    pub lines: Lines<'a>,
    /// The next token.
    token: usize,
    /// The next comment.
    comment: usize,
    /// The token behind the last one that was written.
    written: usize,
    /// Where the last token or comment that was written ends in the source.
    done: u32,
}

impl Layout<'_> {
    fn file(&mut self, entries: &[Entry], stretches: &[Stretch]) {
        let mut stretches = stretches.iter().peekable();
        let mut entries = entries.iter().peekable();
        let mut previous: Option<bool> = None;
        let mut after_stretch = false;
        loop {
            let before = self.lines.count();
            if stretches.peek().is_none_or(|stretch| stretch.tokens.start != self.token) {
                self.skip_commas();
            }
            let first = if let Some(stretch) = stretches.next_if(|stretch| stretch.tokens.start == self.token) {
                let first = self.begin(0, self.lines.count() == 0, !after_stretch && !stretch.unmatched);
                self.stretch(stretch);
                after_stretch = stretch.unmatched;
                while entries.next_if(|entry| entry.span().start < self.done).is_some() {}
                first
            } else if let Some(entry) = entries.next() {
                let first = self.begin(0, self.lines.count() == 0, !after_stretch);
                self.entry(entry, 0);
                after_stretch = false;
                first
            } else {
                break;
            };
            let spans_lines = self.lines.spans_lines(first);
            if previous.is_some_and(|previous| previous || spans_lines) {
                self.lines.separate(before, first);
            }
            previous = Some(spans_lines);
        }
        self.gap(self.table.len(), 0, self.lines.count() == 0, false);
    }

    /// Entries on lines of their own.
    fn entries(&mut self, entries: &[Entry], indent: usize) {
        for (index, entry) in entries.iter().enumerate() {
            self.skip_commas();
            self.begin(indent, index == 0, true);
            self.entry(entry, indent);
        }
    }

    /// Begins the line of the next token, behind the comments above it; says which line that is.
    fn begin(&mut self, indent: usize, opens: bool, may_need_comma: bool) -> usize {
        let comma = may_need_comma && self.needs_comma();
        let blank = self.gap(self.token, indent, opens, true);
        self.lines.start(indent, blank);
        if comma {
            self.lines.push(", ");
        }
        self.lines.count() - 1
    }

    /// Whether a line break alone would not do for the comma that divides the next token from the entry before.
    fn needs_comma(&self) -> bool {
        let last = self.written.checked_sub(1).filter(|last| last + 1 < self.token);
        let last = last.map(|last| self.table.kinds()[last]);
        let Some(last) = last.filter(|last| !matches!(last, Kind::OpenBrace | Kind::CloseBrace)) else { return false };
        let next = self.table.kinds().get(self.token);
        last.wants_more() || next.is_some_and(|next| next.continues() || *next == Kind::OpenBrace)
    }

    fn entry(&mut self, entry: &Entry, indent: usize) {
        let tokens = self.head_tokens(entry);
        if entry.broken() {
            self.raw(tokens.clone());
        } else {
            self.header(tokens.clone(), indent, if entry.block().is_some() { 2 } else { 0 });
        }
        self.advance(tokens.end);
        if let Some(block) = entry.block() {
            self.block(block, indent, !tokens.is_empty());
        }
    }

    fn block(&mut self, block: &Block, indent: usize, has_head: bool) {
        let open = self.token;
        // A text that is not closed reaches to the end of its line, and would take the brace in.
        let unclosed = has_head && open.checked_sub(1).is_some_and(|last| self.table.kinds()[last] == Kind::OpenText);
        if unclosed || self.next_comment().is_some_and(|comment| comment.before as usize <= open) {
            self.inner_comments(open, indent + CONTINUATION);
            self.lines.start(indent + CONTINUATION, false);
        } else if has_head {
            self.lines.push(" ");
        }
        let mark = self.lines.mark();
        if self.is_on_one_line(open, block) {
            if self.flat_block(block) && self.lines.width <= WIDTH {
                self.written = self.token;
                self.done = self.table.span(self.token - 1).end;
                return;
            }
            self.token = open;
            self.lines.back_to(mark);
        }
        self.lines.push("{");
        self.advance(open + 1);
        self.entries(&block.entries, indent + STEP);
        self.skip_commas();
        let close = self.token;
        let lines = self.lines.count();
        self.gap(close, indent + STEP, block.entries.is_empty(), false);
        let is_bare = block.entries.is_empty() && self.lines.count() == lines && !self.lines.has_comment();
        if !is_bare {
            self.lines.start(indent, false);
        }
        self.lines.push("}");
        self.advance(close + 1);
    }

    /// Whether nothing between the braces begins a line.
    fn is_on_one_line(&self, open: usize, block: &Block) -> bool {
        let inner = (open + 1..self.table.len()).take_while(|index| self.table.span(*index).start < block.span.end);
        inner.into_iter().all(|index| self.table.indent(index).is_none())
    }

    /// A block on the last line; false, somewhere within it, where it does not fit. Only `token` has to be set back
    /// then, since no comment can stand in such a block.
    fn flat_block(&mut self, block: &Block) -> bool {
        self.lines.push("{");
        self.token += 1;
        for (index, entry) in block.entries.iter().enumerate() {
            self.skip_commas();
            self.lines.push(if index == 0 { " " } else { ", " });
            let tokens = self.head_tokens(entry);
            let has_head = !tokens.is_empty();
            self.token = tokens.end;
            if entry.broken() {
                self.raw(tokens);
            } else {
                self.flat(tokens);
            }
            if let Some(block) = entry.block() {
                self.lines.push(if has_head { " " } else { "" });
                if !self.flat_block(block) {
                    return false;
                }
            }
            if self.lines.width > WIDTH {
                return false;
            }
        }
        self.skip_commas();
        self.lines.push(if block.entries.is_empty() { "}" } else { " }" });
        self.token += 1;
        true
    }

    /// A stretch that keeps its own text. Its lines move to the left together, if at all, since how they stand to each
    /// other may be all that tells its blocks apart.
    fn stretch(&mut self, stretch: &Stretch) {
        let tokens = stretch.tokens.clone();
        let indents = tokens.clone().filter_map(|index| self.table.indent(index));
        let shift = indents.min().filter(|_| stretch.moves).unwrap_or(0) as usize;
        let all = self.table.cover(tokens.clone()).range();
        let line = self.text.get(..all.start).and_then(|before| before.rfind('\n')).map_or(0, |end| end + 1);
        let start = if stretch.unmatched { line } else { all.start };
        self.lines.push_raw(self.text.get(start..all.end).unwrap_or(""), shift);
        self.skip_comments(tokens.clone());
        self.advance(tokens.end);
    }

    fn raw(&mut self, tokens: Range<usize>) {
        if !tokens.is_empty() {
            self.lines.push_raw(self.text.get(self.table.cover(tokens.clone()).range()).unwrap_or(""), 0);
            self.skip_comments(tokens);
        }
    }

    /// The comments above the next token or, where they stand on the line of the one before, behind it. Gives whether
    /// a blank line belongs before the token. `opens`: a block or the file begins here; `entry`: the token begins one.
    fn gap(&mut self, token: usize, indent: usize, mut opens: bool, entry: bool) -> bool {
        let mut documented = false;
        while let Some(comment) = self.next_comment().filter(|comment| comment.before as usize <= token) {
            let blank = self.blank_before(comment.span.start) && !opens && !documented;
            self.take_comment(comment);
            if comment.alone || !self.lines.trail(comment) {
                self.lines.push_comment(comment, indent, blank);
                opens = false;
                documented |= comment.doc && entry;
            }
        }
        self.blank_before(self.table.span(token).start) && !opens && !documented
    }

    /// Comments between the tokens of an entry.
    pub fn inner_comments(&mut self, token: usize, indent: usize) {
        while let Some(comment) = self.next_comment().filter(|comment| comment.before as usize <= token) {
            self.take_comment(comment);
            if comment.alone || !self.lines.trail(comment) {
                self.lines.push_comment(comment, indent, false);
            }
        }
    }

    /// The next comment that was not written.
    pub fn next_comment(&self) -> Option<Comment> {
        self.table.comments().get(self.comment).copied()
    }

    fn take_comment(&mut self, comment: Comment) {
        self.comment += 1;
        self.done = comment.span.end;
    }

    /// Passes over the comments between tokens that were written with them.
    fn skip_comments(&mut self, tokens: Range<usize>) {
        while self.next_comment().is_some_and(|comment| (comment.before as usize) < tokens.end) {
            self.comment += 1;
        }
    }

    fn advance(&mut self, token: usize) {
        if token > self.token {
            self.done = self.done.max(self.table.span(token - 1).end);
        }
        (self.token, self.written) = (token, token);
    }

    fn skip_commas(&mut self) {
        while self.table.kinds().get(self.token) == Some(&Kind::Comma) {
            self.token += 1;
        }
    }

    /// The tokens from the next one to the end of an entry's line.
    fn head_tokens(&self, entry: &Entry) -> Range<usize> {
        let rest = self.token..self.table.len();
        let count = rest.take_while(|index| self.table.span(*index).start < entry.line().end).count();
        self.token..self.token + count
    }

    /// Whether a blank line stands between what was written last and `offset`.
    fn blank_before(&self, offset: u32) -> bool {
        let between = self.text.as_bytes().get(self.done as usize..offset as usize).unwrap_or(&[]);
        let mut breaks = 0;
        for byte in between {
            match byte {
                b'\n' => breaks += 1,
                b',' => breaks = 0,
                _ => {}
            }
            if breaks == 2 {
                return true;
            }
        }
        false
    }
}
