use serde::{Deserialize, Serialize};

use crate::physics::collide::sheet::arc;
use crate::physics::collide::{Convex, Motion, Point};

/// Below this angle the zone is as good as flat, rad: the shift is a millionth of the zone's length.
const FLAT: f64 = 1e-6;

/// How the moving side goes up: the heated zone keeps its length along the neutral line and is evenly curved at each
/// moment, and the rest follows it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Swing {
    /// Thickness of the sheet, m.
    pub thickness: f64,
    /// The neutral line's place: share of the thickness, from the inside of the bend.
    pub neutral: f64,
    /// The heated zone along the neutral line, m.
    pub zone: f64,
    /// How far the arm swings, rad.
    pub angle: f64,
}

impl Swing {
    /// Where what lies flat at x > 0 has come to at an angle: the end of the zone is the end of an arc of the length
    /// `zone`, and the moving side goes on from there.
    pub fn motion(&self, angle: f64) -> Motion {
        let end = Point::new(self.zone / 2.0, self.neutral_height());
        let turn = Point::at_angle(angle);
        let now = self.zone_end(angle, turn);
        let turned = Point::new(turn.x * end.x - turn.y * end.y, turn.y * end.x + turn.x * end.y);
        Motion { turn, shift: now.minus(turned), mirrored: false }
    }

    /// The zone at an angle.
    pub fn zone_shapes(&self, angle: f64) -> Vec<Convex> {
        let start = -self.zone / 2.0;
        if angle < FLAT {
            return vec![Convex::rectangle(start, -start, 0.0, self.thickness)];
        }
        arc(start, self.thickness, self.radius(angle), angle)
    }

    /// No point of the moving side that lies at this distance from the zone's end moves faster, m a rad: the end of an
    /// evenly curved zone itself moves by at most half its length.
    pub fn speed(&self, from_end: f64) -> f64 {
        (self.zone / 2.0).max(self.neutral * self.thickness) + from_end
    }

    /// No point of the zone, nor of the polygons that cover it, moves faster, m a rad.
    pub fn zone_speed(&self) -> f64 {
        self.zone + 2.0 * self.thickness
    }

    /// The end of the zone on the neutral line while the sheet lies flat.
    pub fn flat_end(&self) -> Point {
        Point::new(self.zone / 2.0, self.neutral_height())
    }

    /// Inside radius at an angle. A bend cannot be sharper than to touch itself.
    pub fn radius(&self, angle: f64) -> f64 {
        (self.zone / angle - self.neutral * self.thickness).max(0.0)
    }

    fn neutral_height(&self) -> f64 {
        (1.0 - self.neutral) * self.thickness
    }

    /// `turn` is the unit vector at the angle.
    fn zone_end(&self, angle: f64, turn: Point) -> Point {
        if angle < FLAT {
            return Point::new(self.zone / 2.0, self.neutral_height() + self.zone * angle / 2.0);
        }
        let radius = self.radius(angle) + self.neutral * self.thickness;
        Point::new(radius * turn.y - self.zone / 2.0, self.neutral_height() + radius * (1.0 - turn.x))
    }
}

#[cfg(test)]
mod tests {
    use super::Swing;
    use crate::physics::collide::Point;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn an_upright_side_stands_where_the_arc_ends() {
        // 90 deg, inside radius 6 mm, 3 mm thick: the outer face stands 3.1 mm before the bend line, as a turn about
        // an axis 3.1 mm above the base has it.
        let swing = Swing { thickness: 3.0, neutral: 0.5, zone: FRAC_PI_2 * 7.5, angle: FRAC_PI_2 };
        let corner = swing.motion(FRAC_PI_2).of(Point::new(swing.zone / 2.0, 0.0));
        assert!((corner.x - (9.0 - swing.zone / 2.0)).abs() < 1e-12 && (corner.y - 9.0).abs() < 1e-12, "{corner:?}");
        let axis = Point::new(0.0, 9.0 - swing.zone / 2.0);
        let still = swing.motion(FRAC_PI_2).of(axis);
        assert!(still.minus(axis).length() < 1e-12, "{still:?}");
    }

    #[test]
    fn nothing_is_faster_than_its_bound() {
        let swing = Swing { thickness: 3.0, neutral: 0.45, zone: 12.0, angle: 2.5 };
        for step in 0..2500 {
            let angle = f64::from(step) * 1e-3;
            for point in [Point::new(6.0, 0.0), Point::new(120.0, 3.0), Point::new(40.0, -60.0)] {
                let way = swing.motion(angle + 1e-3).of(point).minus(swing.motion(angle).of(point)).length();
                let bound = swing.speed(point.minus(swing.flat_end()).length()) * 1e-3;
                assert!(way <= bound * (1.0 + 1e-9), "{angle}: {way} > {bound}");
            }
        }
    }
}
