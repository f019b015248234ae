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
        (1..=date.days_in_month()?).contains(&date.day).then_some(date)
    }

    fn days_in_month(self) -> Option<u8> {
        let leap = self.year.is_multiple_of(4) && (!self.year.is_multiple_of(100) || self.year.is_multiple_of(400));
        match self.month {
            4 | 6 | 9 | 11 => Some(30),
            2 if leap => Some(29),
            2 => Some(28),
            1..=12 => Some(31),
            _ => None,
        }
    }

    /// The day that comes so many days after 1970-01-01; none beyond the year 9999.
    pub fn from_days_since_1970(mut days: u64) -> Option<Self> {
        let mut date = Self { year: 1970, month: 1, day: 1 };
        loop {
            let length = u64::from(date.days_in_month()?);
            if days < length {
                return Some(Self { day: u8::try_from(days + 1).ok()?, ..date });
            }
            days -= length;
            date = match date.month {
                12 => Self { year: date.year + 1, month: 1, day: 1 },
                month => Self { month: month + 1, ..date },
            };
            if date.year > 9999 {
                return None;
            }
        }
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
    /// The first slot of this name in which `pick` finds what is wanted: a word and the value behind it can share one.
    fn find<'s, T>(&'s self, name: &str, pick: impl Fn(&'s Slot<'t>) -> Option<T>) -> Option<T> {
        self.slots.iter().filter(|slot| slot.0 == name).find_map(|slot| pick(&slot.1))
    }

    /// A quantity.
    pub fn quantity(&self, name: &str) -> Option<(&Quantity, Span)> {
        self.find(name, |slot| match slot {
            Slot::Quantity(quantity, span) => Some((quantity, *span)),
            _ => None,
        })
    }

    /// A list of quantities.
    pub fn quantities(&self, name: &str) -> Option<&[(Quantity, Span)]> {
        self.find(name, |slot| match slot {
            Slot::Quantities(all, _) => Some(all.as_slice()),
            _ => None,
        })
    }

    /// A wire size.
    pub fn gauge(&self, name: &str) -> Option<Gauge> {
        self.find(name, |slot| match slot {
            Slot::Gauge(gauge, _) => Some(*gauge),
            _ => None,
        })
    }

    /// A whole number.
    pub fn count(&self, name: &str) -> Option<(u64, Span)> {
        self.find(name, |slot| match slot {
            Slot::Count(count, span) => Some((*count, *span)),
            _ => None,
        })
    }

    /// A word of a fixed set.
    pub fn word(&self, name: &str) -> Option<(&'static str, Span)> {
        self.find(name, |slot| match slot {
            Slot::Word(word, span) => Some((*word, *span)),
            _ => None,
        })
    }

    /// Whether a word that may stand there does.
    pub fn has(&self, word: &str) -> bool {
        self.slots.iter().any(|slot| slot.0 == word)
    }

    /// A new or local name.
    pub fn name(&self, name: &str) -> Option<(&LocalName, Span)> {
        self.find(name, |slot| match slot {
            Slot::Name(local, span) => Some((local, *span)),
            _ => None,
        })
    }

    /// A declaration.
    pub fn reference(&self, name: &str) -> Option<(DeclId, Span)> {
        self.find(name, |slot| match slot {
            Slot::Reference(id, span) => Some((*id, *span)),
            _ => None,
        })
    }

    /// A text.
    pub fn text(&self, name: &str) -> Option<&str> {
        self.find(name, |slot| match slot {
            Slot::Text(text, _) => Some(text.as_str()),
            _ => None,
        })
    }

    /// A date.
    pub fn date(&self, name: &str) -> Option<(Date, Span)> {
        self.find(name, |slot| match slot {
            Slot::Date(date, span) => Some((*date, *span)),
            _ => None,
        })
    }

    /// What is allowed.
    pub fn allowance(&self, name: &str) -> Option<Allowance> {
        self.find(name, |slot| match slot {
            Slot::Allowance(allowance, _) => Some(*allowance),
            _ => None,
        })
    }

    /// Heat stages.
    pub fn stages(&self, name: &str) -> Option<&[Stage]> {
        self.find(name, |slot| match slot {
            Slot::Stages(stages, _) => Some(stages.as_slice()),
            _ => None,
        })
    }

    /// Where `computed` stands in the slot.
    pub fn computed(&self, name: &str) -> Option<Span> {
        self.find(name, |slot| match slot {
            Slot::Computed(span) => Some(*span),
            _ => None,
        })
    }

    /// Groups of bends.
    pub fn order(&self, name: &str) -> Option<&[Vec<(LocalName, Span)>]> {
        self.find(name, |slot| match slot {
            Slot::Order(groups, _) => Some(groups.as_slice()),
            _ => None,
        })
    }

    /// The two sides of an expectation.
    pub fn expectation(&self, name: &str) -> Option<(&'t Expr, Option<&'t Expr>, Span)> {
        self.find(name, |slot| match slot {
            Slot::Expectation(left, right, span) => Some((*left, *right, *span)),
            _ => None,
        })
    }

    /// A rule name.
    pub fn rule(&self, name: &str) -> Option<(&str, Span)> {
        self.find(name, |slot| match slot {
            Slot::Rule(rule, span) => Some((rule.as_str(), *span)),
            _ => None,
        })
    }
}

/// A parameter of a part: its kind, and its value once one is given. A broken one is still a name.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// The name.
    pub name: String,
    /// Where the name stands.
    pub span: Span,
    /// The kind that was declared; none where it is broken, which was reported.
    pub kind: Option<Kind>,
    /// The value; for a parameter without a default, a stand-in of the right kind. None where it is broken.
    pub value: Option<Quantity>,
    /// Whether the value is only a stand-in.
    pub open: bool,
}

#[cfg(test)]
mod tests {
    use super::Date;

    #[test]
    fn days_of_the_calendar() {
        assert_eq!(Date::parse("2028-02-29").map(|date| date.to_string()).as_deref(), Some("2028-02-29"));
        for wrong in ["2027-02-29", "2100-02-29", "2027-13-01", "2027-00-10", "2027-04-31", "27-04-30", "2027-4-30"] {
            assert_eq!(Date::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn days_since_1970() {
        let day = |days| Date::from_days_since_1970(days).unwrap().to_string();
        // 20 000 days: from memory, and by counting years of 365.2425 days.
        assert_eq!(
            (day(0), day(31), day(365), day(20_000)),
            ("1970-01-01".into(), "1970-02-01".into(), "1971-01-01".into(), "2024-10-04".into())
        );
    }
}
