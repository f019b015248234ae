//! What a supply, its fuses and its leads carry.

use super::fault::{Fault, Input, within};
use crate::units::Known;

/// Highest voltages that count as extra-low, V: direct, alternating (IEC 61140 as quoted everywhere; from memory).
pub const EXTRA_LOW: (f64, f64) = (120.0, 50.0);

/// How a current stands against what may flow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Load {
    /// Within the limit over all that is known.
    Within,
    /// Above it at the worst that is known, not at the nominal.
    Doubtful,
    /// Above it at the nominal.
    Above,
}

/// Largest current that may be drawn for long, A: `rating · share`.
pub fn continuous_limit(rating: f64, share: f64) -> Result<f64, Fault> {
    within(Input::Current, rating, 0.0, 1e5)?;
    within(Input::Level, share, 0.0, 1.0)?;
    Ok(rating * share)
}

/// Sum of currents that flow at one moment, A. Bounds add up, since nothing is known of how they move together.
pub fn sum(currents: &[Known]) -> Known {
    currents.iter().fold(Known { nominal: 0.0, low: 0.0, high: 0.0 }, |total, current| Known {
        nominal: total.nominal + current.nominal,
        low: total.low + current.low,
        high: total.high + current.high,
    })
}

/// A current against a limit, both in A.
pub fn load(current: Known, limit: f64) -> Load {
    if current.nominal > limit {
        Load::Above
    } else if current.high > limit {
        Load::Doubtful
    } else {
        Load::Within
    }
}

/// Whether a fuse (A) lets the working current (A) through for long and still guards leads that carry `capacity` (A).
///
/// A fuse is loaded to the continuous share of its rating at most; its rating stays at or below what the leads carry.
pub fn fuse_fits(fuse: f64, current: Known, share: f64, capacity: f64) -> (Load, bool) {
    (load(current, fuse * share), fuse <= capacity)
}

/// Voltage lost in leads out and back, V: current (A) times their resistance (ohm).
pub fn lead_drop(current: f64, resistance: f64) -> f64 {
    current * resistance
}

/// Copper conductors by section (m²) with the current (A) that a US table grants them: 14 to 6 AWG by S79, second hand,
/// an illustration only; 18 and 16 AWG from memory of the same code's rule for small conductors.
pub const CONDUCTORS: [(f64, f64); 7] = [
    (0.823e-6, 7.0),
    (1.3087e-6, 10.0),
    (2.0809e-6, 15.0),
    (3.3088e-6, 20.0),
    (5.2612e-6, 30.0),
    (8.3656e-6, 40.0),
    (13.3018e-6, 55.0),
];

/// The most that a copper lead of some section (m²) may carry by [`CONDUCTORS`], A.
///
/// Below the smallest row in proportion to the section, which grants more than thin leads stand (they cool better, but
/// their terminals do not); beyond the largest row that row's. Other metals carry less than copper.
pub fn conductor_limit(section: f64) -> f64 {
    ampacity(&CONDUCTORS, section).unwrap_or(CONDUCTORS[0].1 * section / CONDUCTORS[0].0)
}

/// How often a switch closes in one heat whose stages last so long (s) at such a share: once for each stretch that is on,
/// and once a second, the window of a time-proportioned level, where the share is neither 0 nor 1.
pub fn switchings(stages: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    let (mut count, mut on) = (0.0, false);
    for (time, share) in stages {
        if share <= 0.0 {
            on = false;
        } else if share < 1.0 {
            count += time.max(1.0);
            on = false;
        } else if !on {
            count += 1.0;
            on = true;
        }
    }
    count
}

/// Current that the table of conductors grants a lead of some section, A, or none below its smallest.
///
/// `table` holds (section in m², current in A), rising. No table replaces the local code: a finding made with this
/// defers to it.
pub fn ampacity(table: &[(f64, f64)], section: f64) -> Option<f64> {
    // A printed section is rounded; a thousandth keeps 2.08 mm² from missing the row of 2.081.
    table.iter().rev().find(|(row, _)| section >= row * 0.999).map(|(_, current)| *current)
}

#[cfg(test)]
mod tests {
    use super::{Known, Load, ampacity, fuse_fits, load, sum};

    const CURRENT: Known = Known { nominal: 10.9, low: 10.2, high: 11.6 };

    #[test]
    fn bounds_decide_between_doubtful_and_above() {
        assert_eq!(load(CURRENT, 12.0), Load::Within);
        assert_eq!(load(CURRENT, 11.0), Load::Doubtful);
        assert_eq!(load(CURRENT, 10.0), Load::Above);
        let both = sum(&[CURRENT, CURRENT]);
        assert!((both.high - 23.2).abs() < 1e-12 && (both.low - 20.4).abs() < 1e-12);
    }

    #[test]
    fn a_fuse_must_carry_the_load_and_guard_the_lead() {
        assert_eq!(fuse_fits(15.0, CURRENT, 0.8, 20.0), (Load::Within, true));
        assert_eq!(fuse_fits(12.0, CURRENT, 0.8, 10.0), (Load::Above, false));
    }

    #[test]
    fn the_table_of_conductors_is_read_downwards() {
        // `conductors.toml`, nec_60C_illustration: 14, 12 and 10 AWG.
        let table = [(2.0809e-6, 15.0), (3.3088e-6, 20.0), (5.2612e-6, 30.0)];
        assert_eq!(ampacity(&table, 2.08e-6), Some(15.0));
        assert_eq!(ampacity(&table, 4.0e-6), Some(20.0));
        assert_eq!(ampacity(&table, 1.0e-6), None);
    }
}
