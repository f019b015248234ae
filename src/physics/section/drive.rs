//! What the lines give off: constant powers, or wires on a circuit with their own dynamics.

use crate::physics::circuit::Circuit;
use crate::physics::fault::{Fault, Input, within};
use crate::physics::wire::{Wire, convection, radiation};

/// What a line gives off, W/m.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Emission {
    /// By radiation.
    pub radiated: f64,
    /// By convection.
    pub convected: f64,
}

/// What feeds the lines, by face.
#[derive(Clone, Copy, Debug)]
pub enum Drive<'a> {
    /// Emissions at full power that follow the switch at once.
    Constant([Emission; 2]),
    /// Real wires: the first in front of the first face, the second, if any, of the second.
    Wires {
        /// What feeds them.
        circuit: Circuit,
        /// The wire in front of the first face.
        first: Wire<'a>,
        /// The wire in front of the second face.
        second: Option<Wire<'a>>,
    },
}

impl Drive<'_> {
    /// Refuses what cannot stand on a bench.
    pub(super) fn check(&self) -> Result<(), Fault> {
        match self {
            Self::Constant(emissions) => {
                for emission in emissions {
                    within(Input::LinePower, emission.radiated, 0.0, 1e5)?;
                    within(Input::LinePower, emission.convected, 0.0, 1e5)?;
                }
                Ok(())
            }
            Self::Wires { circuit, first, second } => {
                circuit.check()?;
                first.check()?;
                second.as_ref().map_or(Ok(()), Wire::check)
            }
        }
    }

    /// The wire in front of a face.
    pub(super) fn wire(&self, face: usize) -> Option<&Wire<'_>> {
        match self {
            Self::Constant(_) => None,
            Self::Wires { first, second, .. } => {
                if face == 0 {
                    Some(first)
                } else {
                    second.as_ref()
                }
            }
        }
    }

    /// Line powers (W/m) at wire temperatures (K) and a share of full power.
    pub(super) fn powers(&self, temperatures: [f64; 2], level: f64) -> [f64; 2] {
        let Self::Wires { circuit, first, second } = self else { return [0.0; 2] };
        let [one, two] = temperatures;
        let electric = circuit.solve(first.hot_resistance(one), second.as_ref().map(|wire| wire.hot_resistance(two)));
        let [a, b] = electric.powers;
        [level * a / first.length, second.as_ref().map_or(0.0, |wire| level * b / wire.length)]
    }
}

/// Points of the table of a wire's convective conductance; between them it hardly bends.
const POINTS: usize = 32;

/// Span of that table above room temperature, K.
const SPAN: f64 = 1550.0;

/// Convective conductance of one wire by temperature, since Morgan's bands are too slow for the inner loop.
#[derive(Clone, Debug, Default)]
pub(super) struct Conductance {
    points: [f64; POINTS],
    ambient: f64,
    diameter: f64,
    /// Largest rate at which the wire's temperature can settle, 1/s.
    pub fastest: f64,
}

impl Conductance {
    /// Tabulates a wire in air at `ambient` (K); the same wire in the same air keeps its table.
    pub fn fill(&mut self, wire: &Wire<'_>, ambient: f64) {
        let known = self.ambient.to_bits() == ambient.to_bits() && self.diameter.to_bits() == wire.diameter.to_bits();
        if !known {
            (self.ambient, self.diameter) = (ambient, wire.diameter);
            let mut rise = 1.0;
            for point in &mut self.points {
                *point = convection(wire.diameter, ambient + rise, ambient) / rise;
                rise += SPAN / (POINTS - 1) as f64;
            }
        }
        let top = ambient + SPAN;
        let slope = wire.loss(top, ambient) - wire.loss(top - 1.0, ambient);
        let capacity = wire.heat_capacity(top).min(wire.heat_capacity(ambient));
        self.fastest = 1.5 * slope / capacity;
    }

    /// What the wire gives off at a temperature (K).
    pub fn emission(&self, wire: &Wire<'_>, temperature: f64) -> Emission {
        let rise = temperature - self.ambient;
        let place = ((rise - 1.0) * ((POINTS - 1) as f64 / SPAN)).clamp(0.0, (POINTS - 2) as f64);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the table above")]
        let index = place as usize;
        let at = |index: usize| self.points.get(index).copied().unwrap_or(0.0);
        let conductance = at(index) + (at(index + 1) - at(index)) * (place - index as f64);
        Emission {
            radiated: radiation(wire.diameter, wire.emissivity, temperature, self.ambient),
            convected: conductance * rise,
        }
    }
}
