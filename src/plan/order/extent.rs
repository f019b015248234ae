//! The cross-section of the sheet on its fixed side while some bends are made and others not.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::model::FenceSide;
use crate::plan::order::Outline;

/// A point and a direction on the way along the middle of the sheet; x grows away from the bend line, y from the base.
#[derive(Clone, Copy)]
struct Walk {
    x: f64,
    y: f64,
    /// Angle of the way above the base.
    heading: f64,
    farthest: f64,
    half: f64,
    /// How high the fence is: what lies above it or below the base's surface does not touch it.
    fence: f64,
}

/// Rounding must not put the sheet's lower face below the base.
const LEVEL: f64 = 1e-9;

/// How far the fixed side reaches back, m: where the fence's face stands when bend `bend` is about to be made and those
/// in `made` are done.
///
/// The way along the middle of the sheet is followed from the bend line: straight stretches at full length, made
/// bends as arcs of the radius `r + h/2`, bends to come as flat stretches of their arc. Of both faces and the cut edge
/// the farthest point counts that lies no higher than the fence and not below the base.
pub fn back(outline: &Outline, bend: usize, made: &[usize], side: FenceSide) -> f64 {
    let half = outline.thickness / 2.0;
    let fence = outline.bench.fence.height;
    let own = &outline.bends[bend];
    let mut walk = Walk { x: own.arc / 2.0, y: half, heading: 0.0, farthest: 0.0, half, fence };
    let ahead: Vec<usize> = match side {
        FenceSide::Front => (0..bend).rev().collect(),
        FenceSide::Back => (bend + 1..outline.bends.len()).collect(),
    };
    let straight = |step: usize| match side {
        FenceSide::Front => outline.straights[bend - step],
        FenceSide::Back => outline.straights[bend + 1 + step],
    };
    walk.straight(straight(0));
    for (step, next) in ahead.into_iter().enumerate() {
        let other = &outline.bends[next];
        if made.contains(&next) {
            walk.arc(other.radius + half, other.angle, other.down == own.down);
        } else {
            walk.straight(other.arc);
        }
        walk.straight(straight(step + 1));
    }
    walk.edge();
    walk.farthest
}

impl Walk {
    fn straight(&mut self, length: f64) {
        let from = *self;
        self.x += length * libm::cos(self.heading);
        self.y += length * libm::sin(self.heading);
        for face in [-self.half, self.half] {
            self.line(from.face(face), self.face(face));
        }
    }

    /// The sheet ends here.
    fn edge(&mut self) {
        self.line(self.face(-self.half), self.face(self.half));
    }

    /// A point square to the way, so far above the middle of the sheet.
    fn face(&self, above: f64) -> (f64, f64) {
        (self.x - above * libm::sin(self.heading), self.y + above * libm::cos(self.heading))
    }

    fn touches(&self, y: f64) -> bool {
        (-LEVEL..=self.fence + LEVEL).contains(&y)
    }

    /// The part of a line that the fence can touch.
    fn line(&mut self, from: (f64, f64), to: (f64, f64)) {
        let rise = to.1 - from.1;
        let at = |y: f64| (y - from.1) / rise;
        let crossings = [0.0, self.fence].map(at).into_iter().filter(|part| (0.0..=1.0).contains(part));
        let crossed = crossings.map(|part| from.0 + part * (to.0 - from.0));
        let ends = [from, to].into_iter().filter(|end| self.touches(end.1)).map(|end| end.0);
        self.farthest = crossed.chain(ends).fold(self.farthest, f64::max);
    }

    fn arc(&mut self, radius: f64, angle: f64, up: bool) {
        let sign = if up { 1.0 } else { -1.0 };
        let (from, end) = (self.heading, self.heading + sign * angle);
        // The centre lies square to the way, on the side to which it turns.
        let centre = self.face(sign * radius);
        for face in [radius - self.half, radius + self.half] {
            self.round(centre, sign * face, (from.min(end), from.max(end)));
        }
        self.x = centre.0 + sign * radius * libm::sin(end);
        self.y = centre.1 - sign * radius * libm::cos(end);
        self.heading = end;
    }

    /// The part of a round face that the fence can touch: its ends, where it stands upright, and where it comes to the
    /// height of the base's surface or of the fence's edge.
    fn round(&mut self, centre: (f64, f64), radius: f64, (low, high): (f64, f64)) {
        let point = |heading: f64| (centre.0 + radius * libm::sin(heading), centre.1 - radius * libm::cos(heading));
        let level = |y: f64| libm::acos(((centre.1 - y) / radius).clamp(-1.0, 1.0));
        let levels = [0.0, self.fence].map(level);
        let places = [low, high, FRAC_PI_2, -FRAC_PI_2, levels[0], -levels[0], levels[1], -levels[1]];
        for place in places {
            for turns in -1..=1 {
                let heading = place + 2.0 * PI * f64::from(turns);
                let at = point(heading);
                if (low..=high).contains(&heading) && self.touches(at.1) {
                    self.farthest = self.farthest.max(at.0);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Walk;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn an_upright_wall_counts_with_its_outer_face() {
        // 60 mm flat, then 90 deg up, inside radius 6 mm, 3 mm thick: 60 + 6 + 3.
        let mut walk = walk(15.0);
        walk.arc(7.5, FRAC_PI_2, true);
        walk.straight(100.0);
        assert!((walk.farthest - 69.0).abs() < 1e-9, "{}", walk.farthest);
    }

    /// A wall that leans out by 45 deg touches a fence of 15 mm with its face at that height: the face begins where the
    /// arc ends, at x = 60 + 9/√2 and y = 9 - 9/√2, and goes on at 45 deg.
    #[test]
    fn a_wall_that_leans_out_counts_with_its_face_at_the_fences_edge() {
        let mut low = walk(15.0);
        low.arc(7.5, FRAC_PI_2 / 2.0, true);
        low.straight(100.0);
        let root = 0.5_f64.sqrt();
        let wanted = 60.0 + 9.0 * root + (15.0 - (9.0 - 9.0 * root));
        assert!((low.farthest - wanted).abs() < 1e-9, "{} for {wanted}", low.farthest);
        // A fence that stands as high as the wall is touched by its tip.
        let mut high = walk(1000.0);
        high.arc(7.5, FRAC_PI_2 / 2.0, true);
        high.straight(100.0);
        high.edge();
        let tip = 60.0 + 7.5 * root + 100.0 * root + 1.5 * root;
        assert!((high.farthest - tip).abs() < 1e-9, "{} for {tip}", high.farthest);
    }

    /// What hangs down behind the base is not touched: the upper face of a flange that goes down counts where it comes
    /// to the height of the base. The outer face of its arc has the radius 9 and its centre 6 below the base's surface.
    #[test]
    fn what_hangs_down_is_not_touched() {
        let mut walk = walk(15.0);
        walk.arc(7.5, FRAC_PI_2, false);
        walk.straight(100.0);
        let wanted = 60.0 + (81.0_f64 - 36.0).sqrt();
        assert!((walk.farthest - wanted).abs() < 1e-9, "{} for {wanted}", walk.farthest);
    }

    /// 60 mm of a flat sheet of 3 mm, with a fence of this height.
    fn walk(fence: f64) -> Walk {
        let mut walk = Walk { x: 0.0, y: 1.5, heading: 0.0, farthest: 0.0, half: 1.5, fence };
        walk.straight(60.0);
        walk
    }
}
