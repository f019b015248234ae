use crate::physics::collide::{Motion, Point};

/// Edges shorter than this have no direction worth the name, m.
const NO_EDGE: f64 = 1e-12;

/// The most corners a polygon has: a sector of an arc has five.
const MOST: usize = 5;

/// A convex polygon with its corners counter-clockwise, and a circle around it. The corners lie in the polygon itself:
/// a search moves millions of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Convex {
    places: [Point; MOST],
    count: usize,
    centre: Point,
    radius: f64,
}

impl Convex {
    /// The polygon with these corners, which stand counter-clockwise; at most five.
    pub fn new<const N: usize>(corners: [Point; N]) -> Self {
        const { assert!(0 < N && N <= MOST, "a polygon has one to five corners") };
        let sum = corners.iter().fold(Point::new(0.0, 0.0), |sum, corner| sum.along(*corner, 1.0));
        let centre = Point::new(sum.x / N as f64, sum.y / N as f64);
        let radius = corners.iter().map(|corner| corner.minus(centre).length()).fold(0.0, f64::max);
        let mut places = [centre; MOST];
        places[..N].copy_from_slice(&corners);
        Self { places, count: N, centre, radius }
    }

    /// An upright rectangle.
    pub fn rectangle(left: f64, right: f64, bottom: f64, top: f64) -> Self {
        Self::new([Point::new(left, bottom), Point::new(right, bottom), Point::new(right, top), Point::new(left, top)])
    }

    /// Its corners.
    pub fn corners(&self) -> &[Point] {
        &self.places[..self.count]
    }

    /// The polygon after a motion.
    #[must_use]
    pub fn moved(&self, motion: &Motion) -> Self {
        let mut moved = Self { places: self.places.map(|corner| motion.of(corner)), ..*self };
        moved.centre = motion.of(self.centre);
        if motion.mirrored {
            moved.places[..self.count].reverse();
        }
        moved
    }

    /// The farthest that any of its points lies from `from`.
    pub fn farthest(&self, from: Point) -> f64 {
        self.corners().iter().map(|corner| corner.minus(from).length()).fold(0.0, f64::max)
    }

    /// The farthest that any of its points can lie from `from`: never less than the truth.
    pub fn within(&self, from: Point) -> f64 {
        self.centre.minus(from).length() + self.radius
    }

    /// The nearest that any of its points can lie to `to`: never more than the truth.
    pub fn nearest(&self, to: Point) -> f64 {
        self.centre.minus(to).length() - self.radius
    }

    /// Never more than the gap to another.
    pub fn gap_at_least(&self, other: &Self) -> f64 {
        self.centre.minus(other.centre).length() - self.radius - other.radius
    }

    /// The gap to another polygon; negative by the shortest way out where they overlap (separating axes for the
    /// overlap, corners against edges for the gap: exact for convex polygons).
    ///
    /// If every point of either polygon moves by at most d, this changes by at most d: it is the signed distance of the
    /// origin from the convex set of all differences, whose edge moves by at most as much.
    pub fn gap(&self, other: &Self) -> f64 {
        self.gap_up_to(other, f64::INFINITY)
    }

    /// The gap to another polygon; where it surely is more than `enough`, any figure between the two, which is had with
    /// less work: the circles around both, or one line between them, often tell.
    pub fn gap_up_to(&self, other: &Self, enough: f64) -> f64 {
        let mut apart = self.gap_at_least(other);
        if apart > enough {
            return apart;
        }
        apart = self.separation(other);
        if apart > enough {
            return apart;
        }
        apart = apart.max(other.separation(self));
        if apart <= 0.0 || apart > enough { apart } else { self.distance(other).min(other.distance(self)) }
    }

    /// The largest distance of the other polygon from the line of one of our edges.
    fn separation(&self, other: &Self) -> f64 {
        let mut best = f64::NEG_INFINITY;
        for (from, to) in self.edges() {
            let way = to.minus(from);
            let length = way.length();
            if length < NO_EDGE {
                continue;
            }
            // Counter-clockwise, the outside lies on the right.
            let outward = Point::new(way.y / length, -way.x / length);
            let nearest =
                other.corners().iter().map(|corner| corner.minus(from).dot(outward)).fold(f64::INFINITY, f64::min);
            best = best.max(nearest);
        }
        best
    }

    /// From the corners of the other polygon to our edges.
    fn distance(&self, other: &Self) -> f64 {
        let mut best = f64::INFINITY;
        for (from, to) in self.edges() {
            let way = to.minus(from);
            let square = way.dot(way);
            for corner in other.corners() {
                let offset = corner.minus(from);
                let share = if square > 0.0 { (offset.dot(way) / square).clamp(0.0, 1.0) } else { 0.0 };
                let short = offset.along(way, -share);
                best = best.min(short.dot(short));
            }
        }
        best.sqrt()
    }

    fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let corners = self.corners();
        let (first, others) = corners.split_at(corners.len().min(1));
        corners.iter().copied().zip(others.iter().chain(first).copied())
    }
}

#[cfg(test)]
mod tests {
    use super::Convex;

    #[test]
    fn gaps_and_overlaps_are_the_shortest() {
        let square = Convex::rectangle(0.0, 2.0, 0.0, 2.0);
        let close = |other: Convex, gap: f64| {
            let found = square.gap(&other);
            assert!((found - gap).abs() < 1e-12 && (other.gap(&square) - gap).abs() < 1e-12, "{found} for {gap}");
        };
        close(Convex::rectangle(3.0, 4.0, 0.0, 1.0), 1.0);
        close(Convex::rectangle(5.0, 6.0, 6.0, 7.0), 5.0);
        close(Convex::rectangle(1.5, 9.0, -1.0, 3.0), -0.5);
        close(Convex::rectangle(2.0, 3.0, 0.0, 1.0), 0.0);
    }
}
