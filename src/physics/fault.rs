//! Why a physical question has no answer.

use serde::{Deserialize, Serialize};

/// What is wrong with the data of a physical question; the caller puts it into words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Fault {
    /// A table is empty, not finite, or its arguments do not rise.
    BadTable,
    /// A quantity is not finite.
    NotFinite(Input),
    /// A quantity lies outside the range in which the models mean anything.
    OutOfRange(Input),
    /// The wire would settle above any temperature the model covers: it melts.
    WireMelts,
    /// The section needs more work than the solver grants; the data are absurd together though not alone.
    TooMuchWork,
}

/// The inputs that a fault can name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Input {
    /// Share of a line's radiation that the sheet takes.
    Absorptance,
    /// Room temperature.
    Ambient,
    /// Angle of the bend.
    Angle,
    /// The temperature where blisters form.
    Ceiling,
    /// Opening of the heat shield.
    Channel,
    /// Heat conductivity of the sheet.
    Conductivity,
    /// Current through a line.
    Current,
    /// Density of the sheet or the wire.
    Density,
    /// Diameter of the wire.
    Diameter,
    /// Emissivity of sheet or wire.
    Emissivity,
    /// Coefficient of the loss at a face.
    FaceLoss,
    /// Bounds of an unknown that do not hold its nominal value.
    Bounds,
    /// Gap between wire and sheet.
    Gap,
    /// Heat time, or the longest heat time looked at.
    HeatTime,
    /// Calibration factor of the coupling.
    Kappa,
    /// Resistance of the leads.
    LeadResistance,
    /// Length of a line.
    Length,
    /// Share of full power.
    Level,
    /// Power of a line per metre.
    LinePower,
    /// Neutral line's place in the thickness.
    NeutralLine,
    /// Share of the plume that the sheet takes, or its peaked share.
    Plume,
    /// Inside radius of the bend.
    Radius,
    /// Effective reflectance of the shield.
    Reflectance,
    /// Temperature at which the sheet keeps its shape.
    Release,
    /// Resistance of a line.
    Resistance,
    /// Shield's mass, specific heat or loss.
    Shield,
    /// Factor on the sheet's own radiation into the opening.
    SinkFactor,
    /// The temperature where the sheet softens or forms.
    Softening,
    /// Specific heat.
    SpecificHeat,
    /// Thickness of the sheet.
    Thickness,
    /// Time from heater off to bend finished.
    Transfer,
    /// Voltage.
    Voltage,
    /// Half width of the bend zone.
    Zone,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::BadTable => out.write_str("a table has no points, or its temperatures do not rise"),
            Self::NotFinite(input) => write!(out, "its {input} is no finite number"),
            Self::OutOfRange(input) => write!(out, "its {input} is outside the range of the model"),
            Self::WireMelts => out.write_str("the wire would melt before it settles"),
            Self::TooMuchWork => out.write_str("the sizes do not go together"),
        }
    }
}

impl std::fmt::Display for Input {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        out.write_str(match self {
            Self::Absorptance => "absorptance",
            Self::Ambient => "room temperature",
            Self::Angle => "angle",
            Self::Ceiling => "ceiling temperature",
            Self::Bounds => "bounds",
            Self::Channel => "channel",
            Self::Conductivity => "conductivity",
            Self::Current => "current",
            Self::Density => "density",
            Self::Diameter => "diameter",
            Self::Emissivity => "emissivity",
            Self::FaceLoss => "loss at a face",
            Self::Gap => "gap",
            Self::HeatTime => "heat time",
            Self::Kappa => "calibration factor",
            Self::LeadResistance => "resistance of the leads",
            Self::Length => "length",
            Self::Level => "share of full power",
            Self::LinePower => "line power",
            Self::NeutralLine => "neutral line",
            Self::Plume => "share of the plume",
            Self::Radius => "radius",
            Self::Reflectance => "reflectance of the shield",
            Self::Release => "release temperature",
            Self::Resistance => "resistance",
            Self::Shield => "shield",
            Self::SinkFactor => "sink factor",
            Self::Softening => "softening temperature",
            Self::SpecificHeat => "specific heat",
            Self::Thickness => "thickness",
            Self::Transfer => "transfer",
            Self::Voltage => "voltage",
            Self::Zone => "bend zone",
        })
    }
}

/// `value` if it is finite and within `low..=high`, else the fault that names it.
pub(super) fn within(input: Input, value: f64, low: f64, high: f64) -> Result<f64, Fault> {
    if !value.is_finite() {
        Err(Fault::NotFinite(input))
    } else if value < low || value > high {
        Err(Fault::OutOfRange(input))
    } else {
        Ok(value)
    }
}
