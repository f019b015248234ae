//! What follows the head of an entry, in chumsky: it says what is wrong with an entry that `descent.rs` could not read.

use std::ops::Range;

use chumsky::error::Rich;
use chumsky::extra;
use chumsky::input::MapExtra;
use chumsky::inspector::SimpleState;
use chumsky::pratt::{infix, left, none, prefix, right};
use chumsky::prelude::{Boxed, IterParser, Parser, any, choice, end, just, recursive};
use smallvec::smallvec;

use crate::syntax::expr::{PathPart, Rare, Unit};
use crate::syntax::{Arg, Argument, Expr, Kind, List, Number, Operator, TokenTable};
use crate::text::Span;

/// The tokens of one entry.
type Tokens<'a> = &'a [Kind];

/// The state is where the entry's tokens lie in the file.
type Extra<'a> = extra::Full<Rich<'a, Kind>, SimpleState<Place<'a>>, ()>;

/// Turns token numbers within an entry into bytes of the file.
#[derive(Clone, Copy)]
pub struct Place<'a> {
    /// The tokens of the whole file.
    pub table: &'a TokenTable,
    /// The first token of the slice that is parsed.
    pub first: usize,
}

impl Place<'_> {
    /// The bytes of tokens of the entry.
    pub fn span(&self, tokens: Range<usize>) -> Span {
        self.table.cover(self.first + tokens.start..self.first + tokens.end)
    }
}

/// How an entry's arguments read; its head decides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Most entries.
    Plain,
    /// After `accept`: a rule name, then the plain form.
    Rule,
    /// After `expect`: expressions whose names are figures of the recipe.
    Figures,
}

fn here<'a>(e: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a>>) -> Span {
    let tokens = e.span();
    e.state().span(tokens.start..tokens.end)
}

/// All arguments of an entry.
pub fn arguments<'a>(form: Form) -> Boxed<'a, 'a, Tokens<'a>, Vec<Arg>, Extra<'a>> {
    let plain = argument(expression(form == Form::Figures)).repeated().collect::<Vec<_>>();
    if form == Form::Rule {
        let word = any().filter(|kind: &Kind| kind.is_word());
        let name = word.then(just(Kind::Minus).then(word).repeated()).map_with(|_, e| Arg::Rule(here(e)));
        return name
            .labelled("the name of a rule")
            .then(plain)
            .map(|(rule, mut rest)| {
                rest.insert(0, rule);
                rest
            })
            .then_ignore(end())
            .boxed();
    }
    plain.then_ignore(end()).boxed()
}

fn argument<'a>(expression: Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>>) -> Boxed<'a, 'a, Tokens<'a>, Arg, Extra<'a>> {
    let list = expression
        .clone()
        .separated_by(just(Kind::Comma))
        .allow_trailing()
        .collect()
        .delimited_by(
            just(Kind::OpenBracket).or(just(Kind::IndexBracket)).labelled("a list in `[ ]`"),
            just(Kind::CloseBracket),
        )
        .map_with(|items, e| Arg::List(Box::new(List { items, span: here(e) })));
    let reserved =
        any().filter(|kind: &Kind| kind.is_reserved() && *kind != Kind::If).map_with(|_, e| Arg::Word(here(e)));
    choice((
        expression.map(Arg::Expr),
        reserved.labelled("a word"),
        list,
        just(Kind::Text).labelled("a text in quotes").map_with(|_, e| Arg::Text(here(e))),
        just(Kind::Date).labelled("a date").map_with(|_, e| Arg::Date(here(e))),
        just(Kind::Equals).map_with(|_, e| Arg::Equals(here(e))),
    ))
    .boxed()
}

fn expression<'a>(figures: bool) -> Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>> {
    recursive(|expression| {
        let expression = expression.boxed();
        let path = path(expression.clone()).boxed();
        let choice_of_two = just(Kind::If)
            .ignore_then(expression.clone())
            .then_ignore(just(Kind::Then))
            .then(expression.clone())
            .then_ignore(just(Kind::Else))
            .then(expression.clone())
            .map_with(|((test, yes), no), e| Expr::rare(Rare::Choice(Box::new([test, yes, no])), here(e)));
        let paren = expression
            .clone()
            .delimited_by(just(Kind::OpenParen), just(Kind::CloseParen))
            .map_with(|inner, e| Expr::rare(Rare::Paren(inner), here(e)));
        let measure = number().then(unit().or_not()).map(|(number, unit)| Expr::from_measure(number, unit));
        let deviations = deviations().map(|(pair, unit)| Expr::deviations(pair, unit));
        let names = if figures { figure(path.clone()).or(path).boxed() } else { path };
        let atom = choice((
            measure.labelled("a quantity"),
            call(expression).labelled("a name"),
            names.labelled("a name"),
            choice_of_two,
            paren,
            deviations.labelled("a quantity"),
        ))
        .boxed();
        operators(atom)
    })
    .boxed()
}

/// Binary operators by rising strength: comparison, sum, product, sign, power, tolerance and range.
fn operators<'a>(atom: Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>>) -> Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>> {
    let sign = |kinds: &'static [(Kind, Operator)]| {
        any()
            .filter(move |kind| kinds.iter().any(|known| known.0 == *kind))
            .map_with(move |kind: Kind, e| {
                let operator = kinds.iter().find(|known| known.0 == kind).map_or(Operator::Add, |known| known.1);
                (operator, here(e))
            })
            .labelled("an operator")
    };
    let join = |a: Expr, (operator, at): (Operator, Span), b: Expr, _: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a>>| {
        Expr::binary(a, operator, at, b)
    };
    // A pair of deviations belongs to the operand just before it.
    let known = atom
        .then(deviations().or_not())
        .map(|(value, pair)| match pair {
            Some((pair, unit)) => value.deviating(pair, unit),
            None => value,
        })
        .boxed();
    // The minus before a number belongs to the number: `-20..5 degC` begins at -20.
    let digits = any().filter(|kind| matches!(kind, Kind::Number | Kind::Fraction));
    let minus = just(Kind::Minus).then_ignore(digits.not());
    known
        .pratt((
            infix(none(1), sign(COMPARISONS), join),
            infix(left(2), sign(SUMS), join),
            infix(left(3), sign(PRODUCTS), join),
            prefix(4, minus, |_, value: Expr, e: &mut MapExtra<'a, '_, Tokens<'a>, Extra<'a>>| {
                Expr::rare(Rare::Negate(value), here(e))
            }),
            infix(right(5), sign(&[(Kind::Caret, Operator::Power)]), join),
            infix(none(6), sign(TOLERANCES), join),
        ))
        .boxed()
}

const COMPARISONS: &[(Kind, Operator)] = &[
    (Kind::EqualTo, Operator::Equal),
    (Kind::NotEqualTo, Operator::NotEqual),
    (Kind::Less, Operator::Less),
    (Kind::LessOrEqual, Operator::LessOrEqual),
    (Kind::Greater, Operator::Greater),
    (Kind::GreaterOrEqual, Operator::GreaterOrEqual),
];
const SUMS: &[(Kind, Operator)] = &[(Kind::Plus, Operator::Add), (Kind::Minus, Operator::Subtract)];
const PRODUCTS: &[(Kind, Operator)] = &[
    (Kind::Star, Operator::Multiply),
    (Kind::UnitStar, Operator::Multiply),
    (Kind::Slash, Operator::Divide),
    (Kind::UnitSlash, Operator::Divide),
];
const TOLERANCES: &[(Kind, Operator)] = &[(Kind::PlusMinus, Operator::PlusMinus), (Kind::Range, Operator::Range)];

fn path<'a>(
    expression: Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>>,
) -> impl Parser<'a, Tokens<'a>, Expr, Extra<'a>> + Clone {
    let index = expression.delimited_by(just(Kind::IndexBracket), just(Kind::CloseBracket));
    let part = just(Kind::Word).map_with(|_, e| here(e)).then(index.map(Box::new).or_not());
    let part = part.map(|(word, index)| PathPart { word, index });
    part.separated_by(just(Kind::Dot))
        .at_least(1)
        .collect::<Vec<_>>()
        .map_with(|parts, e| Expr::from_path(parts, here(e)))
}

/// `bend lip.window.low`, `leg 2.tolerance`.
fn figure<'a>(
    path: Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>>,
) -> impl Parser<'a, Tokens<'a>, Expr, Extra<'a>> + Clone {
    let word = just(Kind::Word).map_with(|_, e| here(e));
    let count = just(Kind::Number).map_with(|_, e| here(e));
    let tail = just(Kind::Dot).ignore_then(path.clone()).or_not();
    let by_number = count.then(tail).map(|(count, path)| (Some(count), path));
    let by_name = path.map(|path| (None, Some(path)));
    word.then(by_number.or(by_name))
        .map_with(|(word, (count, path)), e| Expr::rare(Rare::Figure(word, count, path), here(e)))
}

fn number<'a>() -> impl Parser<'a, Tokens<'a>, Number, Extra<'a>> + Clone {
    let fraction = just(Kind::Fraction).map_with(|_, e| here(e));
    let whole = just(Kind::Number).map_with(|_, e| here(e));
    let mixed = whole.then(fraction.or_not()).map(|(whole, fraction)| (Some(whole), fraction));
    just(Kind::Minus)
        .or_not()
        .then(mixed.or(fraction.map(|fraction| (None, Some(fraction)))))
        .map_with(|(minus, (whole, fraction)), e| Number { negative: minus.is_some(), whole, fraction, span: here(e) })
}

fn deviations<'a>() -> impl Parser<'a, Tokens<'a>, (Span, Option<Unit>), Extra<'a>> + Clone {
    just(Kind::Deviations).map_with(|_, e| here(e)).then(unit().or_not())
}

/// `mm`, `W/in`, `W/(m K)`, `%`; operators between units are glued.
fn unit<'a>() -> impl Parser<'a, Tokens<'a>, Unit, Extra<'a>> + Clone {
    let word = choice((just(Kind::Word), just(Kind::Percent), just(Kind::DegreeSign)))
        .map_with(|_, e| here(e))
        .labelled("a unit");
    let star = choice((just(Kind::Star), just(Kind::UnitStar))).or_not();
    let product = word.separated_by(star).at_least(1).collect::<Vec<_>>();
    let group =
        choice((product.delimited_by(just(Kind::OpenParen), just(Kind::CloseParen)), word.map(|word| vec![word])));
    let more = choice((just(Kind::UnitSlash).to(-1), just(Kind::UnitStar).to(1))).then(group);
    word.then(more.repeated().collect::<Vec<_>>()).map_with(|(first, more), e| {
        let mut factors = smallvec![(first, 1)];
        factors.extend(more.into_iter().flat_map(|(power, group)| group.into_iter().map(move |word| (word, power))));
        Unit { factors, span: here(e) }
    })
}

fn call<'a>(
    expression: Boxed<'a, 'a, Tokens<'a>, Expr, Extra<'a>>,
) -> impl Parser<'a, Tokens<'a>, Expr, Extra<'a>> + Clone {
    let word = just(Kind::Word).map_with(|_, e| here(e));
    let kind = just(Kind::Colon).ignore_then(word);
    let value = just(Kind::Equals).ignore_then(expression.clone());
    let parameter =
        word.then(kind).then(value.clone().or_not()).map(|((name, kind), value)| (Some(name), Some(kind), value));
    let named = word.then(value).map(|(name, value)| (Some(name), None, Some(value)));
    let plain = expression.map(|value| (None, None, Some(value)));
    let argument = choice((parameter, named, plain)).map_with(|(name, kind, value), e| Argument {
        name,
        kind,
        value,
        span: here(e),
    });
    let list = argument
        .separated_by(just(Kind::Comma))
        .allow_trailing()
        .collect()
        .delimited_by(just(Kind::CallParen), just(Kind::CloseParen));
    word.then(list).map_with(|(name, arguments), e| Expr::rare(Rare::Call(name, arguments), here(e)))
}
