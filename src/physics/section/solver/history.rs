//! Temperatures over time, for curves: from heater on to the end of the set.

use super::Solver;
use crate::physics::fault::{Fault, Input, within};
use crate::physics::section::Section;
use crate::physics::section::field::Phase;
use crate::physics::section::zone::View;

/// The sheet at the line at one moment. Temperatures in K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Since the heater was first switched on, s.
    pub time: f64,
    /// At the line on the first and the second face.
    pub faces: [f64; 2],
    /// Mean through the thickness at the line.
    pub mean: f64,
}

impl Solver {
    /// The sheet some time (s) after the heater was first switched on, while it stays on; for the section last heated,
    /// at most as long as it was solved.
    pub fn sample_heating(&mut self, time: f64) -> Sample {
        self.trail.at(time, &mut self.spare);
        let view = View { grid: &self.march.field.grid, sheet: &self.spare.sheet };
        Sample { time, faces: view.faces_at_line(), mean: view.mean_at_line() }
    }

    /// The hottest point of the section last heated (K) some time (s) after the heater was first switched on.
    pub fn hottest_at(&mut self, time: f64) -> f64 {
        self.trail.at(time, &mut self.spare);
        View { grid: &self.march.field.grid, sheet: &self.spare.sheet }.hottest_node()
    }

    /// The sheet through the transfer and so long (s) in the arm after a heat time of the section last heated, every
    /// `step` s and at the end of either phase.
    pub fn samples_after(
        &mut self,
        section: &Section<'_>,
        heat_time: f64,
        arm: f64,
        step: f64,
    ) -> Result<Vec<Sample>, Fault> {
        within(Input::HeatTime, arm, 0.0, 7200.0)?;
        within(Input::HeatTime, step, 1e-3, 7200.0)?;
        self.trail.at(heat_time, &mut self.spare);
        self.march.now.sheet.clone_from(&self.spare.sheet);
        self.march.now.extras = self.spare.extras;
        let mut samples = Vec::new();
        let mut begun = heat_time;
        for (phase, length) in [(Phase::Transfer, section.transfer), (Phase::Arm, arm)] {
            self.march.now.time = 0.0;
            self.march.enter(section, phase);
            let mut next = step.min(length);
            while self.march.now.time < length {
                while self.march.now.time < next {
                    self.march.step(section, next)?;
                }
                let view = self.view();
                let time = begun + self.march.now.time;
                samples.push(Sample { time, faces: view.faces_at_line(), mean: view.mean_at_line() });
                next = (next + step).min(length);
            }
            begun += length;
        }
        Ok(samples)
    }
}
