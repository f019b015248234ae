//! Growth, spring, stress and sag of a hot wire under tension.

use super::wire::{Alloy, REFERENCE, area};

/// Growth `L · ᾱ(T) · (T − 20 °C)` of a wire between 20 °C and a temperature, m; length in m, temperature in K.
pub fn growth(alloy: &Alloy, length: f64, temperature: f64) -> f64 {
    length * alloy.mean_expansion.at(temperature) * (temperature - REFERENCE)
}

/// Force of the spring when the wire has grown, N: `preload − rate · growth`, never below slack.
///
/// Preload (N) as set on the cold wire, rate in N/m, growth in m.
pub fn spring_force_hot(preload: f64, rate: f64, growth: f64) -> f64 {
    (preload - rate * growth).max(0.0)
}

/// Travel of the spring beyond what the growth takes, m; below zero it stands on its stop and the wire hangs.
pub fn spring_travel_left(travel: f64, growth: f64) -> f64 {
    travel - growth
}

/// Pull in a round wire, Pa, under a force (N), diameter in m.
pub fn stress(force: f64, diameter: f64) -> f64 {
    force / area(diameter)
}

/// Pull (Pa) under which nickel-chromium wire creeps by 1 % in 1000 h at a temperature in K.
///
/// A maker's 15 N/mm² at 800 °C and 4 N/mm² at 1000 °C (from memory), on one exponential; below 800 °C it is only drawn on,
/// and capped at 100 N/mm². Iron-chromium-aluminium stands less.
pub fn creep_strength(temperature: f64) -> f64 {
    const AT: f64 = 1073.15;
    let fall = libm::log(15.0 / 4.0) / 200.0;
    (15e6 * libm::exp(-fall * (temperature - AT))).min(100e6)
}

/// Mid-span sag of a taut wire, m: `w L² / (8 F)` with its weight `w` per metre (shallow parabola).
///
/// Length and diameter in m, force in N. A slack wire hangs in [`slack_sag`] instead.
pub fn sag(alloy: &Alloy, length: f64, diameter: f64, force: f64) -> f64 {
    const GRAVITY: f64 = 9.806_65;
    let weight = alloy.density.nominal * area(diameter) * GRAVITY;
    weight * length * length / (8.0 * force)
}

/// Mid-span sag of a wire fixed at both ends that has grown, m: `√(3 L ΔL / 8)` (shallow parabola).
pub fn slack_sag(length: f64, growth: f64) -> f64 {
    (0.375 * length * growth.max(0.0)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::{creep_strength, slack_sag, spring_force_hot, stress};

    #[test]
    fn a_spring_slackens_as_the_wire_grows() {
        assert!((spring_force_hot(6.0, 400.0, 0.005) - 4.0).abs() < 1e-12);
        assert!(spring_force_hot(6.0, 4000.0, 0.005).abs() < 1e-12);
    }

    #[test]
    fn hot_wire_creeps_sooner() {
        assert!((creep_strength(1073.15) - 15e6).abs() < 1.0 && (creep_strength(1273.15) - 4e6).abs() < 1.0);
        assert!((creep_strength(300.0) - 100e6).abs() < 1.0);
    }

    #[test]
    fn stress_is_force_over_section() {
        assert!((stress(6.0, 0.811_82e-3) / 11.592e6 - 1.0).abs() < 1e-3);
    }

    #[test]
    fn an_untensioned_wire_hangs_far_down() {
        // `checks.toml` bench.sag.600: 508 mm grown by 4.52 mm hangs 29.3 mm.
        assert!((slack_sag(0.508, 0.00452) - 0.0293).abs() < 1e-4);
    }
}
