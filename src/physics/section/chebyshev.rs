//! Coefficients of the stabilised explicit time step.
//!
//! Runge–Kutta–Chebyshev of second order: Sommeijer, Shampine and Verwer, *RKC: an explicit solver for parabolic PDEs*,
//! J. Comput. Appl. Math. 88 (1998). With s stages a step may be about 0.65 (s² − 1) over the spectral radius, which
//! suits a sheet: a mildly stiff problem whose right-hand side is cheap and runs along rows of memory.

/// Most stages of one step; more would gain little and let rounding grow.
pub(super) const MOST_STAGES: usize = 30;

/// Coefficients of stage j (2 ≤ j ≤ s).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Stage {
    /// Weight of the stage before.
    pub mu: f64,
    /// Weight of the stage before that.
    pub nu: f64,
    /// Weight of the rate at the stage before, in steps.
    pub mu_rate: f64,
    /// Weight of the rate at the start, in steps.
    pub gamma_rate: f64,
}

/// Coefficients of a step of s stages.
#[derive(Clone, Debug)]
pub(super) struct Step {
    /// Weight of the starting rate in the first stage, in steps.
    pub first: f64,
    /// Stages 2 to s.
    pub stages: Vec<Stage>,
}

/// Coefficients for every number of stages from 2 to [`MOST_STAGES`].
pub(super) fn table() -> Vec<Step> {
    (2..=MOST_STAGES).map(step).collect()
}

/// Stages needed for a step of `time` at a spectral radius (1/s), or the most there are.
pub(super) fn stages_for(time: f64, radius: f64) -> usize {
    let mut stages = 2;
    while stages < MOST_STAGES && longest(stages, radius) < time {
        stages += 1;
    }
    stages
}

/// Longest stable step (s) with a number of stages; 0.65 leaves a little of the theoretical 0.653.
pub(super) fn longest(stages: usize, radius: f64) -> f64 {
    let stages = stages as f64;
    0.65 * (stages * stages - 1.0) / radius
}

/// Value, first and second derivative of Chebyshev polynomials 0 to `degree` at `at`, by their recurrence.
fn chebyshev(degree: usize, at: f64) -> Vec<[f64; 3]> {
    let mut before = [1.0, 0.0, 0.0];
    let mut now = [at, 1.0, 0.0];
    let mut all = vec![before, now];
    for _ in 2..=degree {
        let next = [
            2.0 * at * now[0] - before[0],
            2.0 * now[0] + 2.0 * at * now[1] - before[1],
            4.0 * now[1] + 2.0 * at * now[2] - before[2],
        ];
        all.push(next);
        before = now;
        now = next;
    }
    all
}

/// The coefficients of a step of `count` stages, in the notation of the source.
fn step(count: usize) -> Step {
    let damping = 2.0 / 13.0;
    let w0 = 1.0 + damping / (count as f64 * count as f64);
    let polynomials = chebyshev(count, w0);
    let at = |degree: usize| polynomials.get(degree).copied().unwrap_or([1.0, 1.0, 1.0]);
    let w1 = at(count)[1] / at(count)[2];
    let b = |degree: usize| {
        let [_, first, second] = at(degree.max(2));
        second / (first * first)
    };
    let a = |degree: usize| 1.0 - b(degree) * at(degree)[0];
    let stages = (2..=count)
        .map(|j| {
            let mu_rate = 2.0 * b(j) * w1 / b(j - 1);
            Stage { mu: 2.0 * b(j) * w0 / b(j - 1), nu: -b(j) / b(j - 2), mu_rate, gamma_rate: -a(j - 1) * mu_rate }
        })
        .collect();
    Step { first: b(1) * w1, stages }
}

#[cfg(test)]
mod tests {
    use super::{MOST_STAGES, longest, table};

    /// One step on `y' = rate · y` from 1.
    fn growth(stages: usize, product: f64) -> f64 {
        let coefficients = table().swap_remove(stages - 2);
        let (mut before, mut now) = (1.0, 1.0 + coefficients.first * product);
        for stage in &coefficients.stages {
            let next = (1.0 - stage.mu - stage.nu)
                + stage.mu * now
                + stage.nu * before
                + stage.mu_rate * product * now
                + stage.gamma_rate * product;
            before = now;
            now = next;
        }
        now
    }

    #[test]
    fn every_step_is_of_second_order_and_damps_all_stable_modes() {
        for stages in 2..=MOST_STAGES {
            let error = (growth(stages, -1e-3) - libm::exp(-1e-3)).abs();
            assert!(error < 1e-9, "{stages} stages: {error}");
            let limit = longest(stages, 1.0);
            for part in 1..=200 {
                let factor = growth(stages, -limit * f64::from(part) / 200.0);
                assert!(factor.abs() < 1.0, "{stages} stages grow by {factor} at part {part}");
            }
        }
    }
}
