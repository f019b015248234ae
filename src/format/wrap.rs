use std::ops::Range;

use crate::format::WIDTH;
use crate::format::layout::Layout;
use crate::format::mark::Mark;
use crate::format::spell::{is_spaced, spell};
use crate::syntax::{Kind, is_declaration_word};

/// How far a long entry goes in from its second line on.
pub const CONTINUATION: usize = 4;

/// No line can be broken here.
const NEVER: u8 = u8::MAX;
/// Ranks of one bracket level.
const RANKS: u8 = 4;

impl<'a> Layout<'a> {
    /// The tokens of an entry without its block. `reserve` columns are kept free behind them.
    pub fn header(&mut self, tokens: Range<usize>, indent: usize, reserve: usize) {
        let mark = self.lines.mark();
        if self.next_comment().is_none_or(|comment| comment.before as usize >= tokens.end) {
            self.flat(tokens.clone());
            if self.lines.width + reserve <= WIDTH {
                return;
            }
            self.lines.back_to(mark);
        }
        self.wrapped(tokens, indent + CONTINUATION, WIDTH - reserve);
    }

    /// Tokens one behind the other on the last line.
    pub fn flat(&mut self, tokens: Range<usize>) {
        for index in tokens.clone() {
            if index > tokens.start && self.is_spaced(index) {
                self.lines.push(" ");
            }
            self.lines.push(self.spelling(index));
        }
    }

    fn is_spaced(&self, index: usize) -> bool {
        let token = |index: usize| (self.table.kinds()[index], self.marks[index]);
        is_spaced(token(index - 1), token(index))
    }

    fn spelling(&self, index: usize) -> &'a str {
        let text = self.text.get(self.table.span(index).range()).unwrap_or("");
        spell(self.table.kinds()[index], self.marks[index], text)
    }

    /// Tokens over as many lines as they need; a comment between them ends its line.
    fn wrapped(&mut self, tokens: Range<usize>, indent: usize, limit: usize) {
        let ranks = self.ranks(tokens.clone());
        let mut from = tokens.start;
        loop {
            let comment = self.next_comment().map(|comment| comment.before as usize);
            let to = comment.filter(|before| *before < tokens.end).unwrap_or(tokens.end);
            self.fill(from..to, &ranks[from - tokens.start..], indent, limit);
            if to == tokens.end {
                return;
            }
            self.inner_comments(to, indent);
            self.lines.start(indent, false);
            from = to;
        }
    }

    /// Fills lines with tokens and breaks each at the outermost place that lets it fit.
    fn fill(&mut self, tokens: Range<usize>, ranks: &[u8], indent: usize, limit: usize) {
        let mut from = tokens.start;
        while from < tokens.end {
            let mut width = self.lines.width;
            let mut best: Option<(u8, usize)> = None;
            for index in from..tokens.end {
                let rank = ranks[index - tokens.start];
                if index > from && rank != NEVER && best.is_none_or(|best| rank <= best.0) {
                    best = Some((rank, index));
                }
                let space = usize::from(index > from && self.is_spaced(index));
                width += space + self.spelling(index).chars().count();
                if width > limit && best.is_some() {
                    break;
                }
            }
            let to = best.filter(|_| width > limit).map_or(tokens.end, |best| best.1);
            self.flat(from..to);
            if to < tokens.end {
                self.lines.start(indent, false);
            }
            from = to;
        }
    }

    /// How good it is to break before each token; lower is better. Only places where the language lets an entry
    /// go on in the next line have a rank.
    fn ranks(&self, tokens: Range<usize>) -> Vec<u8> {
        use Kind as K;
        let mut depth = 0_u8;
        let mut ranks = vec![NEVER];
        for index in tokens.start + 1..tokens.end {
            let (before, next) = (self.table.kinds()[index - 1], self.table.kinds()[index]);
            match before {
                K::OpenParen | K::CallParen | K::OpenBracket | K::IndexBracket => depth = (depth + 1).min(60),
                K::CloseParen | K::CloseBracket => depth = depth.saturating_sub(1),
                _ => {}
            }
            let rank = match (before, next) {
                (K::Comma | K::Then, _) | (_, K::Because | K::Until | K::Else) => 0,
                (K::EqualTo | K::NotEqualTo | K::Less | K::LessOrEqual | K::Greater | K::GreaterOrEqual, _) => 1,
                (K::Plus, _) => 2,
                (K::Minus, _) if self.marks[index - 1] == Mark::Binary => 2,
                (K::Star | K::UnitStar | K::Slash | K::UnitSlash, _) if self.marks[index - 1] == Mark::Binary => 3,
                (K::With | K::Equals, _) => 3,
                _ => NEVER,
            };
            // At the start of a line, a declaration's word might be taken for a declaration.
            let barred = rank == NEVER || is_declaration_word(self.table, self.text, index);
            ranks.push(if barred { NEVER } else { depth * RANKS + rank });
        }
        ranks
    }
}
