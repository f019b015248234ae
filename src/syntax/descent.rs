//! The grammar of `grammar.rs` once more, by hand, for the entries with nothing wrong in them: nearly all, and what a
//! library spends most of its reading on. It says nothing about faults: what it cannot read, the other one reads again.
//! `parse.rs` holds the two against each other.

use smallvec::smallvec;

use crate::syntax::expr::{PathPart, Rare, Unit};
use crate::syntax::grammar::{Form, Place};
use crate::syntax::{Arg, Argument, Expr, Kind, List, Number, Operator};
use crate::text::Span;

/// Reads the arguments of one entry from left to right.
pub struct Descent<'a> {
    kinds: &'a [Kind],
    place: Place<'a>,
    /// Whether names are figures of the recipe.
    figures: bool,
    at: usize,
}

/// How strongly an operator binds: it takes operands from the left down to `left`, and its right operand only what
/// binds more strongly than `right`.
struct Strength {
    operator: Operator,
    left: u8,
    right: u8,
}

/// The sign binds more strongly than a product and more weakly than a power.
const SIGN: u8 = 7;

impl Strength {
    /// Binary operators by rising strength: comparison, sum, product, power, tolerance and range. Some cannot stand in
    /// a row, whatever weaker operator or sign stands before them.
    fn of(kind: Kind) -> Option<Self> {
        let (operator, left, right) = match kind {
            Kind::EqualTo => (Operator::Equal, 1, 2),
            Kind::NotEqualTo => (Operator::NotEqual, 1, 2),
            Kind::Less => (Operator::Less, 1, 2),
            Kind::LessOrEqual => (Operator::LessOrEqual, 1, 2),
            Kind::Greater => (Operator::Greater, 1, 2),
            Kind::GreaterOrEqual => (Operator::GreaterOrEqual, 1, 2),
            Kind::Plus => (Operator::Add, 3, 4),
            Kind::Minus => (Operator::Subtract, 3, 4),
            Kind::Star | Kind::UnitStar => (Operator::Multiply, 5, 6),
            Kind::Slash | Kind::UnitSlash => (Operator::Divide, 5, 6),
            Kind::Caret => (Operator::Power, 9, 9),
            Kind::PlusMinus => (Operator::PlusMinus, 10, 11),
            Kind::Range => (Operator::Range, 10, 11),
            _ => return None,
        };
        Some(Self { operator, left, right })
    }

    /// Whether a second one of these may follow its right operand.
    fn in_a_row(&self) -> bool {
        !matches!(self.left, 1 | 10)
    }
}

impl<'a> Descent<'a> {
    /// At the start of an entry's arguments.
    pub fn new(kinds: &'a [Kind], place: Place<'a>, form: Form) -> Self {
        Self { kinds, place, figures: form == Form::Figures, at: 0 }
    }

    /// All arguments of an entry, put into `args`; none where there is anything that cannot be read.
    pub fn arguments(mut self, form: Form, args: &mut Vec<Arg>) -> Option<()> {
        if form == Form::Rule {
            args.push(self.rule()?);
        }
        while self.at < self.kinds.len() {
            args.push(self.argument()?);
        }
        Some(())
    }

    fn peek(&self) -> Option<Kind> {
        self.kinds.get(self.at).copied()
    }

    /// Takes the next token if it is one of these.
    fn take(&mut self, fits: impl Fn(Kind) -> bool) -> Option<Span> {
        self.peek().filter(|kind| fits(*kind))?;
        self.at += 1;
        Some(self.since(self.at - 1))
    }

    fn take_kind(&mut self, kind: Kind) -> Option<Span> {
        self.take(|next| next == kind)
    }

    /// What was read since the token `start`.
    fn since(&self, start: usize) -> Span {
        self.place.span(start..self.at)
    }

    /// What `read` reads; where it cannot, nothing is taken.
    fn maybe<T>(&mut self, read: impl FnOnce(&mut Self) -> Option<T>) -> Option<T> {
        let start = self.at;
        let found = read(self);
        if found.is_none() {
            self.at = start;
        }
        found
    }

    /// `lead-drop`
    fn rule(&mut self) -> Option<Arg> {
        self.take(Kind::is_word)?;
        while self
            .maybe(|this| {
                this.take_kind(Kind::Minus)?;
                this.take(Kind::is_word)
            })
            .is_some()
        {}
        Some(Arg::Rule(self.since(0)))
    }

    fn argument(&mut self) -> Option<Arg> {
        match self.peek()? {
            Kind::OpenBracket | Kind::IndexBracket => self.list(),
            Kind::Text => self.take_kind(Kind::Text).map(Arg::Text),
            Kind::Date => self.take_kind(Kind::Date).map(Arg::Date),
            Kind::Equals => self.take_kind(Kind::Equals).map(Arg::Equals),
            kind if kind.is_reserved() && kind != Kind::If => self.take_kind(kind).map(Arg::Word),
            _ => self.expression(0).map(Arg::Expr),
        }
    }

    /// `[a, b]`
    fn list(&mut self) -> Option<Arg> {
        let start = self.at;
        self.at += 1;
        let items = self.separated(Kind::CloseBracket, |this| this.expression(0))?;
        Some(Arg::List(Box::new(List { items, span: self.since(start) })))
    }

    /// Items between commas up to a bracket; the last comma may follow the last item.
    fn separated<T>(&mut self, close: Kind, mut item: impl FnMut(&mut Self) -> Option<T>) -> Option<Vec<T>> {
        let mut items = Vec::new();
        while self.take_kind(close).is_none() {
            items.push(item(self)?);
            if self.take_kind(Kind::Comma).is_none() {
                self.take_kind(close)?;
                break;
            }
        }
        items.shrink_to_fit();
        Some(items)
    }

    /// An expression whose operators all bind at least as strongly as `least`.
    fn expression(&mut self, least: u8) -> Option<Expr> {
        let mut value = self.operand()?;
        while let Some(strength) = self.peek().and_then(Strength::of).filter(|strength| strength.left >= least) {
            let at = self.place.span(self.at..self.at + 1);
            self.at += 1;
            let right = self.expression(strength.right)?;
            let next = self.peek().and_then(Strength::of);
            if !strength.in_a_row() && next.is_some_and(|next| next.left == strength.left) {
                return None;
            }
            value = Expr::binary(value, strength.operator, at, right);
        }
        Some(value)
    }

    /// What stands between two operators: a sign or an atom, and perhaps a pair of deviations behind it.
    fn operand(&mut self) -> Option<Expr> {
        let start = self.at;
        let digits = |kind: Option<&Kind>| matches!(kind, Some(Kind::Number | Kind::Fraction));
        // The minus before a number belongs to the number: `-20..5 degC` begins at -20.
        if self.peek() == Some(Kind::Minus) && !digits(self.kinds.get(self.at + 1)) {
            self.at += 1;
            let inner = self.expression(SIGN)?;
            return Some(Expr::rare(Rare::Negate(inner), self.since(start)));
        }
        let value = self.atom()?;
        let Some(pair) = self.take_kind(Kind::Deviations) else { return Some(value) };
        Some(value.deviating(pair, self.unit()))
    }

    fn atom(&mut self) -> Option<Expr> {
        let start = self.at;
        match self.peek()? {
            Kind::Number | Kind::Fraction | Kind::Minus => self.measure(),
            Kind::Word if self.kinds.get(self.at + 1) == Some(&Kind::CallParen) => self.call(),
            Kind::Word => {
                let figure = if self.figures { self.maybe(Self::figure) } else { None };
                figure.or_else(|| self.path())
            }
            Kind::If => self.choice(),
            Kind::OpenParen => {
                self.at += 1;
                let inner = self.expression(0)?;
                self.take_kind(Kind::CloseParen)?;
                Some(Expr::rare(Rare::Paren(inner), self.since(start)))
            }
            Kind::Deviations => {
                let pair = self.take_kind(Kind::Deviations)?;
                Some(Expr::deviations(pair, self.unit()))
            }
            _ => None,
        }
    }

    /// `-1 1/2 in`
    fn measure(&mut self) -> Option<Expr> {
        let start = self.at;
        let negative = self.take_kind(Kind::Minus).is_some();
        let whole = self.take_kind(Kind::Number);
        let fraction = self.take_kind(Kind::Fraction);
        whole.or(fraction)?;
        let number = Number { negative, whole, fraction, span: self.since(start) };
        Some(Expr::from_measure(number, self.unit()))
    }

    /// `mm`, `W/in`, `W/(m K)`, `%`; operators between units are glued.
    fn unit(&mut self) -> Option<Unit> {
        let start = self.at;
        let first = self.unit_word()?;
        let mut factors = smallvec![(first, 1)];
        loop {
            let known = factors.len();
            let more = self.maybe(|this| {
                let over = this.take(|kind| matches!(kind, Kind::UnitSlash | Kind::UnitStar))?;
                let power = if this.kinds.get(this.at - 1) == Some(&Kind::UnitSlash) { -1 } else { 1 };
                if this.take_kind(Kind::OpenParen).is_none() {
                    factors.push((this.unit_word()?, power));
                    return Some(over);
                }
                factors.push((this.unit_word()?, power));
                while let Some(word) = this.maybe(|this| {
                    this.take(|kind| matches!(kind, Kind::Star | Kind::UnitStar));
                    this.unit_word()
                }) {
                    factors.push((word, power));
                }
                this.take_kind(Kind::CloseParen)
            });
            if more.is_none() {
                factors.truncate(known);
                return Some(Unit { factors, span: self.since(start) });
            }
        }
    }

    fn unit_word(&mut self) -> Option<Span> {
        self.take(|kind| matches!(kind, Kind::Word | Kind::Percent | Kind::DegreeSign))
    }

    /// `rib[2].crest`
    fn path(&mut self) -> Option<Expr> {
        let start = self.at;
        let first = self.path_part()?;
        if first.index.is_none() && self.peek() != Some(Kind::Dot) {
            return Some(Expr::word(first.word));
        }
        let mut parts = vec![first];
        while let Some(part) = self.maybe(|this| {
            this.take_kind(Kind::Dot)?;
            this.path_part()
        }) {
            parts.push(part);
        }
        Some(Expr::from_path(parts, self.since(start)))
    }

    fn path_part(&mut self) -> Option<PathPart> {
        let word = self.take_kind(Kind::Word)?;
        let index = self.maybe(|this| {
            this.take_kind(Kind::IndexBracket)?;
            let index = this.expression(0)?;
            this.take_kind(Kind::CloseBracket)?;
            Some(Box::new(index))
        });
        Some(PathPart { word, index })
    }

    /// `bend lip.window.low`, `leg 2.tolerance`
    fn figure(&mut self) -> Option<Expr> {
        let start = self.at;
        let word = self.take_kind(Kind::Word)?;
        let Some(count) = self.take_kind(Kind::Number) else {
            let path = self.path()?;
            return Some(Expr::rare(Rare::Figure(word, None, Some(path)), self.since(start)));
        };
        let tail = self.maybe(|this| {
            this.take_kind(Kind::Dot)?;
            this.path()
        });
        Some(Expr::rare(Rare::Figure(word, Some(count), tail), self.since(start)))
    }

    /// `if a < b then c else d`
    fn choice(&mut self) -> Option<Expr> {
        let start = self.at;
        self.take_kind(Kind::If)?;
        let test = self.expression(0)?;
        self.take_kind(Kind::Then)?;
        let yes = self.expression(0)?;
        self.take_kind(Kind::Else)?;
        let no = self.expression(0)?;
        Some(Expr::rare(Rare::Choice(Box::new([test, yes, no])), self.since(start)))
    }

    /// `name(a, b = 1 mm, c: length = 2 mm)`
    fn call(&mut self) -> Option<Expr> {
        let start = self.at;
        let name = self.take_kind(Kind::Word)?;
        self.take_kind(Kind::CallParen)?;
        let arguments = self.separated(Kind::CloseParen, Self::call_argument)?;
        Some(Expr::rare(Rare::Call(name, arguments), self.since(start)))
    }

    fn call_argument(&mut self) -> Option<Argument> {
        let start = self.at;
        let (mut name, mut kind) = (None, None);
        let after = self.kinds.get(self.at + 1).copied();
        if self.peek() == Some(Kind::Word) && matches!(after, Some(Kind::Colon | Kind::Equals)) {
            name = self.take_kind(Kind::Word);
            if self.take_kind(Kind::Colon).is_some() {
                kind = Some(self.take_kind(Kind::Word)?);
            }
        }
        let value = match (name, self.take_kind(Kind::Equals)) {
            (Some(_), None) => None,
            (None, Some(_)) => return None,
            _ => Some(self.expression(0)?),
        };
        Some(Argument { name, kind, value, span: self.since(start) })
    }
}
