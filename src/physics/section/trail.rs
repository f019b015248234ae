//! The moments of a heat that were passed, so that any heat time can be looked at without solving again.

use super::march::{Moment, between};

/// Every accepted step of a heat; buffers are kept from one section to the next.
#[derive(Clone, Debug, Default)]
pub(super) struct Trail {
    moments: Vec<Moment>,
    length: usize,
}

impl Trail {
    /// Forgets all moments but keeps their memory.
    pub fn clear(&mut self) {
        self.length = 0;
    }

    /// Adds a moment at the end.
    pub fn push(&mut self, moment: &Moment) {
        if let Some(place) = self.moments.get_mut(self.length) {
            place.copy_from(moment);
        } else {
            self.moments.push(moment.clone());
        }
        self.length += 1;
    }

    /// The moments passed, in order. A change of level leaves two at one time, the later with the new rates.
    pub fn moments(&self) -> &[Moment] {
        self.moments.get(..self.length).unwrap_or(&[])
    }

    /// Writes the state at a time into `out`; times before and after are those of the ends.
    pub fn at(&self, time: f64, out: &mut Moment) {
        let moments = self.moments();
        let after = moments.partition_point(|moment| moment.time < time);
        match (moments.get(after.wrapping_sub(1)), moments.get(after)) {
            (Some(start), Some(end)) => between(start, end, time, out),
            (Some(only), None) | (None, Some(only)) => {
                out.time = only.time;
                out.sheet.clone_from(&only.sheet);
                out.extras = only.extras;
            }
            (None, None) => {}
        }
    }
}
