//! Heat in the sheet: the transient of half a cross-section, from heater on to the bend that keeps its shape.
//!
//! `ρ c(T) ∂T/∂t = ∇·(k ∇T)` on 0 ≤ x ≤ X, 0 ≤ y ≤ h, symmetric at the line, adiabatic at X, with `c` piecewise linear
//! in temperature and losses by convection and radiation at both faces. The wires, the shields and the sheet are one
//! system, so the chain from supply volts to sheet temperature has no seam.

mod chebyshev;
mod drive;
mod field;
mod grid;
mod lanes;
mod march;
mod solver;
mod trail;
mod zone;

pub use drive::{Drive, Emission};
pub use solver::{Follow, Heat, Run, Sample, Solver};

use serde::{Deserialize, Serialize};

use super::coupling::{Coupling, Shield};
use super::fault::{Fault, Input, within};
use super::table::Table;

/// The sheet, every unknown fixed.
#[derive(Clone, Copy, Debug)]
pub struct Sheet<'a> {
    /// Thickness, m.
    pub thickness: f64,
    /// Heat conductivity, W/(m K).
    pub conductivity: f64,
    /// Density, kg/m³.
    pub density: f64,
    /// Specific heat by temperature (K), J/(kg K).
    pub specific_heat: &'a Table,
    /// Factor on the specific heat, for what is not known about the table.
    pub specific_heat_factor: f64,
    /// Emissivity of both faces for the sheet's own radiation.
    pub emissivity: f64,
    /// Temperature at the start of the heat, K.
    pub start: f64,
}

/// A line in front of a face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// What reaches the face.
    pub coupling: Coupling,
    /// Factor φ on the face's own radiation into the opening.
    pub sink_factor: f64,
    /// Convective loss inside the opening, W/(m² K); the model of a bend has 0, since the plume is in the coupling.
    pub opening_loss: f64,
    /// The shield; without one the opening has room temperature.
    pub shield: Option<Shield>,
}

/// A face of the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// The line in front of it, if it is heated.
    pub line: Option<Line>,
    /// Convective loss coefficient to the room while heating (outside the opening) and in transfer, W/(m² K).
    pub loss: f64,
    /// Loss coefficient in the arm: convection in air, or contact with what it lies on, W/(m² K).
    pub setting_loss: f64,
    /// Whether the face radiates in the arm; a face that lies on something does not.
    pub setting_radiates: bool,
}

/// The temperatures that judge a bend, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// The coldest point of the bend zone must reach this.
    pub softened: f64,
    /// The mean through the thickness at the line must reach this.
    pub forming: f64,
    /// No point may reach this.
    pub ceiling: f64,
    /// The bend may be let go when its hottest point is at or below this.
    pub release: f64,
    /// Above this the model is void.
    pub void: f64,
}

/// One stage of the heat.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stage {
    /// Share of full power, 0 to 1; 0 is a soak.
    pub level: f64,
    /// How long, s. The last stage of a heat is the one that stretches; its own duration is not read.
    pub duration: f64,
}

/// Everything about one bend at one point of what is known.
#[derive(Clone, Copy, Debug)]
pub struct Section<'a> {
    /// The sheet.
    pub sheet: Sheet<'a>,
    /// Its two faces; the first is the heated one if only one is.
    pub faces: [Face; 2],
    /// What feeds the lines.
    pub drive: Drive<'a>,
    /// Room temperature, K.
    pub ambient: f64,
    /// From heater off to bend finished, s.
    pub transfer: f64,
    /// Half width of the bend zone, m.
    pub zone: f64,
    /// What judges it.
    pub limits: Limits,
    /// The heat; at least one stage.
    pub stages: &'a [Stage],
    /// The longest whole heat looked at, s.
    pub horizon: f64,
}

/// How fine the mesh and the time steps are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resolution {
    /// Rows of cells through the thickness.
    pub through: u16,
    /// Distance of neighbouring columns inside the opening, m.
    pub pitch: f64,
    /// Ratio of neighbouring column widths outside the opening.
    pub widening: f64,
    /// Error allowed in one time step, K.
    pub tolerance: f64,
}

impl Resolution {
    /// For figures that are printed: within 1 % of the rise or 0.5 K of a converged solution.
    pub const NORMAL: Self = Self { through: 10, pitch: 9e-4, widening: 1.25, tolerance: 0.6 };
    /// For signs of sensitivities and other comparisons: some kelvin off, alike for like sections.
    pub const COARSE: Self = Self { through: 4, pitch: 1.5e-3, widening: 1.7, tolerance: 1.5 };
    /// For checking the others.
    pub const FINE: Self = Self { through: 24, pitch: 1.5e-4, widening: 1.12, tolerance: 0.01 };

    /// The same mesh for a sheet of another thickness: rows grow with its root, since what happens at a face reaches
    /// equally deep into every sheet.
    #[must_use]
    pub fn for_thickness(self, thickness: f64) -> Self {
        let wanted = f64::from(self.through) * (thickness.clamp(5e-4, 0.03) / 0.003).sqrt();
        let through = (4..100).find(|rows| f64::from(*rows) >= wanted).unwrap_or(100);
        Self { through, ..self }
    }
}

impl Section<'_> {
    /// Refuses data that are not finite or far outside a bench; the ranges are generous and have no source.
    pub fn check(&self) -> Result<(), Fault> {
        let sheet = &self.sheet;
        within(Input::Thickness, sheet.thickness, 2e-4, 0.03)?;
        within(Input::Conductivity, sheet.conductivity, 0.02, 500.0)?;
        within(Input::Density, sheet.density, 100.0, 20_000.0)?;
        within(Input::SpecificHeat, sheet.specific_heat.extremes().0, 100.0, 10_000.0)?;
        within(Input::SpecificHeat, sheet.specific_heat_factor, 0.2, 5.0)?;
        within(Input::Emissivity, sheet.emissivity, 0.0, 1.0)?;
        within(Input::Ambient, self.ambient, 200.0, 1000.0)?;
        within(Input::Ambient, sheet.start, 200.0, 1000.0)?;
        within(Input::Transfer, self.transfer, 0.0, 600.0)?;
        within(Input::Zone, self.zone, 1e-5, 0.2)?;
        within(Input::HeatTime, self.horizon, 0.1, 7200.0)?;
        self.check_limits()?;
        for face in &self.faces {
            within(Input::FaceLoss, face.loss, 0.0, 5000.0)?;
            within(Input::FaceLoss, face.setting_loss, 0.0, 5000.0)?;
            let Some(line) = &face.line else { continue };
            line.coupling.check()?;
            within(Input::SinkFactor, line.sink_factor, 0.0, 1.0)?;
            within(Input::FaceLoss, line.opening_loss, 0.0, 5000.0)?;
            line.shield.as_ref().map_or(Ok(()), Shield::check)?;
        }
        let mut total = 0.0;
        for stage in self.stages {
            within(Input::Level, stage.level, 0.0, 1.0)?;
            total += within(Input::HeatTime, stage.duration, 0.0, 7200.0)?;
        }
        within(Input::HeatTime, total, 0.0, 7200.0)?;
        if self.stages.is_empty() || self.stages.len() > 64 {
            return Err(Fault::OutOfRange(Input::HeatTime));
        }
        self.drive.check()
    }

    /// The limits must be temperatures; their order is the caller's matter, since a wrong one only closes the window.
    fn check_limits(&self) -> Result<(), Fault> {
        let limits = &self.limits;
        within(Input::Softening, limits.softened, 200.0, 1000.0)?;
        within(Input::Softening, limits.forming, 200.0, 1000.0)?;
        within(Input::Ceiling, limits.ceiling, 200.0, 1000.0)?;
        within(Input::Release, limits.release, 200.0, 1000.0)?;
        if limits.void.is_nan() { Err(Fault::NotFinite(Input::Ceiling)) } else { Ok(()) }
    }
}
