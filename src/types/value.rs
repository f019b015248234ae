use crate::names::DeclId;
use crate::syntax::Expr;
use crate::text::{FileId, Span};
use crate::types::schema::EntrySchema;
use crate::units::{Gauge, Kind, Quantity};

/// A block whose entries were checked against its schema.
#[derive(Clone, Debug, Default)]
pub struct CheckedBlock<'t> {
    /// What stands in it and could be understood, in order.
    pub entries: Vec<CheckedEntry<'t>>,
    /// Whether something in it was reported; then what is missing may have been meant.
    pub broken: bool,
    /// The whole block; for a copy, the copy's own.
    pub span: Option<Span>,
}

/// An entry that was understood.
#[derive(Clone, Debug)]
pub struct CheckedEntry<'t> {
    /// What kind of entry it is.
    pub schema: &'static EntrySchema,
    /// The values of its slots.
    pub slots: Vec<(&'static str, Slot<'t>)>,
    /// Its block.
    pub block: Option<CheckedBlock<'t>>,
    /// The line it stands on, without its block.
    pub span: Span,
    /// The head word.
    pub head: Span,
    /// The file it stands in.
    pub file: FileId,
}

/// The value of one slot.
#[derive(Clone, Debug)]
pub enum Slot<'t> {
    /// A quantity.
    Quantity(Quantity, Span),
    /// A list of quantities.
    Quantities(Vec<(Quantity, Span)>, Span),
    /// A wire size.
    Gauge(Gauge, Span),
    /// A whole number.
    Count(u64, Span),
    /// A word of a fixed set, or a word that must stand there.
    Word(&'static str, Span),
    /// A new or local name.
    Name(LocalName, Span),
    /// A declaration.
    Reference(DeclId, Span),
    /// A text, without its quotes.
    Text(String, Span),
    /// A date.
    Date(Date, Span),
    /// What is allowed: below and above the value.
    Allowance(Allowance, Span),
    /// Heat stages.
    Stages(Vec<Stage>, Span),
    /// Groups of bends.
    Order(Vec<Vec<(LocalName, Span)>>, Span),
    /// The two sides of an expectation.
    Expectation(&'t Expr, Option<&'t Expr>, Span),
    /// `computed`.
    Computed(Span),
    /// A rule name.
    Rule(String, Span),
}

/// A name that is local to a bench, a profile or a recipe: `lip`, `2`, `rib[2]`, `rib[2].crest`.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LocalName {
    /// A number, from 1.
    Number(u64),
    /// A name.
    Name(String),
}

impl std::fmt::Display for LocalName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => number.fmt(f),
            Self::Name(name) => name.fmt(f),
        }
    }
}

/// How far a value may lie below and above what the drawing says, in SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowance {
    /// Not negative.
    pub below: f64,
    /// Not negative.
    pub above: f64,
}

/// One stretch of heating.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// How long.
    pub time: Quantity,
    /// Share of the full power, 0 to 1; 0 is a soak with the heater off.
    pub level: f64,
    /// Where it stands.
    pub span: Span,
}

/// A day of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// 0 to 9999.
    pub year: u16,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31.
    pub day: u8,
}

impl Date {
    /// Reads `2027-06-30`; none if there is no such day.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
        if parts.next().is_some() || year.len() != 4 || month.len() != 2 || day.len() != 2 {
            return None;
        }
        let date = Self { year: year.parse().ok()?, month: month.parse().ok()?, day: day.parse().ok()? };
        let leap = date.year % 4 == 0 && (date.year % 100 != 0 || date.year % 400 == 0);
        let days = match date.month {
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            1..=12 => 31,
            _ => return None,
        };
        (1..=days).contains(&date.day).then_some(date)
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl<'t> CheckedBlock<'t> {
    /// The first entry with this head.
    pub fn entry(&self, word: &str) -> Option<&CheckedEntry<'t>> {
        self.entries.iter().find(|entry| entry.schema.word == word)
    }

    /// All entries with this head.
    pub fn entries_of<'s>(&'s self, word: &'s str) -> impl Iterator<Item = &'s CheckedEntry<'t>> {
        self.entries.iter().filter(move |entry| entry.schema.word == word)
    }
}

/// Access to slots by name and kind; none where the slot is not there.
impl<'t> CheckedEntry<'t> {
    fn slot(&self, name: &str) -> Option<&Slot<'t>> {
        self.slots.iter().find(|slot| slot.0 == name).map(|slot| &slot.1)
    }

    /// A quantity.
    pub fn quantity(&self, name: &str) -> Option<(&Quantity, Span)> {
        match self.slot(name)? {
            Slot::Quantity(quantity, span) => Some((quantity, *span)),
            _ => None,
        }
    }

    /// A list of quantities.
    pub fn quantities(&self, name: &str) -> Option<&[(Quantity, Span)]> {
        match self.slot(name)? {
            Slot::Quantities(all, _) => Some(all),
            _ => None,
        }
    }

    /// A wire size.
    pub fn gauge(&self, name: &str) -> Option<Gauge> {
        match self.slot(name)? {
            Slot::Gauge(gauge, _) => Some(*gauge),
            _ => None,
        }
    }

    /// A whole number.
    pub fn count(&self, name: &str) -> Option<(u64, Span)> {
        match self.slot(name)? {
            Slot::Count(count, span) => Some((*count, *span)),
            _ => None,
        }
    }

    /// A word of a fixed set.
    pub fn word(&self, name: &str) -> Option<(&'static str, Span)> {
        match self.slot(name)? {
            Slot::Word(word, span) => Some((word, *span)),
            _ => None,
        }
    }

    /// Whether a word that may stand there does.
    pub fn has(&self, word: &str) -> bool {
        self.slot(word).is_some()
    }

    /// A new or local name.
    pub fn name(&self, name: &str) -> Option<(&LocalName, Span)> {
        match self.slot(name)? {
            Slot::Name(local, span) => Some((local, *span)),
            _ => None,
        }
    }

    /// A declaration.
    pub fn reference(&self, name: &str) -> Option<(DeclId, Span)> {
        match self.slot(name)? {
            Slot::Reference(id, span) => Some((*id, *span)),
            _ => None,
        }
    }

    /// A text.
    pub fn text(&self, name: &str) -> Option<&str> {
        match self.slot(name)? {
            Slot::Text(text, _) => Some(text),
            _ => None,
        }
    }

    /// A date.
    pub fn date(&self, name: &str) -> Option<(Date, Span)> {
        match self.slot(name)? {
            Slot::Date(date, span) => Some((*date, *span)),
            _ => None,
        }
    }

    /// What is allowed.
    pub fn allowance(&self, name: &str) -> Option<Allowance> {
        match self.slot(name)? {
            Slot::Allowance(allowance, _) => Some(*allowance),
            _ => None,
        }
    }

    /// Heat stages.
    pub fn stages(&self, name: &str) -> Option<&[Stage]> {
        match self.slot(name)? {
            Slot::Stages(stages, _) => Some(stages),
            _ => None,
        }
    }

    /// Where `computed` stands in the slot.
    pub fn computed(&self, name: &str) -> Option<Span> {
        match self.slot(name)? {
            Slot::Computed(span) => Some(*span),
            _ => None,
        }
    }

    /// Groups of bends.
    pub fn order(&self, name: &str) -> Option<&[Vec<(LocalName, Span)>]> {
        match self.slot(name)? {
            Slot::Order(groups, _) => Some(groups),
            _ => None,
        }
    }

    /// The two sides of an expectation.
    pub fn expectation(&self, name: &str) -> Option<(&'t Expr, Option<&'t Expr>, Span)> {
        match self.slot(name)? {
            Slot::Expectation(left, right, span) => Some((left, *right, *span)),
            _ => None,
        }
    }

    /// A rule name.
    pub fn rule(&self, name: &str) -> Option<(&str, Span)> {
        match self.slot(name)? {
            Slot::Rule(rule, span) => Some((rule, *span)),
            _ => None,
        }
    }
}

/// A parameter of a part: its kind, and its value once one is given.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// The name.
    pub name: String,
    /// Where the name stands.
    pub span: Span,
    /// The kind that was declared.
    pub kind: Kind,
    /// The value; for a parameter without a default, a stand-in of the right kind.
    pub value: Quantity,
    /// Whether the value is only a stand-in.
    pub open: bool,
}
