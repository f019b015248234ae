//! Moves a tree along with its text.

use crate::report::Diagnostic;
use crate::syntax::{Arg, Argument, Block, Entry, Expr, ExprKind, Measure, Number, Path, UnitSyntax};
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
        let Self { head, args, block, span, line, doc, broken: _ } = self;
        head.move_by(lines);
        args.move_by(lines);
        block.move_by(lines);
        span.move_by(lines);
        line.move_by(lines);
        doc.move_by(lines);
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
            Self::List(items, span) => {
                items.move_by(lines);
                span.move_by(lines);
            }
        }
    }
}

impl Moves for Expr {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { kind, span } = self;
        span.move_by(lines);
        match kind {
            ExprKind::Path(path) => path.move_by(lines),
            ExprKind::Figure(word, count, paths) => {
                word.move_by(lines);
                count.move_by(lines);
                paths.move_by(lines);
            }
            ExprKind::Measure(Measure { number, unit }) => {
                number.move_by(lines);
                unit.move_by(lines);
            }
            ExprKind::Deviations(pair, unit) => {
                pair.move_by(lines);
                unit.move_by(lines);
            }
            ExprKind::Paren(inner) | ExprKind::Negate(inner) => inner.move_by(lines),
            ExprKind::Binary(left, _, at, right) => {
                left.move_by(lines);
                at.move_by(lines);
                right.move_by(lines);
            }
            ExprKind::Deviating(value, pair, unit) => {
                value.move_by(lines);
                pair.move_by(lines);
                unit.move_by(lines);
            }
            ExprKind::Call(name, arguments) => {
                name.move_by(lines);
                arguments.move_by(lines);
            }
            ExprKind::Choice(test, yes, no) => {
                test.move_by(lines);
                yes.move_by(lines);
                no.move_by(lines);
            }
        }
    }
}

impl Moves for Path {
    fn move_by(&mut self, lines: &ChangedLines) {
        let Self { parts, span } = self;
        for (word, index) in parts {
            word.move_by(lines);
            index.move_by(lines);
        }
        span.move_by(lines);
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

impl Moves for UnitSyntax {
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
