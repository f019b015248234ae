//! How things move against each other through a swing, and whether they surely stay clear.

use crate::physics::collide::{Convex, GRAZING, Point, Swing};

/// Whether a rough cover stays clear is not looked at more closely than this, m: then what it covers is looked at.
const ROUGHLY: f64 = 2e-3;

/// How a shape moves.
#[derive(Clone, Copy, Debug)]
pub enum Mover<'a> {
    /// Not at all.
    Still,
    /// With the moving side.
    Side(&'a Sweep<'a>),
}

/// A swing, and what every look at it needs.
#[derive(Clone, Copy, Debug)]
pub struct Sweep<'a> {
    /// The swing.
    pub swing: &'a Swing,
    /// The zone's end while the sheet lies flat, and half-way.
    end: Point,
    middle: Point,
    /// How far the end strays from where it is half-way, and what is near enough to be told.
    strays: f64,
}

impl<'a> Sweep<'a> {
    /// The sweep of a swing.
    pub fn new(swing: &'a Swing) -> Self {
        let (half, end) = (swing.angle / 2.0, swing.flat_end());
        Self { swing, end, middle: swing.motion(half).of(end), strays: swing.speed(0.0) * half + GRAZING }
    }

    /// Whether a shape that turns with the moving side can never reach another: it keeps its distances from the zone's
    /// end, and that end stays close to where it is half-way.
    pub fn never_reaches(&self, shape: &Convex, other: &Convex) -> bool {
        shape.nearest(self.end) - self.strays > other.within(self.middle)
            || shape.within(self.end) + self.strays < other.nearest(self.middle)
    }

    /// No point of a shape moves faster, m a rad.
    pub fn speed(&self, shape: &Convex) -> f64 {
        self.swing.speed(shape.farthest(self.end))
    }

    /// The gap to a shape that rests, with the arm at an angle; more than `enough` is enough.
    pub fn gap(&self, shape: &Convex, other: &Convex, angle: f64, enough: f64) -> f64 {
        shape.moved(&self.swing.motion(angle)).gap_up_to(other, enough)
    }
}

/// The zone that is being bent, beside what rests or what moves with the moving side.
pub struct Zone<'a> {
    /// The swing.
    pub swing: &'a Swing,
    /// Whether the other moves.
    pub moves: bool,
}

impl Zone<'_> {
    /// Whether the other is out of the zone's reach at any angle.
    pub fn never_reaches(&self, other: &Convex) -> bool {
        let end = self.swing.flat_end();
        let from = if self.moves { end } else { Point::new(-end.x, end.y) };
        // Everything of the zone lies this close to either end of it.
        other.nearest(from) > self.swing.zone + 2.0 * self.swing.thickness + GRAZING
    }

    /// The gap to the other changes no faster, m a rad.
    pub fn speed(&self, other: &Convex) -> f64 {
        let moves = if self.moves { self.swing.speed(other.farthest(self.swing.flat_end())) } else { 0.0 };
        self.swing.zone_speed() + moves
    }

    /// The gap to the other, with the arm at an angle; more than `enough` is enough.
    pub fn gap(&self, other: &Convex, angle: f64, enough: f64) -> f64 {
        let moved = if self.moves { other.moved(&self.swing.motion(angle)) } else { *other };
        let shapes = self.swing.zone_shapes(angle);
        shapes.iter().map(|shape| shape.gap_up_to(&moved, enough)).fold(f64::INFINITY, f64::min)
    }

    /// Whether the gap stays beyond `far`, as far as a rough look tells.
    pub fn clears(&self, cover: &Convex, far: f64) -> bool {
        let gap = |angle: f64, enough: f64| self.gap(cover, angle, enough);
        self.never_reaches(cover) || stays_clear(self.swing.angle, self.speed(cover), gap, far)
    }
}

impl Mover<'_> {
    /// Whether a gap stays beyond `far`, as far as a rough look tells.
    pub fn clears(self, cover: &Convex, other: &Convex, far: f64) -> bool {
        match self {
            Self::Still => cover.gap_up_to(other, far) > far,
            Self::Side(sweep) => {
                let gap = |angle: f64, enough: f64| sweep.gap(cover, other, angle, enough);
                sweep.never_reaches(cover, other) || stays_clear(sweep.swing.angle, sweep.speed(cover), gap, far)
            }
        }
    }
}

/// Whether the gap of two shapes stays beyond `far` through a swing, as far as a rough look tells.
fn stays_clear(angle: f64, speed: f64, gap: impl Fn(f64, f64) -> f64, far: f64) -> bool {
    let mut stack: Vec<(f64, f64)> = vec![(0.0, angle)];
    while let Some((from, to)) = stack.pop() {
        let slack = speed * (to - from) / 2.0;
        let middle = f64::midpoint(from, to);
        let here = gap(middle, slack + far);
        if here - slack > far {
            continue;
        }
        if here <= far || slack < ROUGHLY {
            return false;
        }
        stack.push((middle, to));
        stack.push((from, middle));
    }
    true
}
