use serde::{Deserialize, Serialize};

use crate::physics::collide::{Convex, Thing};

/// The cross-section of a bench at one arm, m.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// How far the base reaches back from the bend line.
    pub back: f64,
    /// How far the base reaches forward under the arm and beyond its edge; 0 for an arm at the base's front edge.
    pub front: f64,
    /// Thickness of the base; below it is free space.
    pub base: f64,
    /// From the bend line to the clamp bar.
    pub inset: f64,
    /// Depth of the bar, away from the bend line.
    pub bar_depth: f64,
    /// Height of the bar above the sheet.
    pub bar_height: f64,
    /// From the bend line to the arm's free edge.
    pub arm_depth: f64,
    /// Thickness of the arm.
    pub arm: f64,
    /// The line above the sheet, where there is one.
    pub above: Option<Above>,
    /// The fence that the sheet is pushed against, where there is one.
    pub fence: Option<Stop>,
    /// How far the sheet's bend line lies before the bench's, see [`Section::shift_for`].
    pub shift: f64,
}

/// The fence: a bar on the base, behind the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// From the sheet's bend line to the face that the sheet is pushed against.
    pub at: f64,
    /// Above the base's surface.
    pub height: f64,
    /// Away from the bend line.
    pub thickness: f64,
}

/// A line above the sheet: its shield's opening lies on the sheet while it heats, and it is taken away for the swing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Above {
    /// Opening across the line.
    pub opening: f64,
    /// From the sheet to the wire. The shield is taken to be twice as high (our assumption).
    pub gap: f64,
}

/// One body of the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// What it is.
    pub thing: Thing,
    /// A convex part of it.
    pub shape: Convex,
}

impl Section {
    /// Where a bend line must lie for an arm that turns about a hinge at the height `hinge`: the arm's face ends on the
    /// moving side's if the line lies `(hinge - axis)·tan(θ/2)` before the bench's own. The bend's axis is the point
    /// about which the whole swing is one turn: at 90° with an inside radius of 6 mm and a sheet of 3 mm it lies 3.1 mm
    /// above the base (geometry; the example of `tests/reference` was worked by hand).
    pub fn shift_for(hinge: f64, axis: f64, angle: f64) -> f64 {
        (hinge - axis) * libm::tan(angle / 2.0)
    }

    /// The base and what lies flush with it.
    pub fn base_bodies(&self) -> Vec<Body> {
        let base = |left: f64, right: f64, top: f64| Body {
            thing: Thing::Base,
            shape: Convex::rectangle(left - self.shift, right - self.shift, -self.base, top),
        };
        let mut bodies = vec![base(-self.back, 0.0, 0.0)];
        if self.front > 0.0 && self.base > self.arm {
            bodies.push(base(0.0, self.front, -self.arm));
        }
        if self.front > self.arm_depth {
            bodies.push(base(self.arm_depth, self.front, 0.0));
        }
        bodies
    }

    /// The clamp bar on a sheet of this thickness.
    pub fn clamp(&self, thickness: f64) -> Body {
        let right = -self.inset - self.shift;
        let shape = Convex::rectangle(right - self.bar_depth, right, thickness, thickness + self.bar_height);
        Body { thing: Thing::Clamp, shape }
    }

    /// The arm while it lies flat.
    pub fn arm_body(&self) -> Body {
        let shape = Convex::rectangle(-self.shift, self.arm_depth - self.shift, -self.arm, 0.0);
        Body { thing: Thing::Arm, shape }
    }

    /// The fence.
    pub fn fence_body(&self) -> Option<Body> {
        let fence = self.fence?;
        let shape = Convex::rectangle(-fence.at - fence.thickness, -fence.at, 0.0, fence.height);
        Some(Body { thing: Thing::Fence, shape })
    }

    /// The line above a sheet of this thickness.
    pub fn above_body(&self, thickness: f64) -> Option<Body> {
        let above = self.above?;
        let half = above.opening / 2.0;
        let shape = Convex::rectangle(-half, half, thickness, thickness + 2.0 * above.gap);
        Some(Body { thing: Thing::Above, shape })
    }
}
