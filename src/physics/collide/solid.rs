use crate::physics::collide::{Convex, Motion};

/// A part of the sheet or of the bench: convex polygons, and one that covers them all. What stays clear of the cover stays
/// clear of what it covers, at the cost of one polygon.
#[derive(Clone, Debug, PartialEq)]
pub struct Solid {
    cover: Convex,
    /// What is covered; empty where the cover is the very shape.
    covered: Vec<Convex>,
}

impl Solid {
    /// Some polygons under a cover that none of them stands out of.
    pub fn covered(cover: Convex, covered: Vec<Convex>) -> Self {
        Self { cover, covered }
    }

    /// What covers it.
    pub fn cover(&self) -> &Convex {
        &self.cover
    }

    /// Whether the cover is the very shape.
    pub fn is_plain(&self) -> bool {
        self.covered.is_empty()
    }

    /// Its shape.
    pub fn shapes(&self) -> &[Convex] {
        if self.is_plain() { std::slice::from_ref(&self.cover) } else { &self.covered }
    }

    /// The same after a motion.
    #[must_use]
    pub fn moved(&self, motion: &Motion) -> Self {
        let covered = self.covered.iter().map(|shape| shape.moved(motion)).collect();
        Self { cover: self.cover.moved(motion), covered }
    }
}

impl From<Convex> for Solid {
    fn from(shape: Convex) -> Self {
        Self { cover: shape, covered: Vec::new() }
    }
}
