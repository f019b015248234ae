/// A point of the cross-section, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Away from the bend line, towards the arm.
    pub x: f64,
    /// Above the base.
    pub y: f64,
}

impl Point {
    /// The point at these places.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at an angle above the x axis.
    pub fn at_angle(angle: f64) -> Self {
        Self::new(libm::cos(angle), libm::sin(angle))
    }

    /// From the origin, moved on by `by` times `way`.
    #[must_use]
    pub fn along(self, way: Self, by: f64) -> Self {
        Self::new(self.x + by * way.x, self.y + by * way.y)
    }

    /// The vector from `from` to here.
    #[must_use]
    pub fn minus(self, from: Self) -> Self {
        Self::new(self.x - from.x, self.y - from.y)
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Distance from the origin. A square root is exact to the last bit on every machine, `hypot` need not be.
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Turned a quarter to the left.
    #[must_use]
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }
}

/// A rigid motion of the plane: a turn about the origin, then a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    /// Cosine and sine of the turn.
    pub turn: Point,
    /// The shift.
    pub shift: Point,
    /// Whether x changes its sign after all else.
    pub mirrored: bool,
}

impl Motion {
    /// Nothing moves.
    pub const REST: Self = Self { turn: Point::new(1.0, 0.0), shift: Point::new(0.0, 0.0), mirrored: false };

    /// The mirror image about the line x = `axis`.
    #[must_use]
    pub fn mirrored_at(self, axis: f64) -> Self {
        let shift = Point::new(self.shift.x - 2.0 * axis, self.shift.y);
        Self { shift, mirrored: !self.mirrored, ..self }
    }

    /// Where a point comes to.
    pub fn of(&self, point: Point) -> Point {
        let x = self.turn.x * point.x - self.turn.y * point.y + self.shift.x;
        let y = self.turn.y * point.x + self.turn.x * point.y + self.shift.y;
        Point::new(if self.mirrored { -x } else { x }, y)
    }
}
