//! From a recipe to shapes: the sheet as it lies in the bench for one bend.

use serde::{Deserialize, Serialize};

use crate::model::FenceSide;
use crate::physics::collide::{Above, Form, Pose, Section, Stop, Stretch, Swing, Touch, cross};
use crate::plan::order::Choice;
use crate::plan::order::extent::back;
use crate::plan::order::outline::{Outline, Shapes};

/// One bend as it is laid in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lay {
    /// The shapes of the sheet.
    pub pose: Pose,
    /// The shapes of the bench.
    pub section: Section,
    /// Distance from the bench's bend line to the fence, in whole steps of what it reads, m.
    pub fence: f64,
    /// How much the flat side lacks to be clamped, m; none where it is long enough.
    pub short_of_grip: Option<f64>,
    /// Whether the fence cannot be set there.
    pub fence_out_of_reach: bool,
}

/// How stretches are named: legs and bends in one count along the profile.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Names {
    /// A leg, by its number from 0.
    Leg(usize),
    /// A bend, by its number from 0.
    Bend(usize),
}

impl Names {
    /// From the name that a stretch carries.
    pub fn of(name: usize) -> Self {
        if name.is_multiple_of(2) { Self::Leg(name / 2) } else { Self::Bend(name / 2) }
    }

    fn name(self) -> usize {
        match self {
            Self::Leg(leg) => 2 * leg,
            Self::Bend(bend) => 2 * bend + 1,
        }
    }
}

impl Lay {
    /// A bend with those in `made` done before, and one side clamped.
    pub fn new(outline: &Outline, choice: Choice, made: &[usize]) -> Self {
        let Choice { bend, side } = choice;
        let own = &outline.bends[bend];
        let other = if side == FenceSide::Front { FenceSide::Back } else { FenceSide::Front };
        let swing = Swing { thickness: outline.thickness, neutral: outline.neutral, zone: own.arc, angle: own.swing };
        let pose =
            Pose { swing, fixed: stretches(outline, bend, made, side), moving: stretches(outline, bend, made, other) };
        let back = back(outline, bend, made, side);
        let bar = &outline.bench.fence;
        let section = section(outline, own.arm, &swing, back);
        // The sheet's line lies before the bench's, from which the fence is measured.
        let fence = bar.set(back - section.shift);
        let (low, high) = bar.reach;
        let lacks = section.inset + outline.bench.clamp.grip - pose.flat_behind();
        Self {
            short_of_grip: (lacks > 1e-9).then_some(lacks),
            fence_out_of_reach: fence < low - 1e-9 || fence > high + 1e-9,
            fence,
            section,
            pose,
        }
    }

    /// What comes closer than it may, with the sheet as thick as is expected, as thin as it may be and as thick as it may
    /// be: the first of those at which something collides, else the first at which something grazes; and the shapes.
    pub fn worst(self, outline: &Outline) -> (Self, Vec<Touch>) {
        let tried = self.thicknesses(outline).map(|lay| {
            let touches = lay.pose.touches(&lay.section);
            (lay, touches)
        });
        worst_of(tried).unwrap_or((self, Vec::new()))
    }

    /// What two bends that are made at once, back to back, do to each other, in the same way; `apart` is the distance of
    /// the bend lines, m.
    pub fn worst_across(&self, other: &Self, outline: &Outline, apart: f64) -> Vec<Touch> {
        let tried = self.thicknesses(outline).zip(other.thicknesses(outline)).map(|(near, far)| {
            let touches = cross([&near.pose, &far.pose], [&near.section, &far.section], apart);
            ((), touches)
        });
        worst_of(tried).map(|((), touches)| touches).unwrap_or_default()
    }

    /// The first thing that collides, with the sheet as thick as it may be and in any case; with `grazing` also what only
    /// grazes. And the shapes.
    pub fn first_touch(&self, outline: &Outline, grazing: bool) -> Option<(Self, Touch)> {
        self.thicknesses(outline).find_map(|lay| {
            let touch = lay.pose.first_touch(&lay.section, grazing)?;
            Some((lay, touch))
        })
    }

    /// As it is with a sheet of the expected thickness, the least and the greatest.
    fn thicknesses(&self, outline: &Outline) -> impl Iterator<Item = Self> {
        let other = |thickness: &f64| Self { pose: self.pose.with_thickness(*thickness), ..self.clone() };
        [self.clone()].into_iter().chain(outline.other_thicknesses.iter().map(other))
    }
}

/// The first with a collision, else the first with any touch, else the first.
fn worst_of<T>(tried: impl Iterator<Item = (T, Vec<Touch>)>) -> Option<(T, Vec<Touch>)> {
    let tried: Vec<(T, Vec<Touch>)> = tried.collect();
    let hit = tried.iter().position(|(_, touches)| touches.iter().any(|touch| touch.collides));
    let place = hit.or_else(|| tried.iter().position(|(_, touches)| !touches.is_empty())).unwrap_or(0);
    tried.into_iter().nth(place)
}

/// One side of a bend, from its zone outward. Up is the way this bend goes.
fn stretches(outline: &Outline, bend: usize, made: &[usize], side: FenceSide) -> Vec<Stretch> {
    let leg = |leg: usize| Stretch { name: Names::Leg(leg).name(), form: Form::Flat(outline.straights[leg]) };
    let down = outline.bends[bend].down;
    let arc = |number: usize| {
        let other = &outline.bends[number];
        let form = if made.contains(&number) {
            Form::Bent(other.radius, if other.down == down { other.angle } else { -other.angle })
        } else {
            Form::Flat(other.arc)
        };
        Stretch { name: Names::Bend(number).name(), form }
    };
    match side {
        FenceSide::Front => (0..bend).rev().fold(vec![leg(bend)], |mut way, other| {
            way.extend([arc(other), leg(other)]);
            way
        }),
        FenceSide::Back => (bend + 1..outline.bends.len()).fold(vec![leg(bend + 1)], |mut way, other| {
            way.extend([arc(other), leg(other + 1)]);
            way
        }),
    }
}

/// The cross-section at an arm, with the fence as far `back` as the sheet reaches. The base counts from its front edge;
/// an arm that does not stand there has base before and behind it, and since it may face either way, all of it counts
/// on both sides.
fn section(outline: &Outline, arm: usize, swing: &Swing, back: f64) -> Section {
    let Shapes { base, clamp, fence, arms } = &outline.bench;
    let arm = &arms[arm];
    let hinge = arm.hinge.map(|hinge| {
        let turned = swing.motion(swing.angle);
        // The point that a turn by the whole angle leaves where it is.
        let axis = turned.shift.y / 2.0 + turned.shift.x / (2.0 * libm::tan(swing.angle / 2.0).max(1e-9));
        Section::shift_for(hinge, axis, swing.angle)
    });
    Section {
        back: base.0,
        front: if arm.at_edge { 0.0 } else { base.0 },
        base: base.1,
        inset: clamp.inset,
        bar_depth: clamp.depth,
        bar_height: clamp.height,
        arm_depth: arm.depth,
        arm: arm.thickness,
        above: arm.above.map(|(opening, gap)| Above { opening, gap }),
        fence: Some(Stop { at: back, height: fence.height, thickness: fence.thickness }),
        shift: hinge.unwrap_or(0.0),
    }
}
