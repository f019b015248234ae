use serde::{Deserialize, Serialize};

use crate::model::{Bench, Direction, FenceSide, LinePlace, Recipe};
use crate::plan::Blank;

/// All that decides whether, in which order and how the bends of a recipe can be made, and nothing else: what has equal
/// outlines has equal orders, poses and collisions. Lengths in m, angles in rad.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outline {
    /// The bends, along the profile.
    pub bends: Vec<Bend>,
    /// Straight stretches between the arcs.
    pub straights: Vec<f64>,
    /// Length of the blank.
    pub length: f64,
    /// Expected thickness of the sheet.
    pub thickness: f64,
    /// The least and the greatest, where the sheet may be thinner or thicker.
    pub other_thicknesses: Vec<f64>,
    /// The neutral line's place: share of the thickness, from the inside of the bend.
    pub neutral: f64,
    /// What bench it is made on.
    pub bench: Shapes,
}

/// A bend of an outline.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bend {
    /// Whether the sheet is turned over for it.
    pub down: bool,
    /// What it has when it is made.
    pub angle: f64,
    /// Inside radius.
    pub radius: f64,
    /// Length of the arc at the neutral line.
    pub arc: f64,
    /// Its line, from the start of the blank.
    pub from_start: f64,
    /// How far the arm swings for it.
    pub swing: f64,
    /// The arm that makes it.
    pub arm: usize,
    /// The side that must be clamped, where that is said.
    pub side: Option<FenceSide>,
}

/// A bench in the cross-section.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Shapes {
    /// The base: depth and thickness.
    pub base: (f64, f64),
    /// The clamp bar.
    pub clamp: ClampBar,
    /// The fence.
    pub fence: FenceBar,
    /// The arms.
    pub arms: Vec<ArmShape>,
}

/// The bar that holds the fixed side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClampBar {
    /// From the bend line to the bar.
    pub inset: f64,
    /// Away from the bend line.
    pub depth: f64,
    /// Above the sheet.
    pub height: f64,
    /// How much of the sheet it needs to hold.
    pub grip: f64,
}

/// The fence and where it can be set.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FenceBar {
    /// Lowest and highest distance.
    pub reach: (f64, f64),
    /// The step that its scale reads.
    pub reads: f64,
    /// Above the base.
    pub height: f64,
    /// Away from the bend line.
    pub thickness: f64,
}

impl FenceBar {
    /// The distance in whole steps that is next to a distance.
    pub fn set(&self, distance: f64) -> f64 {
        libm::round(distance / self.reads) * self.reads
    }
}

/// An arm, and what of its heater is in the way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ArmShape {
    /// From the bend line to its free edge.
    pub depth: f64,
    /// Its thickness.
    pub thickness: f64,
    /// Whether it stands at the base's front edge.
    pub at_edge: bool,
    /// The hinge's height above the base; none on the bend's own axis.
    pub hinge: Option<f64>,
    /// The line above the sheet, where there is one: its opening, and its gap.
    pub above: Option<(f64, f64)>,
}

impl Outline {
    /// The outline of a recipe, whose arms swing as far as `swings` says for each bend.
    pub fn new(recipe: &Recipe, blank: &Blank, swings: &[f64]) -> Self {
        let part = &recipe.part;
        let known = &part.sheet.thickness.value;
        let thickness = known.nominal();
        let bends = part.bends.iter().zip(&recipe.bends).zip(&blank.lines).zip(swings);
        let bends = bends.map(|(((bend, settings), line), swing)| Bend {
            down: bend.direction == Direction::Down,
            angle: bend.angle.value,
            radius: line.radius,
            arc: line.arc.nominal(),
            from_start: line.from_start,
            swing: *swing,
            arm: settings.arm,
            side: settings.fence.map(|given| given.value),
        });
        let others = [known.low(), known.high()].into_iter().filter(|other| (other - thickness).abs() > 1e-9);
        Self {
            bends: bends.collect(),
            straights: blank.straights.clone(),
            length: blank.length.nominal(),
            thickness,
            other_thicknesses: others.collect(),
            neutral: part.sheet.material.neutral_line.nominal(),
            bench: Shapes::new(&recipe.bench),
        }
    }
}

impl Shapes {
    fn new(bench: &Bench) -> Self {
        let arms = bench.arms.iter().map(|arm| {
            let above = arm.heater.lines.iter().find(|line| line.place == LinePlace::Above);
            ArmShape {
                depth: arm.depth.value.nominal(),
                thickness: arm.thickness.value.nominal(),
                at_edge: arm.place.value.1 <= 1e-9,
                hinge: arm.hinge.as_ref().map(|hinge| hinge.value.nominal()),
                above: above.map(|line| (arm.heater.channel.value.nominal(), line.gap.value.nominal())),
            }
        });
        Self {
            base: (bench.base.depth.value.nominal(), bench.base.thickness.value.nominal()),
            clamp: ClampBar {
                inset: bench.clamp.inset.value.nominal(),
                depth: bench.clamp.depth.value.nominal(),
                height: bench.clamp.height.value.nominal(),
                grip: bench.clamp.grip.value.nominal(),
            },
            fence: FenceBar {
                reach: bench.fence.reach.value,
                reads: bench.fence.reads.value,
                height: bench.fence.height(),
                thickness: bench.fence.thickness(),
            },
            arms: arms.collect(),
        }
    }
}
