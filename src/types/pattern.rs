//! Matches what follows a head against the schema's pattern.

use crate::names::nearest;
use crate::report::Diagnostic;
use crate::syntax::{Arg, Entry, Expr, ExprKind, Measure, Operator, decimal_comma};
use crate::text::{Files, Span};
use crate::types::check::{Checker, Env};
use crate::types::schema::{BlockSchema, EntrySchema, Part, Quantities};
use crate::types::value::{Allowance, Date, LocalName, Slot};
use crate::types::wording;
use crate::units::{Gauge, Kind, Literal, Quantity};

/// Reads the arguments of an entry from left to right.
pub struct Cursor<'t, 'f> {
    args: &'t [Arg],
    next: usize,
    /// The word behind a count, which the grammar took for a unit.
    pending: Option<Span>,
    /// The last thing that was read.
    pub(super) last: Span,
    head: Span,
    /// The block in which the entry stands.
    block: &'static BlockSchema,
    pub(super) files: &'f Files,
}

/// The next thing at the cursor.
enum Item<'t> {
    Arg(&'t Arg),
    /// The word behind a count.
    Word(Span),
}

type Slots<'t> = Vec<(&'static str, Slot<'t>)>;

impl<'t, 'f> Cursor<'t, 'f> {
    /// At the start of an entry's arguments.
    pub fn new(block: &'static BlockSchema, entry: &'t Entry, head: Span, files: &'f Files) -> Self {
        Self { args: entry.args(), next: 0, pending: None, last: head, head, block, files }
    }

    /// All that is left to read.
    fn rest(&self) -> &'t [Arg] {
        self.args.get(self.next..).unwrap_or(&[])
    }

    fn peek(&self) -> Option<Item<'t>> {
        match self.pending {
            Some(word) => Some(Item::Word(word)),
            None => self.args.get(self.next).map(Item::Arg),
        }
    }

    pub(super) fn advance(&mut self) {
        match self.pending.take() {
            Some(word) => self.last = word,
            None => {
                if let Some(arg) = self.args.get(self.next) {
                    self.last = arg.span();
                    self.next += 1;
                }
            }
        }
    }

    pub(super) fn span(&self) -> Option<Span> {
        self.peek().map(|item| match item {
            Item::Arg(arg) => arg.span(),
            Item::Word(span) => span,
        })
    }

    /// The word at the cursor, if one word stands there.
    fn word(&self) -> Option<(&'f str, Span)> {
        let span = match self.peek()? {
            Item::Word(span) => span,
            Item::Arg(Arg::Word(span)) => *span,
            Item::Arg(arg) => arg.path()?.single()?,
        };
        Some((self.files.slice(span), span))
    }

    /// One of these words, if it stands right behind what is at the cursor.
    fn word_behind(&self, words: &[&str]) -> Option<(&'f str, Span)> {
        let behind = Cursor { args: self.args, next: self.next + 1, pending: None, ..*self };
        behind.word().filter(|(word, _)| words.contains(word))
    }

    pub(super) fn is_word(&self, word: &str) -> bool {
        self.word().is_some_and(|found| found.0 == word)
    }

    pub(super) fn take_word(&mut self, word: &str) -> Option<Span> {
        let (found, span) = self.word()?;
        (found == word).then(|| {
            self.advance();
            span
        })
    }

    pub(super) fn expr(&self) -> Option<&'t Expr> {
        match self.peek()? {
            Item::Arg(Arg::Expr(expr)) => Some(expr),
            _ => None,
        }
    }
}

impl<'t> Checker<'_, 't> {
    /// The slots of an entry; none where something did not fit, which was reported.
    pub(super) fn slots(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slots<'t>> {
        let mut slots = Vec::with_capacity(schema.pattern.len());
        let before = self.faults.len();
        let whole = self.parts(env, schema, schema.pattern, cursor, &mut slots);
        if whole.is_none() && self.faults.len() > before + 1 {
            // What does not fit after a fault in the same entry follows from it: one cause, one message.
            self.faults.pop_if(|fault| ["unfinished-entry", "misfit"].contains(&fault.name()));
        }
        whole?;
        if let Some(span) = cursor.span() {
            let fault = wording::too_much(schema, cursor.block, span, self.files.slice(span), cursor.last);
            self.report(env, fault);
            return None;
        }
        Some(slots)
    }

    fn parts(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        parts: &'static [Part],
        cursor: &mut Cursor<'t, '_>,
        slots: &mut Slots<'t>,
    ) -> Option<()> {
        let mut sound = Some(());
        for part in parts {
            let before = (cursor.next, cursor.pending);
            let found = self.part(env, schema, part, cursor, slots);
            if found.is_none() {
                // A value of the wrong kind was read to its end: what follows can still be checked.
                if (cursor.next, cursor.pending) == before {
                    return None;
                }
                sound = None;
            }
        }
        sound
    }

    fn part(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
        slots: &mut Slots<'t>,
    ) -> Option<()> {
        let slot = match part {
            Part::Word(word) => {
                return match cursor.take_word(word) {
                    Some(span) => {
                        slots.push((word, Slot::Word(word, span)));
                        Some(())
                    }
                    None => self.unfit(env, schema, part, cursor),
                };
            }
            Part::Maybe(word, rest) => {
                let Some(span) = cursor.take_word(word) else { return Some(()) };
                // A word with values behind it is known by its values.
                if rest.is_empty() {
                    slots.push((word, Slot::Word(word, span)));
                }
                return self.parts(env, schema, rest, cursor, slots);
            }
            Part::OneOf(ways) => return self.one_of(env, schema, part, ways, cursor, slots),
            Part::Allowance(name, kind) => {
                let Some(at) = cursor.take_word("within") else { return Some(()) };
                (*name, self.allowance(env, schema, *kind, at, cursor)?)
            }
            Part::Quantity(name, wanted) => (*name, self.quantity_slot(env, schema, part, wanted, cursor)?),
            Part::List(name, wanted, least, most) => {
                (*name, self.list(env, schema, part, (wanted, *least, *most), cursor)?)
            }
            Part::Gauge(name) => (*name, self.gauge(env, schema, part, cursor)?),
            Part::Count(name, low, high) => (*name, self.count(env, schema, part, (*low, *high), cursor)?),
            Part::OneWord(name, words) => (*name, self.one_word(env, schema, part, words, cursor)?),
            Part::NewName(name) => match cursor.word() {
                Some((word, span)) => {
                    cursor.advance();
                    (*name, Slot::Name(LocalName::Name(word.to_owned()), span))
                }
                None => return self.unfit(env, schema, part, cursor),
            },
            Part::Local(name, _) => (*name, self.local(env, schema, part, cursor)?),
            Part::Reference(name, kinds) => match cursor.peek() {
                Some(Item::Arg(arg)) if let Some(path) = arg.path() => {
                    cursor.advance();
                    (*name, Slot::Reference(self.reference(env, path, kinds)?, path.span))
                }
                _ => return self.unfit(env, schema, part, cursor),
            },
            Part::Text(name) => match cursor.peek() {
                Some(Item::Arg(Arg::Text(span))) => {
                    cursor.advance();
                    (*name, Slot::Text(unquoted(self.files.slice(*span)), *span))
                }
                _ => return self.unfit(env, schema, part, cursor),
            },
            Part::Date(name) => match cursor.peek() {
                Some(Item::Arg(Arg::Date(span))) => {
                    cursor.advance();
                    let Some(date) = Date::parse(self.files.slice(*span)) else {
                        self.report(env, wording::no_such_day(*span, self.files.slice(*span)));
                        return None;
                    };
                    (*name, Slot::Date(date, *span))
                }
                _ => return self.unfit(env, schema, part, cursor),
            },
            Part::Stages(name) => (*name, self.stages(env, schema, part, cursor)?),
            Part::Order(name) => (*name, self.order(env, schema, part, cursor)?),
            Part::Expectation(name) => (*name, self.expectation(env, schema, part, cursor)?),
            Part::Rule(name) => match cursor.peek() {
                Some(Item::Arg(Arg::Rule(span))) => {
                    cursor.advance();
                    (*name, Slot::Rule(self.files.slice(*span).to_owned(), *span))
                }
                _ => return self.unfit(env, schema, part, cursor),
            },
        };
        slots.push(slot);
        Some(())
    }

    /// Reports that something else than `part` stands at the cursor.
    pub(super) fn unfit<T>(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &Cursor<'t, '_>,
    ) -> Option<T> {
        let fault = match cursor.span() {
            Some(span) => wording::unfit(schema, part, span, self.files.slice(span), cursor.last),
            None => wording::too_little(schema, part, cursor.last),
        };
        self.report(env, fault);
        None
    }

    /// Takes the way whose leading words all stand there; the last way without any otherwise.
    fn one_of(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        ways: &'static [&'static [Part]],
        cursor: &mut Cursor<'t, '_>,
        slots: &mut Slots<'t>,
    ) -> Option<()> {
        let leads = |way: &[Part]| {
            let mut ahead = Cursor { args: cursor.args, next: cursor.next, pending: cursor.pending, ..*cursor };
            let mut count = 0;
            for part in way {
                let Part::Word(word) = part else { break };
                ahead.take_word(word)?;
                count += 1;
            }
            Some(count)
        };
        let best =
            ways.iter().filter_map(|way| Some((leads(way)?, *way))).fold(None, |best: Option<(usize, _)>, way| {
                match best {
                    Some(best) if best.0 >= way.0 => Some(best),
                    _ => Some(way),
                }
            });
        match best {
            Some((_, way)) => self.parts(env, schema, way, cursor, slots),
            None => self.unfit(env, schema, part, cursor),
        }
    }

    fn quantity_slot(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        wanted: &Quantities,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some(expr) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
        cursor.advance();
        let quantity = self.fitting(env, schema, wanted, expr)?;
        Some(Slot::Quantity(quantity, expr.span()))
    }

    /// A quantity that has the kind, the exactness and the size that are wanted.
    pub(super) fn fitting(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        wanted: &Quantities,
        expr: &Expr,
    ) -> Option<Quantity> {
        let found = self.faults.len();
        let quantity = self.quantity(env, expr, Some(wanted.kind))?;
        if !quantity.is(wanted.kind) {
            let fault = wording::wrong_kind(schema.word, wanted.kind, &quantity, expr, self.files);
            self.report(env, fault);
        } else if !wanted.known && quantity.value.sources().next().is_some() {
            self.report(env, wording::inexact(schema, wanted.kind, expr, self.files));
        } else if !env.has_open_parameters() {
            let outside = self.ranges.of(wanted).filter(|range| !range.holds(&quantity.value)).cloned();
            if let Some(range) = outside {
                let unit = self.written_unit(env, expr);
                self.report(env, wording::out_of_range(schema, &range, expr.span(), unit, self.files));
            }
        }
        (self.faults.len() == found).then_some(quantity)
    }

    fn list(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        (wanted, least, most): (&Quantities, usize, usize),
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some(Item::Arg(Arg::List(list))) = cursor.peek() else {
            if let Some(fault) = self.loose_list(schema, cursor) {
                self.report(env, fault);
                return None;
            }
            return self.unfit(env, schema, part, cursor);
        };
        cursor.advance();
        if let Some(fault) = self.split_number(&list.items) {
            self.report(env, fault);
            return None;
        }
        if !(least..=most).contains(&list.items.len()) {
            self.report(env, wording::list_length(schema, list.span, list.items.len(), (least, most)));
            return None;
        }
        let all: Vec<Option<(Quantity, Span)>> =
            list.items.iter().map(|item| Some((self.fitting(env, schema, wanted, item)?, item.span()))).collect();
        Some(Slot::Quantities(all.into_iter().collect::<Option<_>>()?, list.span))
    }

    /// `2,86 mm` within a list: a number without a unit, and glued to it one with a unit.
    fn split_number(&self, items: &[Expr]) -> Option<Diagnostic> {
        items.windows(2).find_map(|pair| {
            let [before, after] = pair else { return None };
            match (before.kind(), after.kind()) {
                (
                    ExprKind::Measure(Measure { number: whole, unit: None }),
                    ExprKind::Measure(Measure { number: part, unit: Some(_) }),
                ) => {
                    let (between, both) = (whole.span.after().to(part.span.before()), whole.span.to(part.span));
                    (self.files.slice(between) == ",").then(|| decimal_comma(both, self.files.slice(both)))
                }
                _ => None,
            }
        })
    }

    /// `1220 mm x 2440 mm`, where a list is wanted.
    fn loose_list(&self, schema: &'static EntrySchema, cursor: &Cursor<'t, '_>) -> Option<Diagnostic> {
        let mut items: Vec<Span> = Vec::new();
        for arg in cursor.rest() {
            match arg.expr()?.kind() {
                ExprKind::Measure(_) => items.push(arg.span()),
                ExprKind::Binary(left, Operator::Multiply, _, right) => items.extend([left.span(), right.span()]),
                ExprKind::Path(path) if matches!(self.files.slice(path.span), "x" | "X" | "by" | "and") => {}
                _ => return None,
            }
        }
        let (first, last) = (items.first()?, items.last()?);
        let texts: Vec<&str> = items.iter().map(|item| self.files.slice(*item)).collect();
        Some(wording::list_wanted(schema, first.to(*last), &texts))
    }

    fn gauge(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some(expr) = cursor.expr() else { return self.unfit(env, schema, part, cursor) };
        cursor.advance();
        let text = match expr.kind() {
            ExprKind::Measure(Measure { number, unit: Some(unit) }) if self.files.slice(unit.span) == "AWG" => {
                self.files.slice(number.span)
            }
            _ => {
                // `AWG 20` is two things, but one mistake.
                let mut span = expr.span();
                if self.files.slice(span) == "AWG"
                    && let Some(number) = cursor.expr()
                {
                    span = span.to(number.span());
                    cursor.advance();
                }
                let found = self.literal(env, expr);
                let whole = cursor.head.to(span);
                self.report(env, wording::not_a_gauge(schema, whole, span, found.as_ref(), self.files));
                return None;
            }
        };
        let Some(gauge) = Gauge::parse(text) else {
            self.report(env, wording::no_such_gauge(expr.span(), text));
            return None;
        };
        Some(Slot::Gauge(gauge, expr.span()))
    }

    fn count(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        (low, high): (u64, u64),
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some((measure, span)) = cursor.expr().and_then(|expr| Some((expr.measure()?, expr.span()))) else {
            return self.unfit(env, schema, part, cursor);
        };
        let behind = measure.unit.map(|unit| unit.single());
        let whole = measure.number.whole.filter(|_| measure.number.fraction.is_none() && !measure.number.negative);
        let value = whole.and_then(|whole| Literal::parse(self.files.slice(whole)).ok()?.whole());
        cursor.advance();
        if let Some(Some(_)) = behind {
            cursor.last = measure.number.span;
            cursor.pending = behind.flatten();
        }
        let (Some(value), None | Some(Some(_))) = (value, behind) else {
            let span = if cursor.pending.is_some() { measure.number.span } else { span };
            self.report(env, wording::not_a_count(schema, span, self.files.slice(span)));
            return None;
        };
        if !(low..=high).contains(&value) {
            self.report(env, wording::count_out_of_range(schema, measure.number.span, value, (low, high)));
            return None;
        }
        Some(Slot::Count(value, measure.number.span))
    }

    fn one_word(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        words: &'static [&'static str],
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some((word, span)) = cursor.word() else {
            if let (Some(found), Some((word, late))) = (cursor.span(), cursor.word_behind(words)) {
                self.report(env, wording::word_too_late(schema, found, word, late));
                return None;
            }
            return self.unfit(env, schema, part, cursor);
        };
        cursor.advance();
        if let Some(known) = words.iter().find(|known| **known == word) {
            return Some(Slot::Word(known, span));
        }
        let near = nearest(word, words.iter().copied());
        self.report(env, wording::not_one_of(schema, span, word, words, near));
        None
    }

    fn local(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        part: &'static Part,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some((name, span)) = self.local_name(cursor) else { return self.unfit(env, schema, part, cursor) };
        cursor.advance();
        Some(Slot::Name(name, span))
    }

    /// `lip`, `2`, `rib[2].crest`.
    pub(super) fn local_name(&self, cursor: &Cursor<'t, '_>) -> Option<(LocalName, Span)> {
        let span = cursor.span()?;
        match cursor.peek()? {
            Item::Word(word) => Some((LocalName::Name(self.files.slice(word).to_owned()), word)),
            Item::Arg(arg) => match arg.expr()?.kind() {
                ExprKind::Path(_) => Some((LocalName::Name(self.files.slice(span).to_owned()), span)),
                ExprKind::Measure(Measure { number, unit: None }) => {
                    let whole = number.whole.filter(|_| number.fraction.is_none() && !number.negative)?;
                    Some((LocalName::Number(Literal::parse(self.files.slice(whole)).ok()?.whole()?), span))
                }
                _ => None,
            },
        }
    }

    fn allowance(
        &mut self,
        env: Env<'_>,
        schema: &'static EntrySchema,
        kind: Kind,
        at: Span,
        cursor: &mut Cursor<'t, '_>,
    ) -> Option<Slot<'t>> {
        let Some(expr) = cursor.expr() else {
            self.report(env, wording::allowance_wanted(schema, kind, cursor.span().unwrap_or(at)));
            return None;
        };
        cursor.advance();
        let (above, below) = if let ExprKind::Deviations(pair, unit) = expr.kind() {
            self.deviations(env, pair, unit)?
        } else {
            let both = self.quantity(env, expr, Some(kind))?;
            (both.clone(), both)
        };
        if !above.is(kind) {
            let fault = wording::wrong_kind(schema.word, kind, &above, expr, self.files);
            self.report(env, fault);
            return None;
        }
        let (below, above) = (below.value.nominal(), above.value.nominal());
        if below < 0.0 || above < 0.0 {
            self.report(env, wording::negative_allowance(expr.span()));
            return None;
        }
        Some(Slot::Allowance(Allowance { below, above }, at.to(expr.span())))
    }
}

/// The text between the quotes, escapes resolved.
fn unquoted(text: &str) -> String {
    let inner = text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text);
    let mut plain = String::with_capacity(inner.len());
    let mut characters = inner.chars();
    while let Some(character) = characters.next() {
        match character {
            '\\' => plain.extend(characters.next()),
            other => plain.push(other),
        }
    }
    plain
}
