//! The figures that `expect` may read.

use crate::syntax::{Expr, ExprKind, Path};
use crate::text::Files;
use crate::types::value::LocalName;
use crate::units::{Bounded, Kind, Quantity};

/// What a figure is a figure of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The recipe or batch as a whole.
    Whole,
    /// One bend: `bend lip.…`.
    Bend,
    /// One leg, by its number from the start of the profile: `leg 2.…`.
    Leg,
    /// One arm: `arm left.…`.
    Arm,
}

/// A figure that `expect` may read.
#[derive(Debug)]
pub struct FigureDef {
    /// What it is a figure of.
    pub subject: Subject,
    /// Its name after the subject.
    pub name: &'static str,
    /// Its kind.
    pub kind: Kind,
    /// One line that says what it is.
    pub meaning: &'static str,
}

const fn figure(subject: Subject, name: &'static str, kind: Kind, meaning: &'static str) -> FigureDef {
    FigureDef { subject, name, kind, meaning }
}

/// Every figure, in the order in which the reference shows them.
pub const FIGURES: &[FigureDef] = &[
    figure(Subject::Whole, "blank.length", Kind::Length, "Length of the flat blank across the bend lines."),
    figure(Subject::Whole, "blank.width", Kind::Length, "Length of the bend lines."),
    figure(
        Subject::Whole,
        "cycle_time",
        Kind::Time,
        "From loading to unloading one part; of a batch from the first warm-up until the last part is out.",
    ),
    figure(
        Subject::Whole,
        "peak_current",
        Kind::Current,
        "The most that is drawn from any one supply at one moment of the schedule.",
    ),
    figure(
        Subject::Whole,
        "energy",
        Kind::Energy,
        "What the heaters take for one part; of a batch for all parts asked for and the warm-ups.",
    ),
    figure(Subject::Bend, "heat", Kind::Time, "How long the line is on."),
    figure(Subject::Bend, "set", Kind::Time, "How long the arm holds the bend."),
    figure(
        Subject::Bend,
        "line_power",
        Kind::LinePower,
        "Power per length of the wire, hot and steady, at full level.",
    ),
    figure(Subject::Bend, "current", Kind::Current, "Current of the heater, hot and steady, at full level."),
    figure(Subject::Bend, "place", Kind::Length, "From the start of the blank to the bend line."),
    figure(Subject::Bend, "swing", Kind::Angle, "The angle at which the arm's stop is set."),
    figure(Subject::Leg, "length", Kind::Length, "Length of the leg as it comes out."),
    figure(Subject::Leg, "tolerance", Kind::Length, "Half of what is known of the leg's length."),
    figure(Subject::Arm, "idle", Kind::Time, "How long nothing is done at the arm, of the cycle time."),
];

/// What a figure comes to.
#[derive(Clone, Debug)]
pub enum FigureValue {
    /// Its value.
    Known(Quantity),
    /// It has none because of something that was reported.
    Silent,
    /// There is no such bend, leg or arm, or no value; why.
    Wrong(String),
}

/// Gives figures their values.
pub trait FigureSource {
    /// The value of a figure; the name is there for bends, legs and arms only.
    fn value(&self, figure: &'static FigureDef, name: Option<&LocalName>) -> FigureValue;
}

/// The figures of one recipe or batch.
#[derive(Clone, Copy)]
pub struct Figures<'f> {
    source: &'f dyn FigureSource,
}

impl<'f> Figures<'f> {
    /// Figures whose values come from `source`.
    pub fn new(source: &'f dyn FigureSource) -> Self {
        Self { source }
    }

    /// `blank.length`, `cycle_time`.
    pub fn by_path(&self, path: Path<'_>, files: &Files) -> Option<FigureValue> {
        let name = files.slice(path.span);
        let figure = FIGURES.iter().find(|figure| figure.subject == Subject::Whole && figure.name == name)?;
        Some(self.source.value(figure, None))
    }

    /// `bend lip.heat`, `leg 2.tolerance`.
    pub fn by_subject(&self, expr: &Expr, files: &Files) -> Option<FigureValue> {
        let ExprKind::Figure(word, count, path) = expr.kind() else { return None };
        let subject = match files.slice(word) {
            "bend" => Subject::Bend,
            "leg" => Subject::Leg,
            "arm" => Subject::Arm,
            _ => return None,
        };
        let path = path?;
        let whole = files.slice(path.span);
        if let Some(count) = count {
            let number = files.slice(count).parse().ok()?;
            let figure = FIGURES.iter().find(|figure| figure.subject == subject && figure.name == whole)?;
            return Some(self.source.value(figure, Some(&LocalName::Number(number))));
        }
        let fits = |figure: &&FigureDef| {
            figure.subject == subject && whole.strip_suffix(figure.name).is_some_and(|name| name.ends_with('.'))
        };
        let figure = FIGURES.iter().find(fits)?;
        let name = whole.strip_suffix(figure.name)?.trim_end_matches('.');
        Some(self.source.value(figure, Some(&LocalName::Name(name.to_owned()))))
    }

    /// Names to offer where a figure is unknown.
    pub fn names(&self) -> Vec<String> {
        let shown = |figure: &FigureDef| match figure.subject {
            Subject::Whole => figure.name.to_owned(),
            Subject::Bend => format!("bend NAME.{}", figure.name),
            Subject::Leg => format!("leg NUMBER.{}", figure.name),
            Subject::Arm => format!("arm NAME.{}", figure.name),
        };
        FIGURES.iter().map(shown).collect()
    }
}

/// Stand-ins of the right kind, to check an expectation before anything is computed.
pub struct StandIns;

impl FigureSource for StandIns {
    fn value(&self, figure: &'static FigureDef, _: Option<&LocalName>) -> FigureValue {
        stand_in(figure.kind).map_or(FigureValue::Silent, FigureValue::Known)
    }
}

/// A value of a kind for places where only the kind counts.
pub fn stand_in(kind: Kind) -> Option<Quantity> {
    let value = if kind == Kind::Temperature { 293.15 } else { 1.0 };
    let quantity = Quantity::plain(kind.dimension()?, Bounded::exact(value).ok()?);
    Some(Quantity { point: kind == Kind::Temperature, ..quantity })
}
