use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::model::{Bench, Lot, Part};
use crate::names::DeclId;
use crate::text::{ChangedLines, FileId, Follows, Span};
use crate::types::Date;
use crate::units::Bounded;

/// A value and the place it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given<T> {
    /// The value.
    pub value: T,
    /// Where it is said.
    pub span: Span,
}

/// A stretch of heating.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Level {
    /// s
    pub time: f64,
    /// Share of full power, 0 to 1.
    pub share: f64,
}

/// How long a line is heated.
#[derive(Clone, Debug, PartialEq)]
pub enum Heat {
    /// Not said.
    Missing,
    /// To be computed.
    Computed(Span),
    /// These stretches, one after the other.
    Stages(Given<Vec<Level>>),
}

/// How long the arm holds a bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SetTime {
    /// Not said.
    Missing,
    /// To be computed.
    Computed(Span),
    /// s
    Given(Given<f64>),
}

/// Which end of the profile is pushed against the fence.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum FenceSide {
    /// Its start.
    Front,
    /// Its end.
    Back,
}

/// How one bend is made.
#[derive(Clone, Debug)]
pub struct BendSettings {
    /// The arm, by its number on the bench.
    pub arm: usize,
    /// How long it is heated.
    pub heat: Heat,
    /// The longest time from heater off to bend finished, s.
    pub transfer: f64,
    /// How long it is held.
    pub set: SetTime,
    /// The angle of the arm's stop, rad, where it is given.
    pub swing: Option<Given<f64>>,
    /// Which end is pushed against the fence, where it is given.
    pub fence: Option<Given<FenceSide>>,
    /// Where the bend's settings stand: its own block, else `every bend`, else the recipe.
    pub span: Span,
    /// The place just behind the opening brace of that block; none without one.
    pub inside: Option<Span>,
}

/// The order in which the bends are made.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// To be computed.
    Computed(Span),
    /// Groups of bends, by their number in the profile; a group is made at once.
    Given(Given<Vec<Vec<usize>>>),
}

/// How far an acceptance reaches; the nearest one counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// To what is found in its block.
    Block,
    /// From the settings for every bend to each bend of the recipe.
    Bends,
    /// To the whole declaration, and for that to what it uses.
    Declaration,
}

/// `accept`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Acceptance {
    /// The rule.
    pub rule: String,
    /// Where the rule's name stands.
    pub span: Span,
    /// Why.
    pub because: String,
    /// Until when.
    pub until: Option<Date>,
    /// The entry, with its line where it has that for itself: what is taken out to take it back.
    pub entry: Span,
    /// The block in which it holds.
    pub scope: Span,
    /// How far it reaches beyond that block.
    pub reach: Reach,
    /// The declaration in which it stands.
    pub owner: DeclId,
}

impl Follows for Acceptance {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        [&mut self.span, &mut self.entry, &mut self.scope].into_iter().all(|span| span.follow(file, lines))
    }
}

/// How a part is made.
#[derive(Clone, Debug)]
pub struct Recipe {
    /// The declaration.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// The part, with the recipe's parameters and sheet.
    pub part: Part,
    /// The bench; recipes by the thousand share it.
    pub bench: Arc<Bench>,
    /// K
    pub ambient: Given<Bounded>,
    /// One for each bend of the part.
    pub bends: Vec<BendSettings>,
    /// The order of the bends.
    pub order: Order,
    /// Where it is said that protective film is left on; none where it is peeled.
    pub film_left: Option<Span>,
}

/// A recipe, several times.
#[derive(Clone, Debug)]
pub struct Run {
    /// The recipe.
    pub recipe: Recipe,
    /// How often.
    pub times: u64,
    /// Parts beyond those asked for, against spoilt ones.
    pub spare: u64,
    /// Where the sheet comes from.
    pub lot: Option<Lot>,
    /// Where it stands.
    pub span: Span,
}

/// Runs that belong together.
#[derive(Clone, Debug)]
pub struct Batch {
    /// The declaration.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// The runs, in the order of the source.
    pub runs: Vec<Run>,
}
