//! Moves a tree along with its text.

use crate::report::Diagnostic;
use crate::syntax::expr::{Kept, PathPart, Rare, Unit};
use crate::syntax::tree::More;
use crate::syntax::{Arg, Argument, Block, Entry, Expr, List, Number};
use crate::text::{ChangedLines, Span};

/// What stands behind changed lines, and moves with them.
pub trait Moves {
    /// Moves every place in it.
    fn move_by(&mut self, lines: &ChangedLines);
}

impl Moves for Span {
    fn move_by(&mut self, lines: &ChangedLines) {
        *self = lines.moved_span(*self);
    }
}

impl<T: Moves> Moves for Option<T> {
    fn move_by(&mut self, lines: &ChangedLines) {
        if let Some(inner) = self {
            inner.move_by(lines);
        }
    }
}

impl<T: Moves> Moves for Box<T> {
    fn move_by(&mut self, lines: &ChangedLines) {
        self.as_mut().move_by(lines);
    }
}

impl<T: Moves> Moves for [T] {
    fn move_by(&mut self, lines: &ChangedLines) {
        for one in self {
            one.move_by(lines);
        }
    }
}

impl Moves for Entry {
    fn move_by(&mut self, lines: &ChangedLines) {
        self.line.move_by(lines);
        self.args.move_by(lines);
        if let Some(More { doc, block, broken: _ }) = self.more.as_deref_mut() {
            doc.move_by(lines);
            block.move_by(lines);
        }
    }
}

impl Moves for Block {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { entries, span, closed: _ } = self;
        entries.move_by(lines);
        span.move_by(lines);
    }
}

impl Moves for Arg {
    fn move_by(&mut self, lines: &ChangedLines) {
        match self {
            Self::Word(span) | Self::Text(span) | Self::Date(span) | Self::Equals(span) | Self::Rule(span) => {
                span.move_by(lines);
            }
            Self::Expr(expr) => expr.move_by(lines),
            Self::List(list) => {
                let List { items, span } = &mut **list;
                items.move_by(lines);
                span.move_by(lines);
            }
        }
    }
}

impl Moves for Expr {
    fn move_by(&mut self, lines: &ChangedLines) {
        match &mut self.0 {
            Kept::Word(span) | Kept::Measure { span, number: _, unit: _, fraction: _ } => span.move_by(lines),
            Kept::Rare(span, rare) => {
                span.move_by(lines);
                rare.move_by(lines);
            }
        }
    }
}

impl Moves for Rare {
    fn move_by(&mut self, lines: &ChangedLines) {
        match self {
            Self::Path(parts) => parts.move_by(lines),
            Self::Figure(word, count, path) => {
                word.move_by(lines);
                count.move_by(lines);
                path.move_by(lines);
            }
            Self::Measure(measure) => {
                let (number, unit) = &mut **measure;
                number.move_by(lines);
                unit.move_by(lines);
            }
            Self::Deviations(pair, unit) => {
                pair.move_by(lines);
                unit.move_by(lines);
            }
            Self::Paren(inner) | Self::Negate(inner) => inner.move_by(lines),
            Self::Binary { left, right, operator: _, sign: _, length: _ } => {
                left.move_by(lines);
                right.move_by(lines);
            }
            Self::Deviating(value, pair, unit) => {
                value.move_by(lines);
                pair.move_by(lines);
                unit.move_by(lines);
            }
            Self::Call(name, arguments) => {
                name.move_by(lines);
                arguments.move_by(lines);
            }
            Self::Choice(parts) => parts.as_mut_slice().move_by(lines),
        }
    }
}

impl Moves for PathPart {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { word, index } = self;
        word.move_by(lines);
        index.move_by(lines);
    }
}

impl Moves for Number {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { negative: _, whole, fraction, span } = self;
        whole.move_by(lines);
        fraction.move_by(lines);
        span.move_by(lines);
    }
}

impl Moves for Unit {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { factors, span } = self;
        for (word, _) in factors {
            word.move_by(lines);
        }
        span.move_by(lines);
    }
}

impl Moves for Argument {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { name, kind, value, span } = self;
        name.move_by(lines);
        kind.move_by(lines);
        value.move_by(lines);
        span.move_by(lines);
    }
}

impl Moves for Diagnostic {
    fn move_by(&mut self, lines: &ChangedLines) {
        for span in self.spans() {
            span.move_by(lines);
        }
    }
}
