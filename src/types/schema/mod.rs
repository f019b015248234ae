//! The one table of declarations and entries. The checker, the messages, the reference page and the editor
//! read it; nothing else says what an entry takes.

mod bench;
mod catalogue;
mod controller;
mod heater;
mod part;
mod recipe;
mod stock;

use crate::names::DeclKind;
use crate::units::Kind;

/// What may stand in a block.
#[derive(Debug)]
pub struct BlockSchema {
    /// The block in a message: `sheet`, `clamp`.
    pub name: &'static str,
    /// One line that says what it is.
    pub meaning: &'static str,
    /// Its entries, in the order in which the reference shows them.
    pub entries: &'static [EntrySchema],
}

impl BlockSchema {
    /// The entry that `word` begins.
    pub fn entry(&self, word: &str) -> Option<&'static EntrySchema> {
        self.entries.iter().find(|entry| entry.word == word)
    }
}

/// One kind of entry.
#[derive(Debug)]
pub struct EntrySchema {
    /// The word at its head.
    pub word: &'static str,
    /// What follows the head.
    pub pattern: &'static [Part],
    /// The block after it.
    pub block: Option<&'static BlockSchema>,
    /// Whether it must be there.
    pub presence: Presence,
    /// How often it may be there.
    pub many: Many,
    /// Other entries that say the same in another way: one of them is enough, and only one may be there.
    pub instead_of: &'static [&'static str],
    /// One line that says what it is.
    pub meaning: &'static str,
}

/// Whether an entry must be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Presence {
    /// Leaving it out is an error.
    Required,
    /// Leaving it out means what the text says.
    Optional(&'static str),
}

/// How often an entry may be there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Many {
    /// Once.
    Once,
    /// Once for each first argument.
    Keyed,
    /// As often as wanted; the order counts.
    Any,
}

/// One piece of what follows a head.
#[derive(Debug)]
pub enum Part {
    /// A quantity, perhaps with what is known about it.
    Quantity(&'static str, Quantities),
    /// A list of quantities of one kind in `[ ]`, of a length within the bounds.
    List(&'static str, Quantities, usize, usize),
    /// A wire size: `20 AWG`.
    Gauge(&'static str),
    /// A whole number without a unit.
    Count(&'static str, u64, u64),
    /// One of several words.
    OneWord(&'static str, &'static [&'static str]),
    /// A new local name, or a number where it says so.
    NewName(&'static str),
    /// A local name of the thing meant, or its number.
    Local(&'static str, &'static str),
    /// The name of a declaration of one of the kinds.
    Reference(&'static str, &'static [DeclKind]),
    /// A text in quotes.
    Text(&'static str),
    /// A date.
    Date(&'static str),
    /// A word that must stand there.
    Word(&'static str),
    /// A word that may stand there, and what then follows it.
    Maybe(&'static str, &'static [Part]),
    /// One of several ways, told apart by their first piece.
    OneOf(&'static [&'static [Part]]),
    /// What the drawing allows: `within 0.5 mm`, `within +0.8/-0.2 mm`; the slot, and the kind.
    Allowance(&'static str, Kind),
    /// Heat stages: `140 s`, `140 s at 55 %`, `30 s full then 45 s at 55 %`, `computed`.
    Stages(&'static str),
    /// Bends in order: `lip then front with back`.
    Order(&'static str),
    /// What is expected: `cycle_time <= 25 min`, `blank.length within 375..395 mm`.
    Expectation(&'static str),
    /// A rule name.
    Rule(&'static str),
}

/// What a quantity may be.
#[derive(Clone, Copy, Debug)]
pub struct Quantities {
    /// Its kind.
    pub kind: Kind,
    /// Lowest and highest value that makes sense, in `unit`; both ends are allowed.
    pub low: f64,
    /// See `low`.
    pub high: f64,
    /// A unit as the language writes it.
    pub unit: &'static str,
    /// Whether the value may carry what is known about it (`±`, a range): a control may not, it is exact.
    pub known: bool,
}

/// The schema of a declaration's block.
pub fn declaration(kind: DeclKind) -> Option<&'static BlockSchema> {
    Some(match kind {
        DeclKind::Let => return None,
        DeclKind::Alloy => &catalogue::ALLOY,
        DeclKind::Material => &catalogue::MATERIAL,
        DeclKind::Metal => &catalogue::METAL,
        DeclKind::Sheet => &stock::SHEET,
        DeclKind::Lot => &stock::LOT,
        DeclKind::Wire => &heater::WIRE,
        DeclKind::Supply => &heater::SUPPLY,
        DeclKind::Heater => &heater::HEATER,
        DeclKind::Bench => &bench::BENCH,
        DeclKind::Controller => &controller::CONTROLLER,
        DeclKind::Part => &part::PART,
        DeclKind::Recipe => &recipe::RECIPE,
        DeclKind::Batch => &recipe::BATCH,
    })
}

/// Whether a word can follow a quantity of a kind somewhere in the language: where one stands after a bare number, the
/// unit was forgotten.
pub fn follows(kind: Kind, word: &str) -> bool {
    let mut blocks: Vec<&BlockSchema> = DeclKind::ALL.into_iter().filter_map(declaration).collect();
    let mut next = 0;
    while let Some(block) = blocks.get(next).copied() {
        next += 1;
        if block.entries.iter().any(|entry| found_after(entry.pattern, kind, word, false).is_none()) {
            return true;
        }
        // A block may stand within itself.
        for inner in block.entries.iter().filter_map(|entry| entry.block) {
            if !blocks.iter().any(|known| std::ptr::eq(*known, inner)) {
                blocks.push(inner);
            }
        }
    }
    false
}

/// Whether such a quantity comes last of some pieces, `after` one or not; none where the word follows one among them.
fn found_after(parts: &[Part], kind: Kind, word: &str, after: bool) -> Option<bool> {
    parts.iter().try_fold(after, |after, part| match part {
        Part::Quantity(_, quantities) => Some(quantities.kind == kind),
        Part::Word(own) | Part::Maybe(own, _) if after && *own == word => None,
        Part::Maybe(_, rest) => found_after(rest, kind, word, false).map(|last| last || after),
        Part::OneOf(ways) => {
            let mut last = false;
            for way in *ways {
                last |= found_after(way, kind, word, after)?;
            }
            Some(last)
        }
        // An allowance may be left out.
        Part::Allowance(..) => Some(after),
        _ => Some(false),
    })
}

/// A quantity slot whose value may carry what is known.
const fn known(slot: &'static str, kind: Kind, low: f64, high: f64, unit: &'static str) -> Part {
    Part::Quantity(slot, Quantities { kind, low, high, unit, known: true })
}

/// A quantity slot whose value is exact: a control, or a limit that somebody sets.
const fn exact(slot: &'static str, kind: Kind, low: f64, high: f64, unit: &'static str) -> Part {
    Part::Quantity(slot, Quantities { kind, low, high, unit, known: false })
}

/// An entry that must be there once.
const fn required(word: &'static str, pattern: &'static [Part], meaning: &'static str) -> EntrySchema {
    EntrySchema { word, pattern, block: None, presence: Presence::Required, many: Many::Once, instead_of: &[], meaning }
}

/// An entry that may be left out; `otherwise` says what holds then.
const fn optional(
    word: &'static str,
    pattern: &'static [Part],
    otherwise: &'static str,
    meaning: &'static str,
) -> EntrySchema {
    let presence = Presence::Optional(otherwise);
    EntrySchema { word, pattern, block: None, presence, many: Many::Once, instead_of: &[], meaning }
}

impl EntrySchema {
    const fn block(mut self, block: &'static BlockSchema) -> Self {
        self.block = Some(block);
        self
    }

    const fn many(mut self, many: Many) -> Self {
        self.many = many;
        self
    }

    const fn instead_of(mut self, others: &'static [&'static str]) -> Self {
        self.instead_of = others;
        self
    }
}

/// `accept RULE because "…" until DATE`, allowed in every block of a declaration.
const ACCEPT: EntrySchema = optional(
    "accept",
    &[Part::Rule("rule"), Part::Word("because"), Part::Text("reason"), Part::Maybe("until", &[Part::Date("until")])],
    "nothing is accepted",
    "Silences one finding of a rule in this block, with the reason and perhaps the day until which it holds.",
)
.many(Many::Any);
