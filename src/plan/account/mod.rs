//! Every number behind a bend: the figure, the formula it comes from, its inputs and where each of them comes from.
//!
//! Owns what is told about the models; it computes nothing that decides a plan, and renders nothing.

mod blank;
mod heat;
mod supply;
mod unknowns;
mod wire;

use crate::model::{Heater, Level, LinePlace, Lot};
use crate::physics::window::{Closing, Kind, Rows, Unknown, Verdict, Worth};
use crate::plan::RecipePlan;
use crate::plan::study::{Studies, Study, Trace};
use crate::text::Span;
use crate::units::Known;

/// All figures of one bend of a planned recipe.
#[derive(Clone, Debug)]
pub struct Account {
    /// The bend's name or number.
    pub bend: String,
    /// The arm that makes it.
    pub arm: String,
    /// The heater at that arm.
    pub heater: String,
    /// How far its window is open; none where none can be computed.
    pub verdict: Option<Verdict>,
    /// Whether trials on this heater and sheet have calibrated it.
    pub calibrated: bool,
    /// Whether the material's thermal data are only from memory.
    pub from_memory: bool,
    /// The heat that is used.
    pub heat: Vec<Level>,
    /// The figures, in groups.
    pub figures: Vec<Figure>,
    /// Everything that they come from, each once.
    pub inputs: Vec<Input>,
    /// What each unknown alone takes from the window, most first.
    pub closings: Vec<Closing>,
    /// What measuring those that take most would give.
    pub worths: Vec<Worth>,
    /// Heat times by measured thickness and room temperature, where they were asked for.
    pub rows: Option<Rows>,
    /// Temperatures over time, where they can be computed.
    pub trace: Option<Trace>,
    /// The temperatures that judge the bend.
    pub limits: Option<LimitLines>,
}

/// The temperatures that judge a bend, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitLines {
    /// See [`crate::physics::section::Limits`].
    pub softened: f64,
    /// The mean must reach this.
    pub forming: f64,
    /// No point may reach this.
    pub ceiling: f64,
    /// The bend keeps its angle below this.
    pub release: f64,
}

/// What a figure is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// The hot wire.
    Wire,
    /// Supply, fuses and leads.
    Supply,
    /// Heat in the sheet.
    Heat,
    /// Blank and settings.
    Blank,
}

impl Group {
    /// The word in reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Wire => "wire",
            Self::Supply => "supply",
            Self::Heat => "heat",
            Self::Blank => "blank",
        }
    }
}

/// One figure. Values are in SI units, temperatures in kelvin.
#[derive(Clone, Debug)]
pub struct Figure {
    /// What it is about.
    pub group: Group,
    /// Its name; no two of one account are alike.
    pub name: String,
    /// Nominal value and what it lies between; infinite for what is never reached.
    pub value: Known,
    /// Units to show it in, the usual one first; empty for a plain number.
    pub units: &'static [&'static str],
    /// What it must not pass.
    pub limit: Option<Limit>,
    /// The formula or model.
    pub formula: &'static str,
    /// Where the formula is from.
    pub basis: &'static str,
    /// In what the model is a simplification.
    pub simplification: Option<&'static str>,
    /// The names of what it comes from: inputs and other figures.
    pub inputs: Vec<String>,
}

/// What a figure must not pass.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// In the unit of the figure.
    pub value: f64,
    /// Whether the figure must stay at or above it, rather than at or below.
    pub least: bool,
    /// What sets it.
    pub what: String,
}

/// Something that a figure comes from.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Its name; no two of one account are alike.
    pub name: String,
    /// Its letter in formulas, or nothing.
    pub symbol: &'static str,
    /// Nominal value and bounds, SI.
    pub value: Known,
    /// The unit to show it in; empty for a plain number.
    pub unit: &'static str,
    /// Where it comes from.
    pub origin: Origin,
}

/// Where an input comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// The value at this place.
    Place(Span),
    /// The entry with this head, in the block or declaration at this place or in what it copies; where there is none,
    /// a default, which the text tells.
    Entry(Span, &'static str, &'static str),
    /// The entry with this head in the declaration of this name.
    Declared(String, &'static str),
    /// A default of the model.
    Model(Basis, &'static str),
    /// It follows from the figure of this name.
    Figure(String),
}

/// Of what kind a source is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// Somebody has published it.
    Published,
    /// The trade does it so; no source.
    Practice,
    /// From memory.
    Memory,
    /// It follows from other data.
    Computed,
    /// A guess of this project.
    Unpublished,
    /// The author of the source says so.
    Written,
}

impl Basis {
    /// The words in reports.
    pub fn words(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Practice => "common practice",
            Self::Memory => "from memory",
            Self::Computed => "computed",
            Self::Unpublished => "no published source",
            Self::Written => "as written",
        }
    }
}

/// The account of one bend of a plan; `with_rows` asks for the heat times by thickness as well.
pub fn account(
    plan: &RecipePlan,
    lot: Option<&Lot>,
    bend: usize,
    studies: &mut Studies,
    with_rows: bool,
) -> Option<Account> {
    let made = plan.bends.get(bend)?;
    let arm = plan.recipe.bench.arms.get(plan.recipe.bends.get(bend)?.arm)?;
    let study: Option<Study> = made.thermal.as_ref().and_then(|_| studies.study(&plan.recipe, bend, made, lot).ok());
    let rows = if with_rows && study.is_some() { studies.rows(&plan.recipe, bend, made, lot).ok() } else { None };
    let case = Case { plan, lot, bend, study: study.as_ref() };
    let mut ledger = Ledger::default();
    wire::figures(&case, &mut ledger);
    supply::figures(&case, &mut ledger);
    heat::figures(&case, &mut ledger);
    blank::figures(&case, &mut ledger);
    let limits = study.as_ref().map(|study| {
        let nominal = |unknown: Unknown| study.unknowns.get(unknown).nominal;
        LimitLines {
            softened: nominal(Unknown::Softened),
            forming: nominal(Unknown::Forming),
            ceiling: nominal(Unknown::Ceiling),
            release: nominal(Unknown::Release),
        }
    });
    let thermal = made.thermal.as_ref();
    Some(Account {
        bend: plan.recipe.part.bend_label(bend),
        arm: arm.name.clone(),
        heater: arm.heater.name.clone(),
        verdict: thermal.map(|thermal| thermal.window.verdict),
        calibrated: thermal.is_some_and(|thermal| thermal.calibrated),
        from_memory: thermal.is_some_and(|thermal| thermal.from_memory),
        heat: made.heat.clone(),
        figures: ledger.figures,
        inputs: ledger.inputs,
        closings: thermal.map(|thermal| thermal.window.closings.clone()).unwrap_or_default(),
        worths: study.as_ref().map(|study| study.worths.clone()).unwrap_or_default(),
        rows,
        trace: study.map(|study| study.trace),
        limits,
    })
}

/// The name of an unknown in an account.
pub fn unknown_name(unknown: Unknown) -> &'static str {
    unknowns::named(unknown).0
}

/// Whether and when an unknown becomes known, in words.
pub fn unknown_kind(unknown: Unknown) -> &'static str {
    match unknown.kind() {
        Kind::Bench => "fixed for the bench",
        Kind::Run => "read at the run",
        Kind::Free => "free within a run",
    }
}

/// What tells the figures of a heater's lines apart; nothing where there is one line.
fn line_suffix(lines: usize, place: LinePlace) -> &'static str {
    match (lines, place) {
        (1, _) => "",
        (_, LinePlace::Below) => ", line below",
        (_, LinePlace::Above) => ", line above",
    }
}

/// A figure's name for each line of a heater.
fn of_lines(heater: &Heater, name: &str) -> Vec<String> {
    let lines = &heater.lines;
    lines.iter().map(|line| format!("{name}{}", line_suffix(lines.len(), line.place))).collect()
}

/// The bend that an account is about.
struct Case<'a> {
    plan: &'a RecipePlan,
    lot: Option<&'a Lot>,
    bend: usize,
    study: Option<&'a Study>,
}

/// Figures and inputs as they are gathered.
#[derive(Default)]
struct Ledger {
    figures: Vec<Figure>,
    inputs: Vec<Input>,
}

impl Ledger {
    /// Takes an input in, once, and gives its name back.
    fn input(&mut self, name: &str, symbol: &'static str, value: Known, unit: &'static str, origin: Origin) -> String {
        if !self.inputs.iter().any(|input| input.name == name) {
            self.inputs.push(Input { name: name.to_owned(), symbol, value, unit, origin });
        }
        name.to_owned()
    }

    fn figure(&mut self, figure: Figure) {
        self.figures.push(figure);
    }
}

/// A figure without limit and simplification.
fn plain(
    group: Group,
    name: impl Into<String>,
    value: Known,
    units: &'static [&'static str],
    (formula, basis): (&'static str, &'static str),
    inputs: Vec<String>,
) -> Figure {
    Figure { group, name: name.into(), value, units, limit: None, formula, basis, simplification: None, inputs }
}

/// Whether a figure keeps its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Over everything that is known.
    Always,
    /// At the nominal only.
    Nominal,
    /// Not even there.
    No,
}

impl Figure {
    /// Whether it keeps its limit; none where it has none.
    pub fn holds(&self) -> Option<Holds> {
        let limit = self.limit.as_ref()?;
        let kept = |value: f64| if limit.least { value >= limit.value } else { value <= limit.value };
        let worst = if limit.least { self.value.low } else { self.value.high };
        Some(match (kept(self.value.nominal), kept(worst)) {
            (true, true) => Holds::Always,
            (true, false) => Holds::Nominal,
            (false, _) => Holds::No,
        })
    }

    fn simplified(self, how: &'static str) -> Self {
        Self { simplification: Some(how), ..self }
    }

    fn at_most(self, value: f64, what: impl Into<String>) -> Self {
        Self { limit: Some(Limit { value, least: false, what: what.into() }), ..self }
    }

    fn at_least(self, value: f64, what: impl Into<String>) -> Self {
        Self { limit: Some(Limit { value, least: true, what: what.into() }), ..self }
    }
}

/// The least and the greatest of a function over the corners of a box, around its value at the nominal point.
///
/// Exact for functions that rise or fall in each argument wherever the others stand, as all that come here do.
pub(super) fn over_corners<const N: usize>(all: [Known; N], function: impl Fn([f64; N]) -> f64) -> Known {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for corner in 0..1_u32 << N {
        let value =
            function(std::array::from_fn(
                |place| {
                    if corner >> place & 1 == 0 { all[place].low } else { all[place].high }
                },
            ));
        (low, high) = (low.min(value), high.max(value));
    }
    Known::between(function(all.map(|known| known.nominal)), low, high)
}

#[cfg(test)]
mod tests {
    use super::over_corners;
    use crate::units::Known;

    #[test]
    fn corners_bound_a_quotient() {
        let found = over_corners([Known::within_share(12.0, 0.1), Known::between(2.0, 1.5, 4.0)], |[a, b]| a / b);
        assert!((found.nominal - 6.0).abs() < 1e-12);
        assert!((found.low - 10.8 / 4.0).abs() < 1e-12 && (found.high - 13.2 / 1.5).abs() < 1e-12);
    }
}
