//! The resistance wire: what it loses, how hot it gets, and how fast.

use std::f64::consts::PI;

use super::air::Air;
use super::fault::{Fault, Input, within};
use super::table::Table;
use crate::units::Known;

/// Stefan–Boltzmann constant, W/(m² K⁴) (CODATA 2018, exact in the present SI).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Acceleration of free fall, m/s² (standard value).
const GRAVITY: f64 = 9.806_65;

/// Temperature to which cold resistance and expansion refer, K (20 °C).
pub const REFERENCE: f64 = 293.15;

/// Above this no resistance alloy is solid, K (melting of the highest is 1500 to 1520 °C: `wires.toml`).
const NO_WIRE_ABOVE: f64 = 1800.0;

/// What a resistance alloy is, as the catalogue tells it. Temperatures of all tables in kelvin.
#[derive(Clone, Debug, PartialEq)]
pub struct Alloy {
    /// Resistivity at 20 °C, ohm m.
    pub resistivity: Known,
    /// Resistance at a temperature relative to that at 20 °C.
    pub resistance_factor: Table,
    /// Specific heat, J/(kg K).
    pub specific_heat: Table,
    /// Mean expansion from 20 °C to a temperature, 1/K.
    pub mean_expansion: Table,
    /// Emissivity of the wire's surface in use.
    pub emissivity: Known,
    /// Density, kg/m³.
    pub density: Known,
    /// Highest temperature the maker allows, K.
    pub max_temperature: f64,
}

/// One wire, every unknown fixed to one value.
#[derive(Clone, Copy, Debug)]
pub struct Wire<'a> {
    /// What it is made of; its tables are read, its bounds are not.
    pub alloy: &'a Alloy,
    /// Diameter, m.
    pub diameter: f64,
    /// Heated length, m.
    pub length: f64,
    /// Cold resistance of the whole length at 20 °C, ohm.
    pub resistance: f64,
    /// Emissivity of the surface.
    pub emissivity: f64,
}

/// Cold resistance `ρ L / A` of a round wire, ohm; lengths in m, resistivity in ohm m.
pub fn cold_resistance(resistivity: f64, length: f64, diameter: f64) -> f64 {
    resistivity * length / area(diameter)
}

/// Cross-section of a round wire, m².
pub fn area(diameter: f64) -> f64 {
    0.25 * PI * diameter * diameter
}

/// Resistance of leads out and back, ohm, at `temperature` (K): `2 ρ l / A · (1 + α (T − 20 °C))`.
///
/// Resistivity in ohm m at 20 °C, `length` of one lead in m, `area` in m², `coefficient` in 1/K (copper 0.00393).
pub fn lead_resistance(resistivity: f64, length: f64, area: f64, coefficient: f64, temperature: f64) -> f64 {
    2.0 * resistivity * length / area * (1.0 + coefficient * (temperature - REFERENCE))
}

/// Nusselt number of a horizontal cylinder in free air at a Rayleigh number (1e-10 to 1e12).
///
/// Morgan, *The overall convective heat transfer from smooth circular cylinders*, Adv. Heat Transfer 11 (1975). The
/// bands meet within 0.7 %; here each seam is blended over half a decade, so that the slope has no step either.
pub fn nusselt_morgan(rayleigh: f64) -> f64 {
    // (log10 of the band's upper end, C, n) in Nu = C Raⁿ.
    const BANDS: [(f64, f64, f64); 5] =
        [(-2.0, 0.675, 0.058), (2.0, 1.02, 0.148), (4.0, 0.850, 0.188), (7.0, 0.480, 0.250), (12.0, 0.125, 0.333)];
    let decade = libm::log10(rayleigh.max(1e-12));
    let mut log_nusselt = 0.0;
    let mut seam = f64::NEG_INFINITY;
    for (upper, factor, exponent) in BANDS {
        let here = libm::log10(factor) + exponent * decade;
        let share = ((decade - seam) / 0.5 + 0.5).clamp(0.0, 1.0);
        let smooth = share * share * (3.0 - 2.0 * share);
        log_nusselt += smooth * (here - log_nusselt);
        seam = upper;
    }
    libm::pow(10.0, log_nusselt)
}

/// Heat a horizontal cylinder loses to still air by free convection, W/m; temperatures in K, diameter in m.
///
/// Properties at the film temperature, expansion of an ideal gas at it.
pub fn convection(diameter: f64, temperature: f64, ambient: f64) -> f64 {
    let film = 0.5 * (temperature + ambient);
    let rise = temperature - ambient;
    if rise.abs() < 1e-9 {
        return 0.0;
    }
    let air = Air::at(film);
    let grashof = GRAVITY * rise.abs() / film * diameter * diameter * diameter / (air.viscosity * air.viscosity);
    PI * air.conductivity * nusselt_morgan(grashof * air.prandtl) * rise
}

/// Heat a cylinder loses by radiation to grey surroundings at `ambient`, W/m; temperatures in K, diameter in m.
pub fn radiation(diameter: f64, emissivity: f64, temperature: f64, ambient: f64) -> f64 {
    PI * diameter * emissivity * STEFAN_BOLTZMANN * (fourth(temperature) - fourth(ambient))
}

/// The fourth power by two products, the same on every machine.
pub(super) fn fourth(value: f64) -> f64 {
    let square = value * value;
    square * square
}

impl Wire<'_> {
    /// Refuses a wire that cannot exist.
    pub fn check(&self) -> Result<(), Fault> {
        within(Input::Diameter, self.diameter, 2e-5, 0.02)?;
        within(Input::Length, self.length, 1e-3, 20.0)?;
        within(Input::Resistance, self.resistance, 1e-4, 1e5)?;
        within(Input::Emissivity, self.emissivity, 0.01, 1.0)?;
        within(Input::Density, self.alloy.density.nominal, 500.0, 25_000.0)?;
        within(Input::SpecificHeat, self.alloy.specific_heat.extremes().0, 50.0, 5000.0)?;
        within(Input::Resistance, self.alloy.resistance_factor.extremes().0, 0.1, 20.0)?;
        Ok(())
    }

    /// Resistance of the whole length at a temperature (K), ohm.
    pub fn hot_resistance(&self, temperature: f64) -> f64 {
        self.resistance * self.alloy.resistance_factor.at(temperature)
    }

    /// What the wire loses at a temperature in still air, W/m; both temperatures in K.
    pub fn loss(&self, temperature: f64, ambient: f64) -> f64 {
        radiation(self.diameter, self.emissivity, temperature, ambient)
            + convection(self.diameter, temperature, ambient)
    }

    /// Heat capacity per metre at a temperature (K), J/(m K).
    pub fn heat_capacity(&self, temperature: f64) -> f64 {
        self.alloy.density.nominal * area(self.diameter) * self.alloy.specific_heat.at(temperature)
    }

    /// Temperature (K) at which a given line power (W/m) is lost, by bisection.
    pub fn temperature_at_power(&self, line_power: f64, ambient: f64) -> Result<f64, Fault> {
        within(Input::LinePower, line_power, 0.0, 1e6)?;
        bisect(ambient, |temperature| line_power - self.loss(temperature, ambient))
    }

    /// Steady temperature (K) at a given current (A), by bisection on the balance per metre.
    pub fn temperature_at_current(&self, current: f64, ambient: f64) -> Result<f64, Fault> {
        within(Input::Current, current, 0.0, 1e5)?;
        let square = current * current / self.length;
        bisect(ambient, |temperature| square * self.hot_resistance(temperature) - self.loss(temperature, ambient))
    }

    /// The current (A) that holds the wire at a temperature; both temperatures in K.
    pub fn current_at_temperature(&self, temperature: f64, ambient: f64) -> f64 {
        (self.loss(temperature, ambient).max(0.0) * self.length / self.hot_resistance(temperature)).sqrt()
    }

    /// Time constant (s) of small changes about a temperature at constant line power; both temperatures in K.
    pub fn time_constant(&self, temperature: f64, ambient: f64) -> f64 {
        let step = 1.0;
        let slope = (self.loss(temperature + step, ambient) - self.loss(temperature - step, ambient)) / (2.0 * step);
        self.heat_capacity(temperature) / slope
    }

    /// Temperature (K) some time (s) after a line power (W/m) was set, from a start temperature, by the classical
    /// Runge–Kutta scheme in steps of a small part of the time constant.
    pub fn temperature_after(&self, line_power: f64, start: f64, time: f64, ambient: f64) -> Result<f64, Fault> {
        self.check()?;
        within(Input::LinePower, line_power, 0.0, 1e6)?;
        within(Input::HeatTime, time, 0.0, 7200.0)?;
        let settled = self.temperature_at_power(line_power, ambient)?;
        let hottest = settled.max(within(Input::Ambient, start, 200.0, NO_WIRE_ABOVE)?);
        let rate = |temperature: f64| (line_power - self.loss(temperature, ambient)) / self.heat_capacity(temperature);
        // After twenty of its slowest time constants nothing is left to change.
        let length = time.min(20.0 * self.time_constant(ambient + 1.0, ambient).max(1e-6));
        let wanted = (length / (0.05 * self.time_constant(hottest, ambient))).clamp(1.0, 20_000.0).ceil();
        let step = length / wanted;
        let (mut temperature, mut passed) = (start, 0.0);
        while passed < length - 0.5 * step {
            let a = rate(temperature);
            let b = rate(temperature + 0.5 * step * a);
            let c = rate(temperature + 0.5 * step * b);
            let d = rate(temperature + step * c);
            temperature += step / 6.0 * (a + 2.0 * b + 2.0 * c + d);
            passed += step;
        }
        Ok(temperature)
    }

    /// Power per surface of the wire, W/m², at a line power in W/m.
    pub fn surface_power(&self, line_power: f64) -> f64 {
        line_power / (PI * self.diameter)
    }
}

/// The temperature between `ambient` and melting where a falling surplus passes zero.
fn bisect(ambient: f64, surplus: impl Fn(f64) -> f64) -> Result<f64, Fault> {
    within(Input::Ambient, ambient, 200.0, 400.0)?;
    let (mut low, mut high) = (ambient, NO_WIRE_ABOVE);
    if surplus(high) > 0.0 {
        return Err(Fault::WireMelts);
    }
    // 60 halvings of 1600 K end far below the resolution of f64.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if surplus(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::{cold_resistance, nusselt_morgan};

    #[test]
    fn the_seams_of_the_bands_are_smooth() {
        let mut before = nusselt_morgan(1e-11);
        for step in 1..2400 {
            let now = nusselt_morgan(libm::pow(10.0, -11.0 + f64::from(step) * 0.01));
            let slope = libm::log10(now / before) / 0.01;
            assert!((0.03..0.40).contains(&slope), "slope {slope} at step {step}");
            before = now;
        }
    }

    #[test]
    fn each_band_is_met_in_its_middle() {
        // Morgan (1975), coefficients as quoted in every heat-transfer text.
        for (decade, factor, exponent) in
            [(-6.0, 0.675, 0.058), (0.0, 1.02, 0.148), (3.0, 0.85, 0.188), (5.5, 0.48, 0.25)]
        {
            let expected = factor * libm::pow(10.0, exponent * decade);
            assert!((nusselt_morgan(libm::pow(10.0, decade)) / expected - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn cold_resistance_of_twenty_inches_of_twenty_gauge() {
        // `wires.toml`, sanity_20in_12V: 1.0605 ohm by 650 ohm cmil/ft.
        assert!((cold_resistance(1.080_577e-6, 0.508, 0.811_82e-3) - 1.0605).abs() < 2e-4);
    }
}
