//! The flat blank: how long it is, where its bend lines are, and what the legs come out as.

use crate::model::{MeasuredTo, Part};
use crate::units::{Bounded, BoundsProblem};

/// The flat blank of a part.
#[derive(Clone, Debug)]
pub struct Blank {
    /// Across the bend lines, m, over all that is known of the sheet.
    pub length: Bounded,
    /// Along the bend lines, m.
    pub width: f64,
    /// The bend lines, from the start of the profile.
    pub lines: Vec<BendLine>,
    /// Straight stretches between the arcs, m, at the nominal thickness.
    pub straights: Vec<f64>,
    /// What each leg comes out as, m, when the lines lie where they should and the sheet is as thick as it may be.
    pub legs: Vec<Bounded>,
}

/// A bend line: the middle of its arc.
#[derive(Clone, Debug)]
pub struct BendLine {
    /// From the start of the blank, m, at the nominal thickness: this is what is set.
    pub from_start: f64,
    /// Length of the arc at the neutral line, m.
    pub arc: Bounded,
    /// From the apex to the end of the arc, m: what the bend takes from each leg.
    pub setback: Bounded,
    /// Inside radius, m.
    pub radius: f64,
}

/// Why a part has no blank.
#[derive(Clone, Debug, PartialEq)]
pub enum BlankProblem {
    /// The bends at its ends take more than this leg has: its number from 0, and how much is missing, m.
    LegTooShort(usize, f64),
    /// The numbers are out of range.
    Bounds(BoundsProblem),
}

impl From<BoundsProblem> for BlankProblem {
    fn from(problem: BoundsProblem) -> Self {
        Self::Bounds(problem)
    }
}

/// The blank of a part whose bends have these inside radii (m): with the sheet's thickness h, a bend of the angle θ with the inside radius r is an arc
/// of `θ (r + K h)` at the neutral line and takes `tan(θ/2) (r + h)` from each leg that is measured to the
/// outside, `tan(θ/2) r` to the inside, `tan(θ/2) (r + K h)` to the neutral line (geometry; checked against
/// worked examples in `tests/reference`).
pub fn blank(part: &Part, radii: &[f64]) -> Result<Blank, BlankProblem> {
    let thickness = &part.sheet.thickness.value;
    let neutral = part.sheet.material.neutral_line.mul(thickness)?;
    let mut lines = Vec::new();
    for (bend, radius) in part.bends.iter().zip(radii.iter().copied()) {
        let angle = bend.angle.value;
        let inside = Bounded::exact(radius)?;
        let arc = Bounded::exact(angle)?.mul(&inside.add(&neutral)?)?;
        let reach = match part.measured_to {
            MeasuredTo::Outside => inside.add(thickness)?,
            MeasuredTo::Inside => inside.clone(),
            MeasuredTo::Neutral => inside.add(&neutral)?,
        };
        let setback = Bounded::exact(libm::tan(angle / 2.0))?.mul(&reach)?;
        lines.push(BendLine { from_start: 0.0, arc, setback, radius });
    }
    let straights = straights(part, &lines)?;
    let length = length(part, &lines)?;
    let mut at = 0.0;
    for (line, straight) in lines.iter_mut().zip(&straights) {
        line.from_start = at + straight + line.arc.nominal() / 2.0;
        at += straight + line.arc.nominal();
    }
    let legs = legs(&lines, at + straights.last().copied().unwrap_or(0.0))?;
    Ok(Blank { length, width: part.width.value, lines, straights, legs })
}

fn straights(part: &Part, lines: &[BendLine]) -> Result<Vec<f64>, BlankProblem> {
    let taken = |index: usize| lines.get(index).map_or(0.0, |line| line.setback.nominal());
    part.legs
        .iter()
        .enumerate()
        .map(|(index, leg)| {
            let before = index.checked_sub(1).map_or(0.0, taken);
            let straight = leg.length.value - before - taken(index);
            if straight < 0.0 { Err(BlankProblem::LegTooShort(index, -straight)) } else { Ok(straight) }
        })
        .collect()
}

/// The legs, and for each bend its arc less what it takes from two legs: `Σ legs + Σ θ (r + K h) - 2 tan(θ/2) m`,
/// with the m of [`blank`]. Gathered as `a + h (b + c K)`, so that each unknown stands there once and the bounds are
/// as tight as can be.
fn length(part: &Part, lines: &[BendLine]) -> Result<Bounded, BoundsProblem> {
    let exact = Bounded::exact;
    let mut fixed = exact(part.legs.iter().map(|leg| leg.length.value).sum())?;
    let (mut by_thickness, mut by_neutral) = (exact(0.0)?, exact(0.0)?);
    for (bend, line) in part.bends.iter().zip(lines) {
        let angle = exact(bend.angle.value)?;
        let taken = exact(2.0 * libm::tan(bend.angle.value / 2.0))?;
        fixed = fixed.add(&angle.sub(&taken)?.mul(&exact(line.radius)?)?)?;
        by_neutral = by_neutral.add(&angle)?;
        match part.measured_to {
            MeasuredTo::Outside => by_thickness = by_thickness.sub(&taken)?,
            MeasuredTo::Inside => {}
            MeasuredTo::Neutral => by_neutral = by_neutral.sub(&taken)?,
        }
    }
    let neutral = by_neutral.mul(&part.sheet.material.neutral_line)?;
    fixed.add(&part.sheet.thickness.value.mul(&by_thickness.add(&neutral)?)?)
}

/// With the lines where they are set, a leg is the distance of its lines less the halves of their arcs, plus the
/// setbacks: both depend on the thickness.
fn legs(lines: &[BendLine], total: f64) -> Result<Vec<Bounded>, BoundsProblem> {
    let half = Bounded::exact(0.5)?;
    let gain = |line: &BendLine| line.setback.sub(&half.mul(&line.arc)?);
    let place = |index: usize| lines.get(index).map_or(total, |line| line.from_start);
    (0..=lines.len())
        .map(|index| {
            let from = index.checked_sub(1).map_or(0.0, place);
            let mut leg = Bounded::exact(place(index) - from)?;
            for neighbour in [index.checked_sub(1), Some(index)].into_iter().flatten() {
                if let Some(line) = lines.get(neighbour) {
                    leg = leg.add(&gain(line)?)?;
                }
            }
            Ok(leg)
        })
        .collect()
}
