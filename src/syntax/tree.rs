use smallvec::SmallVec;

use crate::text::Span;

/// The syntax of one file: its declarations, and whatever else stands between them.
#[derive(Clone, Debug, Default)]
pub struct Tree {
    /// Top-level entries, in order.
    pub entries: Vec<Entry>,
    /// Doc comments that stand above nothing.
    pub idle_docs: Vec<Span>,
}

/// A declaration or an entry of a block: a head word, what follows it, and perhaps a block.
#[derive(Clone, Debug)]
pub struct Entry {
    /// The first word; none where the entry does not begin with one.
    pub head: Option<Span>,
    /// What follows the head.
    pub args: Vec<Arg>,
    /// `{ … }`
    pub block: Option<Block>,
    /// From the head to the end of the block.
    pub span: Span,
    /// From the head to the last argument.
    pub line: Span,
    /// The doc comment above: from its first line to its last.
    pub doc: Option<Span>,
    /// Whether a fault of syntax was reported in this entry; what follows from it is not reported again.
    pub broken: bool,
}

/// `{ … }`
#[derive(Clone, Debug)]
pub struct Block {
    /// What stands between the braces.
    pub entries: Vec<Entry>,
    /// From brace to brace.
    pub span: Span,
    /// Whether both braces are there.
    pub closed: bool,
}

/// One thing that follows the head of an entry.
#[derive(Clone, Debug)]
pub enum Arg {
    /// A reserved word.
    Word(Span),
    /// A value or a name.
    Expr(Expr),
    /// `"…"`, quotes included.
    Text(Span),
    /// `2027-06-30`
    Date(Span),
    /// `[a, b]`
    List(Vec<Expr>, Span),
    /// `=`
    Equals(Span),
    /// `rule-name`, only after `accept`.
    Rule(Span),
}

impl Arg {
    /// The bytes of the argument.
    pub fn span(&self) -> Span {
        match self {
            Self::Word(span)
            | Self::Text(span)
            | Self::Date(span)
            | Self::List(_, span)
            | Self::Equals(span)
            | Self::Rule(span) => *span,
            Self::Expr(expr) => expr.span,
        }
    }
}

/// An expression and where it stands.
#[derive(Clone, Debug)]
pub struct Expr {
    /// What it is.
    pub kind: ExprKind,
    /// Its bytes.
    pub span: Span,
}

/// The forms of an expression.
#[derive(Clone, Debug)]
pub enum ExprKind {
    /// A name, perhaps with an index and parts: `rib[2].crest`.
    Path(Path),
    /// `bend lip.window.low`, `leg 2.tolerance`: a figure of a recipe, only after `expect`.
    Figure(Span, Option<Span>, Vec<Path>),
    /// A number with or without a unit.
    Measure(Measure),
    /// `+0.2/-0.5 mm`
    Deviations(Span, Option<UnitSyntax>),
    /// `(…)`
    Paren(Box<Expr>),
    /// `-…`
    Negate(Box<Expr>),
    /// `a + b`, `a ± b`, `a..b`, …
    Binary(Box<Expr>, Operator, Span, Box<Expr>),
    /// `a +0.2/-0.5 mm`
    Deviating(Box<Expr>, Span, Option<UnitSyntax>),
    /// `name(…)`
    Call(Span, Vec<Argument>),
    /// `if … then … else …`
    Choice(Box<Expr>, Box<Expr>, Box<Expr>),
}

/// A dotted name.
#[derive(Clone, Debug)]
pub struct Path {
    /// Each word with its index.
    pub parts: SmallVec<[(Span, Option<Box<Expr>>); 1]>,
    /// All of it.
    pub span: Span,
}

impl Path {
    /// The word, if the path is one word without an index.
    pub fn single(&self) -> Option<Span> {
        match self.parts.as_slice() {
            [(word, None)] => Some(*word),
            _ => None,
        }
    }
}

/// A number literal and the unit that may follow.
#[derive(Clone, Debug)]
pub struct Measure {
    /// Sign, number, fraction.
    pub number: Number,
    /// The unit.
    pub unit: Option<UnitSyntax>,
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
#[derive(Clone, Debug)]
pub struct UnitSyntax {
    /// Unit words with their powers: 1 where they multiply, -1 where they divide.
    pub factors: SmallVec<[(Span, i32); 1]>,
    /// All of it.
    pub span: Span,
}

impl UnitSyntax {
    /// The word, if the unit is one bare word: then it may be no unit at all but the word that follows a count.
    pub fn single(&self) -> Option<Span> {
        match self.factors.as_slice() {
            [(word, 1)] if *word == self.span => Some(*word),
            _ => None,
        }
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
