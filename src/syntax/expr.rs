//! Expressions: how they are kept, and how they read.
//!
//! Nearly all expressions are names of one word, and numbers with one unit or none. These are kept in a few lengths;
//! [`Expr::kind`] makes of them what everybody reads.

use smallvec::SmallVec;

use crate::text::Span;

/// An expression and where it stands.
#[derive(Clone, Debug)]
pub struct Expr(pub(super) Kept);

/// An expression as it is kept. Lengths are in bytes, so that only the one span moves with the text.
#[derive(Clone, Debug)]
pub(super) enum Kept {
    /// A name of one word.
    Word(Span),
    /// A number without a sign, or a fraction, at the beginning of the span; and at its end one word of a unit, of no
    /// length where there is none.
    Measure { span: Span, number: u32, unit: u32, fraction: bool },
    /// Any other.
    Rare(Span, Box<Rare>),
}

/// The expressions that are less frequent.
#[derive(Clone, Debug)]
pub(super) enum Rare {
    Path(Vec<PathPart>),
    Figure(Span, Option<Span>, Option<Expr>),
    Measure(Box<(Number, Option<Unit>)>),
    Deviations(Span, Option<Box<Unit>>),
    Paren(Expr),
    Negate(Expr),
    /// The sign stands so many bytes behind the start of the whole.
    Binary {
        left: Expr,
        right: Expr,
        operator: Operator,
        sign: u32,
        length: u8,
    },
    Deviating(Expr, Span, Option<Box<Unit>>),
    Call(Span, Vec<Argument>),
    Choice(Box<[Expr; 3]>),
}

/// A word of a dotted name, and its index.
#[derive(Clone, Debug)]
pub(super) struct PathPart {
    pub word: Span,
    pub index: Option<Box<Expr>>,
}

/// A unit as it is kept.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    pub factors: SmallVec<[(Span, i32); 1]>,
    pub span: Span,
}

/// The forms of an expression.
#[derive(Clone, Copy, Debug)]
pub enum ExprKind<'t> {
    /// A name, perhaps with an index and parts: `rib[2].crest`.
    Path(Path<'t>),
    /// `bend lip.window.low`, `leg 2.tolerance`: a figure of a recipe, only after `expect`. What it is of, its number,
    /// and the rest of its name.
    Figure(Span, Option<Span>, Option<Path<'t>>),
    /// A number with or without a unit.
    Measure(Measure<'t>),
    /// `+0.2/-0.5 mm`
    Deviations(Span, Option<UnitSyntax<'t>>),
    /// `(…)`
    Paren(&'t Expr),
    /// `-…`
    Negate(&'t Expr),
    /// `a + b`, `a ± b`, `a..b`, …
    Binary(&'t Expr, Operator, Span, &'t Expr),
    /// `a +0.2/-0.5 mm`
    Deviating(&'t Expr, Span, Option<UnitSyntax<'t>>),
    /// `name(…)`
    Call(Span, &'t [Argument]),
    /// `if … then … else …`
    Choice(&'t Expr, &'t Expr, &'t Expr),
}

/// How expressions are made.
impl Expr {
    pub(super) fn word(span: Span) -> Self {
        Self(Kept::Word(span))
    }

    pub(super) fn from_path(mut parts: Vec<PathPart>, span: Span) -> Self {
        if let [PathPart { word, index: None }] = parts.as_slice() {
            return Self::word(*word);
        }
        parts.shrink_to_fit();
        Self::rare(Rare::Path(parts), span)
    }

    pub(super) fn from_measure(number: Number, unit: Option<Unit>) -> Self {
        let span = unit.as_ref().map_or(number.span, |unit| number.span.to(unit.span));
        let length = |span: Span| span.end - span.start;
        let word = match &unit {
            None => Some(0),
            Some(Unit { factors, span }) => (factors.len() == 1).then(|| length(*span)),
        };
        match (number, word) {
            (Number { negative: false, whole, fraction, span: own }, Some(unit))
                if whole.is_none() || fraction.is_none() =>
            {
                Self(Kept::Measure { span, number: length(own), unit, fraction: fraction.is_some() })
            }
            _ => Self::rare(Rare::Measure(Box::new((number, unit))), span),
        }
    }

    pub(super) fn deviations(pair: Span, unit: Option<Unit>) -> Self {
        let span = unit.as_ref().map_or(pair, |unit| pair.to(unit.span));
        Self::rare(Rare::Deviations(pair, unit.map(Box::new)), span)
    }

    pub(super) fn deviating(self, pair: Span, unit: Option<Unit>) -> Self {
        let span = self.span().to(unit.as_ref().map_or(pair, |unit| unit.span));
        Self::rare(Rare::Deviating(self, pair, unit.map(Box::new)), span)
    }

    pub(super) fn binary(left: Self, operator: Operator, at: Span, right: Self) -> Self {
        let span = left.span().to(right.span());
        let (sign, length) = (at.start - span.start, u8::try_from(at.end - at.start).unwrap_or(u8::MAX));
        Self::rare(Rare::Binary { left, right, operator, sign, length }, span)
    }

    pub(super) fn rare(rare: Rare, span: Span) -> Self {
        Self(Kept::Rare(span, Box::new(rare)))
    }
}

impl Expr {
    /// Its bytes.
    pub fn span(&self) -> Span {
        match &self.0 {
            Kept::Word(span) | Kept::Measure { span, .. } | Kept::Rare(span, _) => *span,
        }
    }

    /// What it is.
    pub fn kind(&self) -> ExprKind<'_> {
        match &self.0 {
            Kept::Word(span) => ExprKind::Path(Path::word(*span)),
            Kept::Measure { span, number, unit, fraction } => {
                let digits = Span { end: span.start + number, ..*span };
                let unit = Span { start: span.end - unit, ..*span };
                ExprKind::Measure(Measure {
                    number: Number {
                        negative: false,
                        whole: (!fraction).then_some(digits),
                        fraction: fraction.then_some(digits),
                        span: digits,
                    },
                    unit: (unit.start < unit.end).then_some(UnitSyntax { factors: &[], span: unit }),
                })
            }
            Kept::Rare(span, rare) => rare.kind(*span),
        }
    }

    /// The name, if it is one.
    pub fn path(&self) -> Option<Path<'_>> {
        match &self.0 {
            Kept::Word(span) => Some(Path::word(*span)),
            Kept::Rare(span, rare) => match &**rare {
                Rare::Path(parts) => Some(Path { parts, span: *span }),
                _ => None,
            },
            Kept::Measure { .. } => None,
        }
    }

    /// The number and its unit, if it is one.
    pub fn measure(&self) -> Option<Measure<'_>> {
        match self.kind() {
            ExprKind::Measure(measure) => Some(measure),
            _ => None,
        }
    }

    /// The name of a call and what stands in its brackets, if it is one.
    pub fn call(&self) -> Option<(Span, &[Argument])> {
        match self.kind() {
            ExprKind::Call(name, arguments) => Some((name, arguments)),
            _ => None,
        }
    }
}

impl Rare {
    fn kind(&self, span: Span) -> ExprKind<'_> {
        match self {
            Self::Path(parts) => ExprKind::Path(Path { parts, span }),
            Self::Figure(word, count, path) => ExprKind::Figure(*word, *count, path.as_ref().and_then(Expr::path)),
            Self::Measure(measure) => {
                let (number, unit) = &**measure;
                ExprKind::Measure(Measure { number: *number, unit: unit.as_ref().map(Unit::seen) })
            }
            Self::Deviations(pair, unit) => ExprKind::Deviations(*pair, unit.as_deref().map(Unit::seen)),
            Self::Paren(inner) => ExprKind::Paren(inner),
            Self::Negate(inner) => ExprKind::Negate(inner),
            Self::Binary { left, right, operator, sign, length } => {
                let start = span.start + sign;
                ExprKind::Binary(left, *operator, Span { start, end: start + u32::from(*length), ..span }, right)
            }
            Self::Deviating(value, pair, unit) => ExprKind::Deviating(value, *pair, unit.as_deref().map(Unit::seen)),
            Self::Call(name, arguments) => ExprKind::Call(*name, arguments),
            Self::Choice(parts) => {
                let [test, yes, no] = &**parts;
                ExprKind::Choice(test, yes, no)
            }
        }
    }
}

/// A dotted name.
#[derive(Clone, Copy, Debug)]
pub struct Path<'t> {
    /// Each word with its index; empty where there is but one word.
    parts: &'t [PathPart],
    /// All of it.
    pub span: Span,
}

impl<'t> Path<'t> {
    /// One word as a name.
    pub fn word(span: Span) -> Self {
        Self { parts: &[], span }
    }

    /// The word, if the path is one word without an index.
    pub fn single(&self) -> Option<Span> {
        self.parts.is_empty().then_some(self.span)
    }

    /// Its words.
    pub fn words(&self) -> impl Iterator<Item = Span> + use<'t> {
        self.parts().map(|part| part.0)
    }

    /// What stands in brackets behind its words.
    pub fn indexes(&self) -> impl Iterator<Item = &'t Expr> + use<'t> {
        self.parts.iter().filter_map(|part| part.index.as_deref())
    }

    /// Each word with its index.
    pub fn parts(&self) -> impl Iterator<Item = (Span, Option<&'t Expr>)> + use<'t> {
        let parts = self.parts.iter().map(|part| (part.word, part.index.as_deref()));
        self.single().map(|word| (word, None)).into_iter().chain(parts)
    }
}

/// A number literal and the unit that may follow.
#[derive(Clone, Copy, Debug)]
pub struct Measure<'t> {
    /// Sign, number, fraction.
    pub number: Number,
    /// The unit.
    pub unit: Option<UnitSyntax<'t>>,
}

/// A number as it is written; the parts are spans into the text.
#[derive(Clone, Copy, Debug)]
pub struct Number {
    /// Whether a minus stands before it.
    pub negative: bool,
    /// `12`, `0.5`; none for a bare fraction.
    pub whole: Option<Span>,
    /// `1/8`
    pub fraction: Option<Span>,
    /// All of it.
    pub span: Span,
}

/// A product of unit words with exponents.
#[derive(Clone, Copy, Debug)]
pub struct UnitSyntax<'t> {
    /// Unit words with their powers; empty where there is but one word.
    factors: &'t [(Span, i32)],
    /// All of it.
    pub span: Span,
}

impl Unit {
    fn seen(&self) -> UnitSyntax<'_> {
        let factors = if self.factors.len() > 1 { self.factors.as_slice() } else { &[] };
        UnitSyntax { factors, span: self.span }
    }
}

impl<'t> UnitSyntax<'t> {
    /// The word, if the unit is one bare word: then it may be no unit at all but the word that follows a count.
    pub fn single(&self) -> Option<Span> {
        self.factors.is_empty().then_some(self.span)
    }

    /// Unit words with their powers: 1 where they multiply, -1 where they divide.
    pub fn factors(&self) -> impl Iterator<Item = (Span, i32)> + use<'t> {
        self.single().map(|word| (word, 1)).into_iter().chain(self.factors.iter().copied())
    }

    /// Its words.
    pub fn words(&self) -> impl Iterator<Item = Span> + use<'t> {
        self.factors().map(|factor| factor.0)
    }
}

/// An argument of a call or a parameter of a part: `x`, `height = 160 mm`, `height: length = 140 mm`.
#[derive(Clone, Debug)]
pub struct Argument {
    /// The name before `=` or `:`.
    pub name: Option<Span>,
    /// The kind after `:`.
    pub kind: Option<Span>,
    /// The value.
    pub value: Option<Expr>,
    /// All of it.
    pub span: Span,
}

/// What stands between two operands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Operator {
    /// `+`
    Add,
    /// `-`
    Subtract,
    /// `*`
    Multiply,
    /// `/`
    Divide,
    /// `^`
    Power,
    /// `±`
    PlusMinus,
    /// `..`
    Range,
    /// `==`
    Equal,
    /// `!=`
    NotEqual,
    /// `<`
    Less,
    /// `<=`
    LessOrEqual,
    /// `>`
    Greater,
    /// `>=`
    GreaterOrEqual,
}
