use serde::{Deserialize, Serialize};

use crate::physics::collide::{Convex, Point, Solid};

/// How far the polygons that cover an arc may stand out of it, m.
pub const COVER: f64 = 2e-5;

/// No rough cover goes over more of an arc than this, rad: beyond it, it would stand out too far to be of use.
const ROUGH: f64 = std::f64::consts::FRAC_PI_3;

/// More sectors no arc has.
const MOST_SECTORS: u32 = 400;

/// A stretch of the sheet on one side of the bend line, on the way outward.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// What it is called by whoever asks: a leg or a bend.
    pub name: usize,
    /// What it looks like.
    pub form: Form,
}

/// What a stretch looks like.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Form {
    /// As long as this, m; also a bend that is still to come.
    Flat(f64),
    /// A bend that is made: its inside radius, m, and its angle, positive where the way goes up.
    Bent(f64, f64),
}

/// A flat stretch of the sheet, or a part of an arc.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Its shape.
    pub solid: Solid,
    /// The stretch it belongs to, by its place on the way outward.
    pub stretch: usize,
}

/// The sheet along some stretches, from the place `start` of its lower face on towards positive x.
pub fn chain(stretches: &[Stretch], thickness: f64, start: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut way = Way { middle: Point::new(start, thickness / 2.0), heading: 0.0, thickness };
    for (place, stretch) in stretches.iter().enumerate() {
        let mut push = |solid| pieces.push(Piece { solid, stretch: place });
        match stretch.form {
            Form::Flat(length) if length > 0.0 => push(way.flat(length).into()),
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
    way.bent(radius, angle, |part| shapes.extend_from_slice(part.shapes()));
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
    /// ends. Neither face is cut short. Neighbours have a rough cover in common: a sector like them, only wider.
    fn bent(&mut self, radius: f64, angle: f64, mut push: impl FnMut(Solid)) {
        if angle.abs() < 1e-9 {
            return;
        }
        let side = if angle < 0.0 { -1.0 } else { 1.0 };
        let outside = radius + self.thickness;
        let to_centre = Point::at_angle(self.heading).left();
        let centre = self.middle.along(to_centre, side * (radius + self.thickness / 2.0));
        // From the centre outward, at the start of the arc.
        let first = self.heading - side * std::f64::consts::FRAC_PI_2;
        let spoke = |turned: f64| Point::at_angle(first + turned);
        let sector = |from: Point, middle: Point, to: Point, mitre: f64| {
            let corners = [(from, radius), (from, outside), (middle, mitre), (to, outside), (to, radius)];
            let mut corners = corners.map(|(spoke, distance)| centre.along(spoke, distance));
            if side < 0.0 {
                corners.reverse();
            }
            Convex::new(corners)
        };
        let sectors = sectors(outside, angle.abs());
        let step = angle / f64::from(sectors);
        let mitre = |step: f64| outside / libm::cos(step / 2.0);
        let fine_mitre = mitre(step);
        let under_one = whole(ROUGH / step.abs()).clamp(1, sectors);
        let mut at = spoke(0.0);
        for start in (0..sectors).step_by(under_one as usize) {
            let end = (start + under_one).min(sectors);
            let from = at;
            let fine = (start..end).map(|one| {
                let (turned, to) = (step * f64::from(one), step * f64::from(one + 1));
                let next = spoke(to);
                sector(std::mem::replace(&mut at, next), spoke(f64::midpoint(turned, to)), next, fine_mitre)
            });
            let fine: Vec<Convex> = fine.collect();
            let (turned, to) = (step * f64::from(start), step * f64::from(end));
            let cover = sector(from, spoke(f64::midpoint(turned, to)), at, mitre(to - turned));
            push(if fine.len() > 1 { Solid::covered(cover, fine) } else { cover.into() });
        }
        self.middle = centre.along(spoke(angle), radius + self.thickness / 2.0);
        self.heading += angle;
    }
}

/// How many sectors keep the cover within [`COVER`] on both faces.
fn sectors(outside: f64, angle: f64) -> u32 {
    let half = libm::acos(outside / (outside + COVER)).max(0.01);
    whole(libm::ceil(angle / (2.0 * half))).clamp(1, MOST_SECTORS)
}

/// Rounded down, and [`MOST_SECTORS`] at most.
fn whole(count: f64) -> u32 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it is clamped to what fits")]
    let count = count.clamp(0.0, f64::from(MOST_SECTORS)) as u32;
    count
}
