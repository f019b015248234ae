//! Largest values over long rows, in eight lanes so that the processor need not wait for one comparison at a time.

const LANES: usize = 8;

/// The largest of some values; values that are not numbers are passed over.
pub(super) fn largest(values: &[f64]) -> f64 {
    let mut lanes = [f64::NEG_INFINITY; LANES];
    let mut chunks = values.chunks_exact(LANES);
    for chunk in &mut chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane = if *value > *lane { *value } else { *lane };
        }
    }
    lanes.iter().chain(chunks.remainder()).fold(f64::NEG_INFINITY, |top, value| top.max(*value))
}

/// The two ends of a step for one run of values.
pub(super) struct Ends<'a> {
    /// Values and rates where the step began.
    pub from: (&'a [f64], &'a [f64]),
    /// Values and rates where it ended.
    pub to: (&'a [f64], &'a [f64]),
}

/// Largest `|0.8 (from − to) + 0.4 span (leaving + arriving)|` and largest arriving rate.
///
/// The first is not a number if any value is not, so that a step that blew up is seen.
pub(super) fn step_error(ends: &Ends<'_>, span: f64) -> (f64, f64) {
    let mut errors = [0.0_f64; LANES];
    let mut rates = [0.0_f64; LANES];
    let mut sums = [0.0_f64; LANES];
    let size = ends.from.0.len();
    let slices = (ends.from.0.get(..size), ends.to.0.get(..size), ends.from.1.get(..size), ends.to.1.get(..size));
    let (Some(from), Some(to), Some(leaving), Some(arriving)) = slices else { return (f64::NAN, f64::NAN) };
    let share = 0.4 * span;
    let chunks = from.chunks(LANES).zip(to.chunks(LANES)).zip(leaving.chunks(LANES).zip(arriving.chunks(LANES)));
    for ((from, to), (leaving, arriving)) in chunks {
        for (lane, (((from, to), leaving), arriving)) in from.iter().zip(to).zip(leaving).zip(arriving).enumerate() {
            let error = (0.8 * (from - to) + share * (leaving + arriving)).abs();
            let rate = arriving.abs();
            sums[lane] += error;
            errors[lane] = if error > errors[lane] { error } else { errors[lane] };
            rates[lane] = if rate > rates[lane] { rate } else { rates[lane] };
        }
    }
    let sound = sums.iter().all(|sum| sum.is_finite());
    let error = if sound { errors.iter().fold(0.0_f64, |top, value| top.max(*value)) } else { f64::NAN };
    (error, rates.iter().fold(0.0, |top, value| top.max(*value)))
}

#[cfg(test)]
mod tests {
    use super::{Ends, largest, step_error};

    #[test]
    fn finds_the_largest_wherever_it_stands() {
        for place in 0..19 {
            let mut values = vec![1.0; 19];
            values[place] = 2.0;
            assert!((largest(&values) - 2.0).abs() < 1e-15);
        }
    }

    #[test]
    fn an_error_that_is_no_number_is_kept() {
        let zeros = vec![0.0; 20];
        for place in 0..20 {
            let mut broken = zeros.clone();
            broken[place] = f64::NAN;
            let ends = Ends { from: (&zeros, &zeros), to: (&broken, &zeros) };
            assert!(step_error(&ends, 1.0).0.is_nan());
        }
    }
}
