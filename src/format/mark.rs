use std::ops::Range;

use crate::syntax::{
    Arg, Argument, Entry, Expr, ExprKind, Kind, Operator, Parsed, Path, TokenTable, UnitSyntax, opens_declaration,
};
use crate::text::Span;

/// What the tree knows of a token that its kind does not tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Nothing.
    Plain,
    /// A `-`, `*` or `/` between two operands; without it, one that belongs to a number, a unit or a rule name.
    Binary,
    /// A word of a unit behind a number.
    UnitWord,
    /// A `[` that begins a list though it is glued to the word before it.
    ListBracket,
    /// A `-` within the name of a rule.
    RuleMinus,
    /// Part of a stretch that keeps its own text.
    Raw,
}

/// The tokens of a file as the style sees them.
#[derive(Debug)]
pub struct Marks {
    /// A mark for each token.
    pub marks: Vec<Mark>,
    /// Stretches from one declaration to another that keep their own text, in order.
    pub stretches: Vec<Stretch>,
}

/// Declarations that keep their own text.
#[derive(Clone, Debug)]
pub struct Stretch {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// Whether its braces do not match.
    pub unmatched: bool,
    /// Whether its lines may move to the left together.
    pub moves: bool,
}

/// Marks the tokens of a file.
pub fn marks(parsed: &Parsed, text: &str) -> Marks {
    let table = parsed.table(text);
    let mut marker = Marker { table, text, marks: vec![Mark::Plain; table.len()], at: 0, keeps_text: false };
    let unmatched = unmatched(parsed, text);
    let mut stretches = unmatched.clone();
    for entry in &parsed.tree.entries {
        let tokens = marker.declaration(entry);
        if marker.keeps_text && !unmatched.iter().any(|stretch| stretch.tokens.contains(&tokens.start)) {
            stretches.push(Stretch { tokens, unmatched: false, moves: false });
        }
    }
    stretches.sort_unstable_by_key(|stretch| stretch.tokens.start);
    for stretch in &stretches {
        marker.raw(stretch.tokens.clone());
    }
    Marks { marks: marker.marks, stretches }
}

/// The stretches whose braces do not match. One that begins only because it stands no further in than what is above
/// it must not lose its hold on that: then everything above is kept with it.
fn unmatched(parsed: &Parsed, text: &str) -> Vec<Stretch> {
    let table = parsed.table(text);
    let stretch = |tokens: &Range<usize>| {
        let moves = opens_declaration(table, text, tokens.start);
        Stretch { tokens: tokens.clone(), unmatched: true, moves }
    };
    let mut stretches: Vec<Stretch> = parsed.unmatched.iter().map(stretch).collect();
    let hangs = |stretch: &Stretch| !stretch.moves && table.indent(stretch.tokens.start) != Some(0);
    if let Some(last) = stretches.iter().rposition(hangs) {
        let tokens = 0..stretches[last].tokens.end;
        stretches.splice(..=last, [Stretch { tokens, unmatched: true, moves: false }]);
    }
    stretches
}

/// Walks the tree and the tokens side by side; both are in the order of the text.
struct Marker<'a> {
    table: &'a TokenTable,
    text: &'a str,
    marks: Vec<Mark>,
    at: usize,
    /// Whether the declaration that is being walked must keep its text.
    keeps_text: bool,
}

impl Marker<'_> {
    fn declaration(&mut self, entry: &Entry) -> Range<usize> {
        self.keeps_text = false;
        self.seek(entry.span().start);
        let first = self.at;
        self.entry(entry, false);
        self.seek(entry.span().end);
        first..self.at
    }

    fn entry(&mut self, entry: &Entry, nested: bool) {
        self.seek(entry.line().start);
        let first = self.at;
        // At the start of a line, such an entry would close the block it stands in.
        if nested && self.table.indent(first).is_none() && opens_declaration(self.table, self.text, first) {
            self.keeps_text = true;
        }
        if entry.broken() {
            self.seek(entry.line().end);
            self.raw(first..self.at);
        } else {
            self.args(entry.args());
        }
        if let Some(block) = entry.block() {
            for entry in &block.entries {
                self.entry(entry, true);
            }
        }
    }

    fn args(&mut self, args: &[Arg]) {
        for arg in args {
            match arg {
                Arg::Expr(expr) => self.expr(expr),
                Arg::List(list) => {
                    self.mark_from(list.span, Mark::ListBracket);
                    for item in &list.items {
                        self.expr(item);
                    }
                }
                Arg::Rule(span) => {
                    self.seek(span.start);
                    while self.at < self.table.len() && self.table.span(self.at).start < span.end {
                        if self.table.kinds()[self.at] == Kind::Minus {
                            self.marks[self.at] = Mark::RuleMinus;
                        }
                        self.at += 1;
                    }
                }
                Arg::Word(_) | Arg::Text(_) | Arg::Date(_) | Arg::Equals(_) => {}
            }
        }
    }

    fn expr(&mut self, expr: &Expr) {
        match expr.kind() {
            ExprKind::Path(path) => self.path(path),
            ExprKind::Figure(_, _, path) => path.into_iter().for_each(|path| self.path(path)),
            ExprKind::Measure(measure) => self.unit(measure.unit),
            ExprKind::Deviations(_, unit) => self.unit(unit),
            ExprKind::Paren(inner) | ExprKind::Negate(inner) => self.expr(inner),
            ExprKind::Binary(left, operator, at, right) => {
                self.expr(left);
                if matches!(operator, Operator::Subtract | Operator::Multiply | Operator::Divide) {
                    self.mark_from(at, Mark::Binary);
                }
                self.expr(right);
            }
            ExprKind::Deviating(value, _, unit) => {
                self.expr(value);
                self.unit(unit);
            }
            ExprKind::Call(_, arguments) => {
                for argument in arguments {
                    self.argument(argument);
                }
            }
            ExprKind::Choice(test, yes, no) => {
                for part in [test, yes, no] {
                    self.expr(part);
                }
            }
        }
    }

    fn argument(&mut self, argument: &Argument) {
        if let Some(value) = &argument.value {
            self.expr(value);
        }
    }

    fn path(&mut self, path: Path<'_>) {
        path.indexes().for_each(|index| self.expr(index));
    }

    fn unit(&mut self, unit: Option<UnitSyntax<'_>>) {
        for word in unit.iter().flat_map(UnitSyntax::words) {
            self.mark_from(word, Mark::UnitWord);
        }
    }

    fn mark_from(&mut self, span: Span, mark: Mark) {
        self.seek(span.start);
        if let Some(slot) = self.marks.get_mut(self.at) {
            *slot = mark;
        }
    }

    /// Goes to the first token at or behind `offset`.
    fn seek(&mut self, offset: u32) {
        while self.at < self.table.len() && self.table.span(self.at).start < offset {
            self.at += 1;
        }
    }

    fn raw(&mut self, tokens: Range<usize>) {
        if let Some(slots) = self.marks.get_mut(tokens) {
            slots.fill(Mark::Raw);
        }
    }
}
