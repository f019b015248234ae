//! The cross-section of the sheet on its fixed side while some bends are made and others not.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::model::{Direction, FenceSide, Part};
use crate::plan::Blank;

/// How far the fixed side reaches back from the bend line, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extent {
    /// The farthest point from the bend line along the base: where the fence must stand.
    pub back: f64,
}

/// A point and a direction on the way along the middle of the sheet; x grows away from the bend line.
#[derive(Clone, Copy)]
struct Walk {
    x: f64,
    /// Angle of the way above the base.
    heading: f64,
    farthest: f64,
    half: f64,
}

/// How far the fixed side reaches when bend `bend` is about to be made and those in `made` are done.
///
/// The way along the middle of the sheet is followed from the bend line: straight stretches at full length, made
/// bends as arcs of the radius `r + h/2`, bends to come as flat stretches of their arc. An upright wall counts with
/// the outer face that the fence touches.
pub fn extent(part: &Part, blank: &Blank, bend: usize, made: &[usize], side: FenceSide) -> Extent {
    let half = part.sheet.thickness.value.nominal() / 2.0;
    let mut walk = Walk { x: blank.lines[bend].arc.nominal() / 2.0, heading: 0.0, farthest: 0.0, half };
    let own_way_up = part.bends[bend].direction == Direction::Up;
    let ahead: Vec<usize> = match side {
        FenceSide::Front => (0..bend).rev().collect(),
        FenceSide::Back => (bend + 1..part.bends.len()).collect(),
    };
    let straight = |step: usize| match side {
        FenceSide::Front => blank.straights[bend - step],
        FenceSide::Back => blank.straights[bend + 1 + step],
    };
    walk.straight(straight(0));
    for (step, next) in ahead.into_iter().enumerate() {
        let line = &blank.lines[next];
        if made.contains(&next) {
            let up = (part.bends[next].direction == Direction::Up) == own_way_up;
            walk.arc(line.radius + half, part.bends[next].angle.value, up);
        } else {
            walk.straight(line.arc.nominal());
        }
        walk.straight(straight(step + 1));
    }
    Extent { back: walk.farthest }
}

impl Walk {
    fn straight(&mut self, length: f64) {
        self.touch();
        self.x += length * libm::cos(self.heading);
        self.touch();
    }

    /// Both faces at the present point.
    fn touch(&mut self) {
        self.farthest = self.farthest.max(self.x + self.half * libm::sin(self.heading).abs());
    }

    fn arc(&mut self, radius: f64, angle: f64, up: bool) {
        let sign = if up { 1.0 } else { -1.0 };
        let end = self.heading + sign * angle;
        // The centre lies square to the way, on the side to which it turns.
        let centre = self.x - sign * radius * libm::sin(self.heading);
        // Where the way stands upright within the arc, the outer face is farthest.
        let (low, high) = if up { (self.heading, end) } else { (end, self.heading) };
        let upright = if up { FRAC_PI_2 } else { -FRAC_PI_2 };
        let turns = libm::ceil((low - upright) / (2.0 * PI));
        if upright + 2.0 * PI * turns <= high {
            self.farthest = self.farthest.max(centre + radius + self.half);
        }
        self.x = centre + sign * radius * libm::sin(end);
        self.heading = end;
        self.touch();
    }
}

#[cfg(test)]
mod tests {
    use super::Walk;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn an_upright_wall_counts_with_its_outer_face() {
        // 60 mm flat, then 90 deg up, inside radius 6 mm, 3 mm thick: 60 + 6 + 3.
        let mut walk = Walk { x: 0.0, heading: 0.0, farthest: 0.0, half: 1.5 };
        walk.straight(60.0);
        walk.arc(7.5, FRAC_PI_2, true);
        walk.straight(100.0);
        assert!((walk.farthest - 69.0).abs() < 1e-9, "{}", walk.farthest);
    }

    #[test]
    fn a_wall_that_leans_out_counts_with_its_tip() {
        let mut walk = Walk { x: 0.0, heading: 0.0, farthest: 0.0, half: 1.5 };
        walk.straight(60.0);
        walk.arc(7.5, FRAC_PI_2 / 2.0, false);
        walk.straight(100.0);
        let root = 0.5_f64.sqrt();
        let tip = 60.0 + 7.5 * root + 100.0 * root + 1.5 * root;
        assert!((walk.farthest - tip).abs() < 1e-9, "{}", walk.farthest);
    }
}
