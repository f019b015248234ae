//! From a recipe to shapes: the sheet as it lies in the bench for one bend.

use crate::model::{Bench, FenceSide, LinePlace, Part, Recipe, Sheet};
use crate::physics::collide::{Above, Form, Pose, Section, Stop, Stretch, Swing, Touch};
use crate::plan::Blank;
use crate::plan::order::Choice;
use crate::plan::pose::extent;

/// One bend as it is laid in.
#[derive(Clone, Debug, PartialEq)]
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
    /// A bend with those in `made` done before, one side clamped, and its arm swung by `swing`.
    pub fn new(recipe: &Recipe, blank: &Blank, choice: Choice, made: &[usize], swing: f64) -> Self {
        let (part, bench) = (&recipe.part, &recipe.bench);
        let Choice { bend, side } = choice;
        let thickness = part.sheet.thickness.value.nominal();
        let other = if side == FenceSide::Front { FenceSide::Back } else { FenceSide::Front };
        let swing = Swing {
            thickness,
            neutral: part.sheet.material.neutral_line.nominal(),
            zone: blank.lines[bend].arc.nominal(),
            angle: swing,
        };
        let pose = Pose {
            swing,
            fixed: stretches(part, blank, bend, made, side),
            moving: stretches(part, blank, bend, made, other),
        };
        let back = extent(part, blank, bend, made, side, bench.fence.height()).back;
        let stop = Stop { at: back, height: bench.fence.height(), thickness: bench.fence.thickness() };
        let section = section(bench, recipe.bends[bend].arm, &swing, stop);
        // The sheet's line lies before the bench's, from which the fence is measured.
        let fence = bench.fence.set(back - section.shift);
        let (low, high) = bench.fence.reach.value;
        let needed = section.inset + bench.clamp.grip.value.nominal();
        let lacks = needed - pose.flat_behind();
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
    pub fn worst(self, sheet: &Sheet) -> (Self, Vec<Touch>) {
        let tried: Vec<(Self, Vec<Touch>)> = self
            .thicknesses(sheet)
            .map(|lay| {
                let touches = lay.pose.touches(&lay.section);
                (lay, touches)
            })
            .collect();
        let hit = tried.iter().position(|(_, touches)| touches.iter().any(|touch| touch.collides));
        let place = hit.or_else(|| tried.iter().position(|(_, touches)| !touches.is_empty())).unwrap_or(0);
        tried.into_iter().nth(place).unwrap_or((self, Vec::new()))
    }

    /// The first thing that collides, with the sheet as thick as it may be and in any case; with `grazing` also what only
    /// grazes. And the shapes.
    pub fn first_touch(&self, sheet: &Sheet, grazing: bool) -> Option<(Self, Touch)> {
        self.thicknesses(sheet).find_map(|lay| {
            let touch = lay.pose.first_touch(&lay.section, grazing)?;
            Some((lay, touch))
        })
    }

    /// As it is with a sheet of the expected thickness, the least and the greatest.
    fn thicknesses(&self, sheet: &Sheet) -> impl Iterator<Item = Self> {
        let known = &sheet.thickness.value;
        let nominal = known.nominal();
        let others = [known.low(), known.high()].into_iter().filter(move |other| (other - nominal).abs() > 1e-9);
        let other = |thickness: f64| Self { pose: self.pose.with_thickness(thickness), ..self.clone() };
        [self.clone()].into_iter().chain(others.map(other))
    }
}

/// One side of a bend, from its zone outward. Up is the way this bend goes.
fn stretches(part: &Part, blank: &Blank, bend: usize, made: &[usize], side: FenceSide) -> Vec<Stretch> {
    let leg = |leg: usize| Stretch { name: Names::Leg(leg).name(), form: Form::Flat(blank.straights[leg]) };
    let own = part.bends[bend].direction;
    let arc = |other: usize| {
        let line = &blank.lines[other];
        let form = if made.contains(&other) {
            let angle = part.bends[other].angle.value;
            Form::Bent(line.radius, if part.bends[other].direction == own { angle } else { -angle })
        } else {
            Form::Flat(line.arc.nominal())
        };
        Stretch { name: Names::Bend(other).name(), form }
    };
    match side {
        FenceSide::Front => (0..bend).rev().fold(vec![leg(bend)], |mut way, other| {
            way.extend([arc(other), leg(other)]);
            way
        }),
        FenceSide::Back => (bend + 1..part.bends.len()).fold(vec![leg(bend + 1)], |mut way, other| {
            way.extend([arc(other), leg(other + 1)]);
            way
        }),
    }
}

/// The cross-section at an arm. The base counts from its front edge; an arm that does not stand there has base before
/// and behind it, and since it may face either way, all of it counts on both sides.
fn section(bench: &Bench, arm: usize, swing: &Swing, fence: Stop) -> Section {
    let arm = &bench.arms[arm];
    let depth = bench.base.depth.value.nominal();
    let at_edge = arm.place.value.1 <= 1e-9;
    let above = arm.heater.lines.iter().find(|line| line.place == LinePlace::Above);
    let above = above.map(|line| Above { opening: arm.heater.channel.value.nominal(), gap: line.gap.value.nominal() });
    let hinge = arm.hinge.as_ref().map(|hinge| {
        let turned = swing.motion(swing.angle);
        // The point that a turn by the whole angle leaves where it is.
        let axis = turned.shift.y / 2.0 + turned.shift.x / (2.0 * libm::tan(swing.angle / 2.0).max(1e-9));
        Section::shift_for(hinge.value.nominal(), axis, swing.angle)
    });
    Section {
        back: depth,
        front: if at_edge { 0.0 } else { depth },
        base: bench.base.thickness.value.nominal(),
        inset: bench.clamp.inset.value.nominal(),
        bar_depth: bench.clamp.depth.value.nominal(),
        bar_height: bench.clamp.height.value.nominal(),
        arm_depth: arm.depth.value.nominal(),
        arm: arm.thickness.value.nominal(),
        above,
        fence: Some(fence),
        shift: hinge.unwrap_or(0.0),
    }
}
