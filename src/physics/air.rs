//! Dry air at one atmosphere: the properties free convection needs.

/// Properties of air at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Heat conductivity, W/(m K).
    pub conductivity: f64,
    /// Kinematic viscosity, m²/s.
    pub viscosity: f64,
    /// Prandtl number.
    pub prandtl: f64,
}

impl Air {
    /// Air at `temperature` (K), meant for 200 to 1500 K.
    ///
    /// Viscosity and conductivity by Sutherland's law with the constants of White, *Viscous Fluid Flow*
    /// (1.716e-5 Pa s, 110.4 K; 0.0241 W/mK, 194 K at 273.15 K; from memory), density as an ideal gas at 101325 Pa,
    /// specific heat by a straight line through 1007 J/kgK at 300 K and 1141 at 1000 K (textbook table, from memory).
    pub fn at(temperature: f64) -> Self {
        let ratio = temperature / 273.15;
        let shape = ratio * ratio.sqrt();
        let dynamic = 1.716e-5 * shape * (273.15 + 110.4) / (temperature + 110.4);
        let conductivity = 0.0241 * shape * (273.15 + 194.0) / (temperature + 194.0);
        let density = 101_325.0 / (287.05 * temperature);
        let specific_heat = 1007.0 + (temperature - 300.0) * (1141.0 - 1007.0) / 700.0;
        Self { conductivity, viscosity: dynamic / density, prandtl: dynamic * specific_heat / conductivity }
    }
}

#[cfg(test)]
mod tests {
    use super::Air;

    /// Rows (K, W/mK, m²/s, Pr) of the air table found in every heat-transfer text; from memory.
    const TEXTBOOK: [(f64, f64, f64, f64); 6] = [
        (300.0, 0.0263, 15.89e-6, 0.707),
        (400.0, 0.0338, 26.41e-6, 0.690),
        (500.0, 0.0407, 38.79e-6, 0.684),
        (600.0, 0.0469, 52.69e-6, 0.685),
        (800.0, 0.0573, 84.93e-6, 0.709),
        (1000.0, 0.0667, 121.9e-6, 0.726),
    ];

    #[test]
    fn agrees_with_the_textbook_table() {
        for (temperature, conductivity, viscosity, prandtl) in TEXTBOOK {
            let air = Air::at(temperature);
            assert!((air.conductivity / conductivity - 1.0).abs() < 0.03, "k at {temperature}: {air:?}");
            assert!((air.viscosity / viscosity - 1.0).abs() < 0.04, "nu at {temperature}: {air:?}");
            assert!((air.prandtl / prandtl - 1.0).abs() < 0.05, "Pr at {temperature}: {air:?}");
        }
    }
}
