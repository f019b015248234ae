//! The least gap of moving shapes, by halving the swing wherever a shape could still reach another between the angles
//! looked at: a shape that moves at most L from the middle of a stretch of the swing stays clear if its gap there is
//! more than L (Lipschitz bound; the gap changes by at most as much as any point moves).

use std::collections::BTreeMap;

use crate::physics::collide::mover::{Mover, Zone};
use crate::physics::collide::{Convex, GRAZING, RESOLUTION, Solid, Swing, Thing, Touch};

/// A gap beyond this is never told, m.
const CLEAR: f64 = GRAZING + 2.0 * RESOLUTION;

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

    /// What moves, against what rests. A `resting` pair may touch, not overlap.
    pub fn look(&mut self, moving: (Thing, &Solid, Mover<'_>), other: (Thing, &Solid), resting: bool) {
        let (thing, solid, mover) = moving;
        let (with, rests) = other;
        let pair = (thing, with);
        let far = self.far(resting);
        if self.enough() || !(solid.is_plain() && rests.is_plain()) && mover.clears(solid.cover(), rests.cover(), far) {
            return;
        }
        for shape in solid.shapes() {
            if !rests.is_plain() && mover.clears(shape, rests.cover(), far) {
                continue;
            }
            for rest in rests.shapes() {
                self.look_at_shapes(pair, shape, mover, rest, resting);
            }
        }
    }

    fn look_at_shapes(
        &mut self,
        pair: (Thing, Thing),
        shape: &Convex,
        mover: Mover<'_>,
        other: &Convex,
        resting: bool,
    ) {
        if self.enough() {
            return;
        }
        match mover {
            Mover::Still => {
                if shape.gap_at_least(other) <= GRAZING {
                    self.note(pair, shape.gap(other), 0.0, resting);
                }
            }
            Mover::Side(sweep) => {
                if !sweep.never_reaches(shape, other) {
                    let gap = |angle: f64, enough: f64| sweep.gap(shape, other, angle, enough);
                    self.sweep(pair, sweep.swing.angle, sweep.speed(shape), gap, resting);
                }
            }
        }
    }

    /// The zone that is being bent, against what rests, or what moves with the moving side.
    pub fn look_at_zone(&mut self, swing: &Swing, other: (Thing, &Solid), moves: bool) {
        let (thing, solid) = other;
        let pair = (Thing::Zone, thing);
        let zone = Zone { swing, moves };
        if self.enough() || !solid.is_plain() && zone.clears(solid.cover(), self.far(false)) {
            return;
        }
        for shape in solid.shapes() {
            if self.enough() {
                return;
            }
            if !zone.never_reaches(shape) {
                let gap = |angle: f64, enough: f64| zone.gap(shape, angle, enough);
                self.sweep(pair, swing.angle, zone.speed(shape), gap, false);
            }
        }
    }

    /// Two moving sides back to back, `apart` the distance of their bend lines.
    pub fn look_at_both(&mut self, near: (Thing, &Solid, &Swing), far: (Thing, &Solid, &Swing), apart: f64) {
        for one in near.1.shapes() {
            for other in far.1.shapes() {
                self.look_at_both_shapes((near.0, one, near.2), (far.0, other, far.2), apart);
            }
        }
    }

    fn look_at_both_shapes(&mut self, near: (Thing, &Convex, &Swing), far: (Thing, &Convex, &Swing), apart: f64) {
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

    /// A gap beyond this is never noted.
    fn far(&self, resting: bool) -> f64 {
        if resting || self.limit < 0.0 { -GRAZING } else { CLEAR }
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
