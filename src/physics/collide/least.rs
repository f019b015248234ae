//! The least gap of moving shapes, by halving the swing wherever a shape could still reach another between the angles
//! looked at: a shape that moves at most L from the middle of a stretch of the swing stays clear if its gap there is
//! more than L (Lipschitz bound; the gap changes by at most as much as any point moves).

use std::collections::BTreeMap;

use crate::physics::collide::{Convex, GRAZING, Point, RESOLUTION, Swing, Thing, Touch};

/// A gap beyond this is never told, m.
const CLEAR: f64 = GRAZING + 2.0 * RESOLUTION;

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
    swing: &'a Swing,
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
    fn never_reaches(&self, shape: &Convex, other: &Convex) -> bool {
        shape.nearest(self.end) - self.strays > other.within(self.middle)
            || shape.within(self.end) + self.strays < other.nearest(self.middle)
    }
}

/// What was found so far.
#[derive(Debug)]
pub struct Least {
    found: BTreeMap<(Thing, Thing), Touch>,
    /// Whether the first find is enough.
    first_only: bool,
    /// Gaps beyond this need no closer look, m.
    limit: f64,
}

/// A stretch of a swing still to be looked at.
type Stretch = (f64, f64);

impl Least {
    /// Looks for every pair that comes closer than it may.
    pub fn all() -> Self {
        Self { found: BTreeMap::new(), first_only: false, limit: GRAZING }
    }

    /// Looks for the first collision; or, where grazing is to be kept clear of as well, the first contact.
    pub fn first(grazing: bool) -> Self {
        Self { found: BTreeMap::new(), first_only: true, limit: if grazing { GRAZING } else { -GRAZING } }
    }

    /// The pairs that come closer than they may, in a fixed order.
    pub fn touches(self) -> Vec<Touch> {
        self.found.into_values().collect()
    }

    /// A shape that moves, against one that rests. A `resting` pair may touch, not overlap.
    pub fn look(&mut self, moving: (Thing, &Convex, Mover<'_>), other: (Thing, &Convex), resting: bool) {
        let (thing, shape, mover) = moving;
        if self.enough() {
            return;
        }
        let pair = (thing, other.0);
        match mover {
            Mover::Still => {
                if shape.gap_at_least(other.1) <= GRAZING {
                    self.note(pair, shape.gap(other.1), 0.0, resting);
                }
            }
            Mover::Side(sweep) => {
                if sweep.never_reaches(shape, other.1) {
                    return;
                }
                let swing = sweep.swing;
                let speed = swing.speed(shape.farthest(sweep.end));
                let gap = |angle: f64, enough: f64| {
                    let moved = shape.moved(&swing.motion(angle));
                    // What is surely clear by the circles around both needs no closer look.
                    let rough = moved.gap_at_least(other.1);
                    if rough > enough { rough } else { moved.gap(other.1) }
                };
                self.sweep(pair, swing.angle, speed, gap, resting);
            }
        }
    }

    /// The zone that is being bent, against a shape that rests, or one that moves with the moving side.
    pub fn look_at_zone(&mut self, swing: &Swing, other: (Thing, &Convex), moves: bool) {
        if self.enough() {
            return;
        }
        let end = swing.flat_end();
        let within = swing.zone + 2.0 * swing.thickness;
        let reach = if moves { end } else { Point::new(-end.x, end.y) };
        // Everything of the zone lies this close to either end of it.
        if other.1.nearest(reach) > within + GRAZING {
            return;
        }
        let speed = swing.zone_speed() + if moves { swing.speed(other.1.farthest(end)) } else { 0.0 };
        let gap = |angle: f64, _: f64| {
            let moved = if moves { other.1.moved(&swing.motion(angle)) } else { *other.1 };
            let shapes = swing.zone_shapes(angle);
            shapes.iter().map(|shape| shape.gap(&moved)).fold(f64::INFINITY, f64::min)
        };
        self.sweep((Thing::Zone, other.0), swing.angle, speed, gap, false);
    }

    /// Two moving sides back to back, `apart` the distance of their bend lines.
    pub fn look_at_both(&mut self, near: (Thing, &Convex, &Swing), far: (Thing, &Convex, &Swing), apart: f64) {
        if self.enough() {
            return;
        }
        let pair = (near.0, far.0);
        let speeds = [near, far].map(|(_, shape, swing)| swing.speed(shape.farthest(swing.flat_end())));
        let mut best = f64::INFINITY;
        let mut stack = vec![[(0.0, near.2.angle), (0.0, far.2.angle)]];
        while let Some([a, b]) = stack.pop() {
            let middles = [f64::midpoint(a.0, a.1), f64::midpoint(b.0, b.1)];
            let slacks = [speeds[0] * (a.1 - a.0) / 2.0, speeds[1] * (b.1 - b.0) / 2.0];
            let first = near.1.moved(&near.2.motion(middles[0]));
            let second = far.1.moved(&far.2.motion(middles[1]).mirrored_at(-apart / 2.0));
            let rough = first.gap_at_least(&second);
            let slack = slacks[0] + slacks[1];
            if rough - slack > GRAZING {
                continue;
            }
            let gap = first.gap(&second);
            best = best.min(gap);
            self.note(pair, gap, middles[0], false);
            if gap - slack >= (best - RESOLUTION).min(GRAZING) || best < -GRAZING || self.enough() {
                continue;
            }
            if slacks[0] >= slacks[1] {
                stack.extend([[(middles[0], a.1), b], [(a.0, middles[0]), b]]);
            } else {
                stack.extend([[a, (middles[1], b.1)], [a, (b.0, middles[1])]]);
            }
        }
    }

    fn enough(&self) -> bool {
        self.first_only && !self.found.is_empty()
    }

    /// Halves the swing until nothing smaller than the resolution is left open.
    fn sweep(&mut self, pair: (Thing, Thing), angle: f64, speed: f64, gap: impl Fn(f64, f64) -> f64, resting: bool) {
        let limit = if resting { -GRAZING } else { self.limit };
        let mut best = f64::INFINITY;
        // Both ends first: the sheet lies flat at one, and the farthest swing is at the other.
        for end in [0.0, angle] {
            let here = gap(end, CLEAR);
            best = best.min(here);
            self.note(pair, here, end, resting);
        }
        let mut stack: Vec<Stretch> = vec![(0.0, angle)];
        while let Some((from, to)) = stack.pop() {
            if self.enough() {
                return;
            }
            let slack = speed * (to - from) / 2.0;
            let middle = f64::midpoint(from, to);
            let here = gap(middle, slack + CLEAR);
            best = best.min(here);
            self.note(pair, here, middle, resting);
            let open = here - slack;
            // A collision that is found need not be found to its depth; what is clear enough needs no closer look.
            let settled = open >= limit || (open >= best - RESOLUTION && open >= -GRAZING);
            let hit = best < -GRAZING && slack < 10.0 * GRAZING;
            if settled || hit || slack < RESOLUTION / 2.0 {
                continue;
            }
            stack.push((middle, to));
            stack.push((from, middle));
        }
    }

    fn note(&mut self, pair: (Thing, Thing), gap: f64, angle: f64, resting: bool) {
        let collides = gap < -GRAZING;
        let close = collides || (gap - RESOLUTION <= self.limit && self.limit > 0.0 && !resting);
        if close && self.found.get(&pair).is_none_or(|known| gap < known.gap) {
            self.found.insert(pair, Touch { first: pair.0, second: pair.1, gap, angle, collides });
        }
    }
}
