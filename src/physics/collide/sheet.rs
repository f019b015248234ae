use crate::physics::collide::{Convex, Point};

/// How far the polygons that cover an arc may stand out of it, m.
pub const COVER: f64 = 2e-5;

/// A stretch of the sheet on one side of the bend line, on the way outward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// What it is called by whoever asks: a leg or a bend.
    pub name: usize,
    /// What it looks like.
    pub form: Form,
}

/// What a stretch looks like.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    /// As long as this, m; also a bend that is still to come.
    Flat(f64),
    /// A bend that is made: its inside radius, m, and its angle, positive where the way goes up.
    Bent(f64, f64),
}

/// A convex piece of the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its shape.
    pub shape: Convex,
    /// The stretch it belongs to, by its place on the way outward.
    pub stretch: usize,
}

/// The sheet along some stretches, from the place `start` of its lower face on towards positive x.
pub fn chain(stretches: &[Stretch], thickness: f64, start: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut way = Way { middle: Point::new(start, thickness / 2.0), heading: 0.0, thickness };
    for (place, stretch) in stretches.iter().enumerate() {
        let mut push = |shape| pieces.push(Piece { shape, stretch: place });
        match stretch.form {
            Form::Flat(length) if length > 0.0 => push(way.flat(length)),
            Form::Flat(_) => {}
            Form::Bent(radius, angle) => way.bent(radius, angle, push),
        }
    }
    pieces
}

/// The arc of a zone of this angle whose fixed end lies at `start` and whose inside radius is given.
pub fn arc(start: f64, thickness: f64, radius: f64, angle: f64) -> Vec<Convex> {
    let mut shapes = Vec::new();
    let mut way = Way { middle: Point::new(start, thickness / 2.0), heading: 0.0, thickness };
    way.bent(radius, angle, |shape| shapes.push(shape));
    shapes
}

/// A place in the middle of the sheet and the way on from there.
struct Way {
    middle: Point,
    heading: f64,
    thickness: f64,
}

impl Way {
    fn flat(&mut self, length: f64) -> Convex {
        let along = Point::at_angle(self.heading);
        let half = along.left();
        let from = self.middle;
        let to = from.along(along, length);
        self.middle = to;
        let (up, down) = (self.thickness / 2.0, -self.thickness / 2.0);
        Convex::new([from.along(half, down), to.along(half, down), to.along(half, up), from.along(half, up)])
    }

    /// An arc in sectors: two corners on the inside, and three that lie outside the outer face and touch it at both
    /// ends. Neither face is cut short.
    fn bent(&mut self, radius: f64, angle: f64, mut push: impl FnMut(Convex)) {
        if angle.abs() < 1e-9 {
            return;
        }
        let side = if angle < 0.0 { -1.0 } else { 1.0 };
        let outside = radius + self.thickness;
        let to_centre = Point::at_angle(self.heading).left();
        let centre = self.middle.along(to_centre, side * (radius + self.thickness / 2.0));
        let sectors = sectors(outside, angle.abs());
        let step = angle / f64::from(sectors);
        let mitre = outside / libm::cos(step / 2.0);
        // From the centre outward, at the start of the arc.
        let first = self.heading - side * std::f64::consts::FRAC_PI_2;
        let at = |turned: f64, distance: f64| centre.along(Point::at_angle(first + turned), distance);
        for sector in 0..sectors {
            let from = step * f64::from(sector);
            let to = step * f64::from(sector + 1);
            let mut corners = [
                at(from, radius),
                at(from, outside),
                at(f64::midpoint(from, to), mitre),
                at(to, outside),
                at(to, radius),
            ];
            if side < 0.0 {
                corners.reverse();
            }
            push(Convex::new(corners));
        }
        self.middle = at(angle, radius + self.thickness / 2.0);
        self.heading += angle;
    }
}

/// How many sectors keep the cover within [`COVER`] on both faces.
fn sectors(outside: f64, angle: f64) -> u32 {
    let half = libm::acos(outside / (outside + COVER)).max(0.01);
    let count = libm::ceil(angle / (2.0 * half)).clamp(1.0, 400.0);
    // In range by the clamp.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 1 and 400")]
    let count = count as u32;
    count
}
