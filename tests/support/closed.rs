//! Closed forms of heat conduction, written from the textbooks' formulas (from memory), independent of the solver.

use std::f64::consts::PI;

/// Root `ζ` of `ζ tan ζ = Bi` number `index` (from 0), by bisection.
pub fn eigenvalue(biot: f64, index: usize) -> f64 {
    let base = index as f64 * PI;
    let (mut low, mut high) = (base, base + 0.5 * PI - 1e-12);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if middle * libm::tan(middle) < biot { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Coefficient `C` that goes with an eigenvalue: `4 sin ζ / (2 ζ + sin 2ζ)`.
pub fn coefficient(zeta: f64) -> f64 {
    4.0 * libm::sin(zeta) / (2.0 * zeta + libm::sin(2.0 * zeta))
}

/// Plane wall of half thickness L, convection on both sides: (T − T∞)/(Ti − T∞) at `x/L`, Fourier number `fo`.
pub fn plane_wall(biot: f64, fo: f64, place: f64, terms: usize) -> f64 {
    (0..terms)
        .map(|index| {
            let zeta = eigenvalue(biot, index);
            coefficient(zeta) * libm::exp(-zeta * zeta * fo) * libm::cos(zeta * place)
        })
        .sum()
}

/// Plane wall of thickness L, constant flux on one face, the other insulated: `k (T − T0) / (q L)` at `x/L` from the
/// insulated face.
pub fn wall_under_flux(fo: f64, place: f64) -> f64 {
    let steady = fo + 0.5 * place * place - 1.0 / 6.0;
    let series: f64 = (1..400)
        .map(|n| {
            let n = f64::from(n);
            let sign = if n % 2.0 > 0.5 { -1.0 } else { 1.0 };
            sign / (n * n) * libm::exp(-n * n * PI * PI * fo) * libm::cos(n * PI * place)
        })
        .sum();
    steady - 2.0 / (PI * PI) * series
}

/// First integral of the complementary error function.
pub fn ierfc(x: f64) -> f64 {
    libm::exp(-x * x) / PI.sqrt() - x * libm::erfc(x)
}

/// Semi-infinite solid under constant flux: rise at a depth.
pub fn semi_flux(q: f64, k: f64, alpha: f64, x: f64, t: f64) -> f64 {
    let reach = 2.0 * (alpha * t).sqrt();
    q * reach / k * ierfc(x / reach)
}

/// Nusselt number of a horizontal cylinder by Churchill and Chu (1975).
pub fn churchill_chu(rayleigh: f64, prandtl: f64) -> f64 {
    let shape = libm::pow(1.0 + libm::pow(0.559 / prandtl, 9.0 / 16.0), 8.0 / 27.0);
    let root = 0.6 + 0.387 * libm::pow(rayleigh, 1.0 / 6.0) / shape;
    root * root
}

/// Conduction between a cylinder and a plane, W/m per kelvin and W/(m K): `2 π / acosh(2 z / D)`, `z` from the axis.
pub fn cylinder_to_plane(axis: f64, diameter: f64) -> f64 {
    2.0 * PI / libm::acosh(2.0 * axis / diameter)
}
