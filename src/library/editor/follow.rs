//! Follows the schema's pattern along what stands in an entry, forgivingly: what is each piece, and what could come
//! next.

use crate::syntax::{Arg, Expr, Measure};
use crate::text::{Files, Span};
use crate::types::schema::Part;

/// What was found along an entry.
#[derive(Debug, Default)]
pub struct Followed {
    /// Each piece that fits, with what it is.
    pub pieces: Vec<(Span, &'static Part)>,
    /// What may stand behind the last piece.
    pub next: Vec<&'static Part>,
}

/// Follows `pattern` along the arguments.
pub fn follow(pattern: &'static [Part], args: &[Arg], files: &Files) -> Followed {
    let mut follower = Follower { args, at: 0, pending: None, files, found: Followed::default() };
    follower.all(pattern);
    follower.found
}

struct Follower<'t> {
    args: &'t [Arg],
    at: usize,
    /// The word behind a count, which the grammar took for a unit.
    pending: Option<Span>,
    files: &'t Files,
    found: Followed,
}

impl Follower<'_> {
    fn is_at_end(&self) -> bool {
        self.pending.is_none() && self.at >= self.args.len()
    }

    fn word(&self) -> Option<(&str, Span)> {
        let span = match (self.pending, self.args.get(self.at)?) {
            (Some(word), _) => word,
            (None, Arg::Word(span)) => *span,
            (None, arg) => arg.path()?.single()?,
        };
        Some((self.files.slice(span), span))
    }

    fn is_word(&self, word: &str) -> Option<Span> {
        self.word().filter(|found| found.0 == word).map(|found| found.1)
    }

    /// Takes what stands here for `part`.
    fn take(&mut self, part: &'static Part) {
        let Some(span) = self.pending.take().or_else(|| self.args.get(self.at).map(Arg::span)) else { return };
        self.at += 1;
        self.found.pieces.push((span, part));
    }

    /// Takes what stands here, if it is this word.
    fn take_word(&mut self, word: &str, part: &'static Part) -> bool {
        let stands = self.is_word(word).is_some();
        if stands {
            self.take(part);
        }
        stands
    }

    /// Follows the parts in turn; whether all of them stand there.
    fn all(&mut self, parts: &'static [Part]) -> bool {
        parts.iter().all(|part| self.part(part))
    }

    fn part(&mut self, part: &'static Part) -> bool {
        if self.is_at_end() {
            self.found.next.push(part);
            return matches!(part, Part::Maybe(..) | Part::Allowance(..));
        }
        match part {
            Part::Word(word) => self.take_word(word, part),
            Part::Maybe(word, rest) => !self.take_word(word, part) || self.all(rest),
            Part::OneOf(ways) => self.one_of(ways),
            Part::Allowance(..) => {
                if self.take_word("within", part) {
                    self.value(part)
                } else {
                    true
                }
            }
            Part::Count(..) => self.count(part),
            Part::Stages(_) => self.stages(part),
            Part::Order(_) => self.order(part),
            Part::Expectation(_) => {
                while !self.is_at_end() {
                    self.take(part);
                }
                self.found.next.push(part);
                true
            }
            Part::Quantity(..)
            | Part::List(..)
            | Part::Gauge(_)
            | Part::OneWord(..)
            | Part::NewName(_)
            | Part::Local(..)
            | Part::Reference(..)
            | Part::Text(_)
            | Part::Date(_)
            | Part::Rule(_) => {
                self.take(part);
                true
            }
        }
    }

    fn value(&mut self, part: &'static Part) -> bool {
        if self.is_at_end() {
            self.found.next.push(part);
            return false;
        }
        self.take(part);
        true
    }

    fn count(&mut self, part: &'static Part) -> bool {
        let here = self.args.get(self.at).filter(|_| self.pending.is_none());
        let Some(Measure { number, unit: Some(unit) }) = here.and_then(Arg::expr).and_then(Expr::measure) else {
            self.take(part);
            return true;
        };
        // Of `40 times`, the grammar takes the word for a unit: it is the next piece.
        self.found.pieces.push((number.span, part));
        self.pending = unit.single();
        if self.pending.is_none() {
            self.at += 1;
        }
        true
    }

    /// Takes the way whose leading words all stand there; the last way without any otherwise.
    fn one_of(&mut self, ways: &'static [&'static [Part]]) -> bool {
        let leads = |way: &'static [Part]| match way.first() {
            Some(Part::Word(word)) => self.is_word(word).is_some(),
            _ => true,
        };
        let with_word = |way: &&&'static [Part]| matches!(way.first(), Some(Part::Word(_))) && leads(way);
        let way = ways.iter().find(with_word).or_else(|| ways.iter().find(|way| leads(way)));
        way.is_some_and(|way| self.all(way))
    }

    fn stages(&mut self, part: &'static Part) -> bool {
        if self.take_word("computed", part) {
            return true;
        }
        loop {
            if !self.value(part) {
                return false;
            }
            if self.take_word("at", part) && !self.value(part) {
                return false;
            }
            let _ = self.take_word("off", part) || self.take_word("full", part);
            if self.is_at_end() {
                self.found.next.push(part);
            }
            if !self.take_word("then", part) {
                return true;
            }
        }
    }

    fn order(&mut self, part: &'static Part) -> bool {
        if self.take_word("computed", part) {
            return true;
        }
        loop {
            if !self.value(part) {
                return false;
            }
            if self.is_at_end() {
                self.found.next.push(part);
            }
            if !self.take_word("then", part) && !self.take_word("with", part) {
                return true;
            }
        }
    }
}
