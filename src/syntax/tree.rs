//! Declarations, entries and blocks.
//!
//! An editor keeps the trees of a whole library in memory, so that what can be told from something else is not kept,
//! and what few entries have has a place of its own. A test below holds the sizes.

use crate::syntax::{Expr, Path};
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
    pub(super) args: Box<[Arg]>,
    pub(super) more: Option<Box<More>>,
    pub(super) line: Span,
    /// The length of the head, which begins the line; 0 where there is none.
    head: u32,
}

/// What most entries do not have.
#[derive(Clone, Debug)]
pub(super) struct More {
    pub doc: Option<Span>,
    pub block: Option<Block>,
    pub broken: bool,
}

impl Entry {
    /// An entry whose `head`, where there is one, begins its `line`.
    pub(super) fn new(head: Option<Span>, line: Span, args: Vec<Arg>, more: More) -> Self {
        let plain = more.doc.is_none() && more.block.is_none() && !more.broken;
        Self {
            args: args.into_boxed_slice(),
            more: (!plain).then(|| Box::new(more)),
            line,
            head: head.map_or(0, |head| head.end - head.start),
        }
    }

    /// The first word; none where the entry does not begin with one.
    pub fn head(&self) -> Option<Span> {
        (self.head > 0).then(|| Span { end: self.line.start + self.head, ..self.line })
    }

    /// What follows the head.
    pub fn args(&self) -> &[Arg] {
        &self.args
    }

    /// From the head to the last argument.
    pub fn line(&self) -> Span {
        self.line
    }

    /// From the head to the end of the block.
    pub fn span(&self) -> Span {
        self.block().map_or(self.line, |block| self.line.to(block.span))
    }

    /// `{ … }`
    pub fn block(&self) -> Option<&Block> {
        self.more.as_ref()?.block.as_ref()
    }

    /// What stands in the block; nothing where there is none.
    pub fn inner(&self) -> &[Self] {
        self.block().map_or(&[], |block| &block.entries)
    }

    /// The doc comment above: from its first line to its last.
    pub fn doc(&self) -> Option<Span> {
        self.more.as_ref()?.doc
    }

    /// Whether a fault of syntax was reported in this entry; what follows from it is not reported again.
    pub fn broken(&self) -> bool {
        self.more.as_ref().is_some_and(|more| more.broken)
    }
}

/// `{ … }`
#[derive(Clone, Debug)]
pub struct Block {
    /// What stands between the braces.
    pub entries: Box<[Entry]>,
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
    List(Box<List>),
    /// `=`
    Equals(Span),
    /// `rule-name`, only after `accept`.
    Rule(Span),
}

/// `[a, b]`
#[derive(Clone, Debug)]
pub struct List {
    /// What stands between the commas.
    pub items: Vec<Expr>,
    /// From bracket to bracket.
    pub span: Span,
}

impl Arg {
    /// The bytes of the argument.
    pub fn span(&self) -> Span {
        match self {
            Self::Word(span) | Self::Text(span) | Self::Date(span) | Self::Equals(span) | Self::Rule(span) => *span,
            Self::List(list) => list.span,
            Self::Expr(expr) => expr.span(),
        }
    }

    /// The value or name, if the argument is one.
    pub fn expr(&self) -> Option<&Expr> {
        match self {
            Self::Expr(expr) => Some(expr),
            _ => None,
        }
    }

    /// The name, if the argument is one.
    pub fn path(&self) -> Option<Path<'_>> {
        self.expr()?.path()
    }
}

#[cfg(test)]
mod tests {
    use super::{Arg, Entry, More};
    use crate::syntax::Expr;
    use crate::syntax::expr::Rare;

    /// Of these, a library of ten thousand recipes has some ten million: eight bytes more in each are what a hundred
    /// recipes with all their texts take.
    #[test]
    fn trees_are_small() {
        assert_eq!(size_of::<Expr>(), 24);
        assert_eq!(size_of::<Arg>(), 24);
        assert_eq!(size_of::<Entry>(), 40);
        assert!(size_of::<More>() <= 56);
        assert!(size_of::<Rare>() <= 56);
    }
}
