use crate::model::Given;
use crate::names::DeclId;
use crate::units::Bounded;

/// A property over temperature: points in rising temperature, straight between them, constant outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// Temperature in K, and the value there in SI units.
    pub points: Vec<(f64, Bounded)>,
}

impl Curve {
    /// The nominal value at a temperature in K; none for a curve without points.
    pub fn nominal_at(&self, temperature: f64) -> Option<f64> {
        let after = self.points.iter().position(|point| point.0 >= temperature);
        let value = |index: usize| self.points.get(index).map(|point| (point.0, point.1.nominal()));
        match after {
            Some(0) => value(0).map(|point| point.1),
            None => value(self.points.len().checked_sub(1)?).map(|point| point.1),
            Some(index) => {
                let (low, high) = (value(index - 1)?, value(index)?);
                Some(low.1 + (high.1 - low.1) * (temperature - low.0) / (high.0 - low.0))
            }
        }
    }
}

/// A sheet material.
#[derive(Clone, Debug)]
pub struct Material {
    /// Its name.
    pub name: String,
    /// kg/m³
    pub density: Given<Bounded>,
    /// W/(m K)
    pub conductivity: Option<Given<Bounded>>,
    /// J/(kg K) over K
    pub specific_heat: Curve,
    /// K
    pub softened: Option<Given<Bounded>>,
    /// K
    pub forming: Option<Given<Bounded>>,
    /// K
    pub ceiling: Option<Given<Bounded>>,
    /// K
    pub release: Option<Given<Bounded>>,
    /// K
    pub decomposes: Option<Given<Bounded>>,
    /// Share of a black body.
    pub emissivity: Option<Given<Bounded>>,
    /// What its sheet standard allows.
    pub thickness_tolerance: Option<ThicknessTolerance>,
    /// Where the line lies that keeps its length in a bend, as a share of the thickness from the inside.
    pub neutral_line: Bounded,
    /// Least inside radius, in thicknesses.
    pub least_radius: Option<Given<Bounded>>,
    /// Least width of the heated zone, in thicknesses.
    pub heated_width: Option<Given<Bounded>>,
    /// Thickest sheet that is heated from one face, m.
    pub one_face_up_to: Option<Given<Bounded>>,
    /// Whether times may be computed from its data.
    pub computed_times: bool,
    /// Whether overheated sheet gives off fumes that attack lungs and metal.
    pub corrosive_fumes: bool,
}

/// How much thinner or thicker a sheet may be by its standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ThicknessTolerance {
    /// A length in m plus a share of the thickness.
    FixedPlusShare(f64, f64),
    /// Below a thickness in m one share, from it on another.
    Shares {
        /// m
        limit: f64,
        /// Share below the limit.
        thin: f64,
        /// Share from the limit on.
        thick: f64,
    },
}

impl ThicknessTolerance {
    /// Half the range around a nominal thickness, m.
    pub fn half(self, thickness: f64) -> f64 {
        match self {
            Self::FixedPlusShare(fixed, share) => fixed + share * thickness,
            Self::Shares { limit, thin, thick } => thickness * if thickness < limit { thin } else { thick },
        }
    }
}

/// How a sheet takes radiation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// Lets part of the near infrared pass.
    Clear,
    /// White and opaque.
    White,
    /// Black and opaque.
    Black,
    /// Anything else.
    Other,
}

/// A kind of sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The declaration.
    pub id: DeclId,
    /// Its name.
    pub name: String,
    /// What it is made of.
    pub material: Material,
    /// m
    pub thickness: Given<Bounded>,
    /// Whether the bounds of the thickness are those of the sheet standard.
    pub by_standard: bool,
    /// How it takes radiation.
    pub colour: Colour,
    /// Width and length of the stock sheet, m.
    pub size: Option<[f64; 2]>,
}

/// How a lot was kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Storage {
    /// Dry.
    Dry,
    /// Damp: blisters lower.
    Damp,
}

/// Sheet of one delivery.
#[derive(Clone, Debug)]
pub struct Lot {
    /// Its name.
    pub name: String,
    /// Which sheet it is.
    pub sheet: DeclId,
    /// Measured thicknesses, m.
    pub measured: Vec<Given<Bounded>>,
    /// How it was kept.
    pub stored: Option<Storage>,
}
