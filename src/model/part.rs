use std::sync::Arc;

use crate::model::{Given, Sheet};
use crate::text::Span;
use crate::types::Allowance;

/// To which line legs are measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasuredTo {
    /// Apex to apex of the outside faces.
    Outside,
    /// Apex to apex of the inside faces.
    Inside,
    /// Apex to apex of the neutral line.
    Neutral,
}

/// A straight stretch.
#[derive(Clone, Debug)]
pub struct Leg {
    /// m
    pub length: Given<f64>,
    /// What the drawing allows, m.
    pub allowed: Option<Allowance>,
}

/// Which way a bend goes, with the profile as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// The rest of the profile goes up.
    Up,
    /// The rest of the profile goes down.
    Down,
}

/// The inside radius of a bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Radius {
    /// On a former, m.
    Formed(f64),
    /// It follows from the softened width.
    Free,
}

/// A bend.
#[derive(Clone, Debug)]
pub struct Bend {
    /// Its name; none if it has only its number.
    pub name: Option<String>,
    /// Which way it goes.
    pub direction: Direction,
    /// The angle turned, rad.
    pub angle: Given<f64>,
    /// What the drawing allows, rad.
    pub allowed: Option<Allowance>,
    /// The inside radius.
    pub radius: Radius,
    /// Where it is declared.
    pub span: Span,
}

/// What is made.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// What it is made of.
    pub sheet: Arc<Sheet>,
    /// Length of the bend lines, m.
    pub width: Given<f64>,
    /// Whether the outside or the inside face must stay good.
    pub good: Option<&'static str>,
    /// rad; how far a bend opens after release.
    pub springback: crate::units::Bounded,
    /// Whether nobody has measured that.
    pub springback_assumed: bool,
    /// To which line legs are measured.
    pub measured_to: MeasuredTo,
    /// One more leg than bends.
    pub legs: Vec<Leg>,
    /// The bends between the legs.
    pub bends: Vec<Bend>,
}

impl Part {
    /// The bend's name, or its number from 1.
    pub fn bend_label(&self, index: usize) -> String {
        self.bends.get(index).and_then(|bend| bend.name.clone()).unwrap_or_else(|| (index + 1).to_string())
    }
}
