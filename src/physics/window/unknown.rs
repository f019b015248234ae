//! What is not known about a bend: its names, kinds, and the box of bounds they span.

use serde::{Deserialize, Serialize};

use crate::physics::coupling;
use crate::physics::fault::{Fault, Input};
use crate::units::Known;

/// One unknown of a bend. Values are in SI units, temperatures in kelvin, shares as ratios.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Unknown {
    /// Calibration factor κ of the heater.
    Kappa,
    /// Factor on the wires' cold resistance; both lines of a heater are wound from one stock.
    Resistance,
    /// Emissivity of the wire.
    WireEmissivity,
    /// Absorptance of the sheet for the wire's radiation.
    Absorptance,
    /// Effective reflectance of the shield.
    Reflectance,
    /// Share of a lower line's plume that the sheet takes.
    PlumeBelow,
    /// Share of an upper line's plume that the sheet takes.
    PlumeAbove,
    /// Share of the plume that is peaked over the wire.
    PlumePeak,
    /// Factor on the sheet's radiation into the opening.
    SinkFactor,
    /// What the shield loses, W/(m K).
    ShieldLoss,
    /// How far the shield stands above room temperature when the heat starts, K.
    ShieldRise,
    /// Gap of the line in front of the first face, m.
    Gap,
    /// Gap of the line in front of the second face, m.
    SecondGap,
    /// Opening of the shield, m; both lines of a heater have the same.
    Channel,
    /// Heat conductivity of the sheet, W/(m K).
    Conductivity,
    /// Factor on the sheet's table of specific heat.
    SpecificHeat,
    /// Density of the sheet, kg/m³.
    Density,
    /// Emissivity of the sheet for its own radiation.
    Emissivity,
    /// Loss coefficient of the first face beside the opening and in transfer, W/(m² K).
    FirstFace,
    /// Loss coefficient of the second face, W/(m² K).
    SecondFace,
    /// Loss coefficient of the first face in the arm, W/(m² K).
    FirstSetting,
    /// Loss coefficient of the second face in the arm, W/(m² K).
    SecondSetting,
    /// Softening temperature, K.
    Softened,
    /// Forming temperature, K.
    Forming,
    /// Blister limit, K.
    Ceiling,
    /// Release temperature, K.
    Release,
    /// Thickness of the sheet, m.
    Thickness,
    /// Room temperature, K.
    Ambient,
    /// Voltage of the supply where it is measured, V.
    Voltage,
    /// Time from heater off to bend finished, s.
    Transfer,
}

/// How many unknowns there are.
pub const COUNT: usize = 30;

/// Whether and when an unknown becomes known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The same for every part made on one bench from one material.
    Bench,
    /// Read when the run starts.
    Run,
    /// Really different from part to part.
    Free,
}

impl Unknown {
    /// Every unknown, in the order of the box.
    pub const ALL: [Self; COUNT] = [
        Self::Kappa,
        Self::Resistance,
        Self::WireEmissivity,
        Self::Absorptance,
        Self::Reflectance,
        Self::PlumeBelow,
        Self::PlumeAbove,
        Self::PlumePeak,
        Self::SinkFactor,
        Self::ShieldLoss,
        Self::ShieldRise,
        Self::Gap,
        Self::SecondGap,
        Self::Channel,
        Self::Conductivity,
        Self::SpecificHeat,
        Self::Density,
        Self::Emissivity,
        Self::FirstFace,
        Self::SecondFace,
        Self::FirstSetting,
        Self::SecondSetting,
        Self::Softened,
        Self::Forming,
        Self::Ceiling,
        Self::Release,
        Self::Thickness,
        Self::Ambient,
        Self::Voltage,
        Self::Transfer,
    ];

    /// When it becomes known.
    pub fn kind(self) -> Kind {
        match self {
            Self::Thickness | Self::Ambient | Self::Voltage => Kind::Run,
            Self::ShieldRise
            | Self::FirstFace
            | Self::SecondFace
            | Self::FirstSetting
            | Self::SecondSetting
            | Self::Transfer => Kind::Free,
            _ => Kind::Bench,
        }
    }

    /// Whether a calibration of κ on one heater and one colour of sheet takes it in.
    ///
    /// The trials judge ready-to-bend by what was seen, so what makes a sheet soft is taken in as well; blisters and the
    /// set are not what κ is fitted to.
    pub fn is_calibrated_away(self) -> bool {
        matches!(
            self,
            Self::Resistance
                | Self::WireEmissivity
                | Self::Absorptance
                | Self::Reflectance
                | Self::PlumeBelow
                | Self::PlumeAbove
                | Self::PlumePeak
                | Self::SinkFactor
                | Self::ShieldLoss
                | Self::Gap
                | Self::SecondGap
                | Self::Channel
                | Self::Conductivity
                | Self::SpecificHeat
                | Self::Density
                | Self::Emissivity
                | Self::Softened
                | Self::Forming
        )
    }

    /// Whether an output may have its extreme inside the bounds rather than at one of them.
    pub(super) fn is_bent(self) -> bool {
        matches!(self, Self::Thickness | Self::Transfer | Self::Gap | Self::SecondGap | Self::Channel | Self::PlumePeak)
    }

    /// Its place in the box.
    pub(super) fn place(self) -> usize {
        self as usize
    }
}

/// One value for every unknown, in the order of [`Unknown::ALL`].
pub type Point = [f64; COUNT];

/// The bounds of every unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknowns {
    values: [Known; COUNT],
}

/// A value known exactly.
const fn exact(value: f64) -> Known {
    Known { nominal: value, low: value, high: value }
}

impl Unknowns {
    /// The model's defaults for clear sheet over one line, everything that belongs to a material, a heater or a run
    /// still at a neutral value; callers set those.
    pub fn defaults() -> Self {
        let mut all = Self { values: [exact(1.0); COUNT] };
        for (unknown, known) in [
            (Unknown::Kappa, coupling::KAPPA),
            (Unknown::Absorptance, coupling::ABSORPTANCE_CLEAR),
            (Unknown::Reflectance, coupling::REFLECTANCE),
            (Unknown::PlumeBelow, coupling::PLUME_BELOW),
            (Unknown::PlumeAbove, coupling::PLUME_ABOVE),
            (Unknown::PlumePeak, coupling::PLUME_PEAK),
            (Unknown::SinkFactor, coupling::SINK_FACTOR),
            (Unknown::ShieldLoss, coupling::SHIELD_LOSS),
            (Unknown::ShieldRise, exact(0.0)),
            (Unknown::FirstFace, coupling::HEATED_FACE),
            (Unknown::SecondFace, coupling::OTHER_FACE),
            (Unknown::FirstSetting, coupling::SETTING_FACE),
            (Unknown::SecondSetting, coupling::SETTING_FACE),
        ] {
            all.set(unknown, known);
        }
        all
    }

    /// What is known of one of them.
    pub fn get(&self, unknown: Unknown) -> Known {
        self.values[unknown.place()]
    }

    /// Sets what is known of one of them.
    pub fn set(&mut self, unknown: Unknown, known: Known) {
        self.values[unknown.place()] = known;
    }

    /// Fixes one at its nominal value, as if it were measured.
    pub fn fix(&mut self, unknown: Unknown) {
        self.set(unknown, exact(self.get(unknown).nominal));
    }

    /// Replaces κ by a calibrated one and fixes all that the calibration takes in.
    pub fn calibrate(&mut self, kappa: Known) {
        for unknown in Unknown::ALL.into_iter().filter(|unknown| unknown.is_calibrated_away()) {
            self.fix(unknown);
        }
        self.set(Unknown::Kappa, kappa);
    }

    /// Refuses bounds that are not finite or do not hold the nominal.
    pub fn check(&self) -> Result<(), Fault> {
        for known in &self.values {
            let finite = known.nominal.is_finite() && known.low.is_finite() && known.high.is_finite();
            if !finite || known.low > known.nominal || known.nominal > known.high {
                return Err(Fault::OutOfRange(Input::Bounds));
            }
        }
        Ok(())
    }

    /// The nominal point.
    pub fn nominal(&self) -> Point {
        self.values.map(|known| known.nominal)
    }

    /// The unknowns that have any width, in order.
    pub fn wide(&self) -> impl Iterator<Item = Unknown> + '_ {
        Unknown::ALL.into_iter().filter(|unknown| self.get(*unknown).low < self.get(*unknown).high)
    }
}

#[cfg(test)]
mod tests {
    use super::{Known, Unknown, Unknowns};

    #[test]
    fn every_unknown_stands_at_its_own_place() {
        for (place, unknown) in Unknown::ALL.into_iter().enumerate() {
            assert_eq!(unknown.place(), place);
        }
    }

    #[test]
    fn a_calibration_leaves_only_what_it_does_not_take_in() {
        let mut unknowns = Unknowns::defaults();
        unknowns.calibrate(Known { nominal: 0.93, low: 0.9, high: 0.96 });
        assert!(unknowns.wide().all(|unknown| unknown == Unknown::Kappa || !unknown.is_calibrated_away()));
        assert!((unknowns.get(Unknown::Kappa).low - 0.9).abs() < 1e-12);
    }

    #[test]
    fn bounds_that_do_not_hold_the_nominal_are_refused() {
        let mut unknowns = Unknowns::defaults();
        assert!(unknowns.check().is_ok());
        unknowns.set(Unknown::Transfer, Known { nominal: 3.0, low: 4.0, high: 5.0 });
        assert!(unknowns.check().is_err());
        unknowns.set(Unknown::Transfer, Known { nominal: f64::NAN, low: 4.0, high: 5.0 });
        assert!(unknowns.check().is_err());
    }
}
