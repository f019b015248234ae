//! The wires and shields of a heater, and what they draw.

use crate::physics::circuit::Circuit;
use crate::physics::coupling::{Coupling, Shield};
use crate::physics::section::{Drive, Section};
use crate::physics::wire::{Wire, radiation};

/// The lines of one heater.
pub struct Heater<'a> {
    circuit: Circuit,
    wires: Vec<Wire<'a>>,
    shields: Vec<(Coupling, Option<Shield>)>,
    ambient: f64,
    /// Of each line's wire, K.
    pub wire: [f64; 2],
    /// Of each line's shield, K; without one it has room temperature.
    pub shield: [f64; 2],
}

impl<'a> Heater<'a> {
    /// The heater of a section, all at room temperature; none where it has no wires.
    pub fn of(section: &Section<'a>) -> Option<Self> {
        let Drive::Wires { circuit, first, second } = section.drive else { return None };
        let lines = section.faces.iter().filter_map(|face| face.line);
        Some(Self {
            circuit,
            wires: std::iter::once(first).chain(second).collect(),
            shields: lines.map(|line| (line.coupling, line.shield)).collect(),
            ambient: section.ambient,
            wire: [section.ambient; 2],
            shield: [section.ambient; 2],
        })
    }

    /// What it draws at full power as hot as it is, A.
    pub fn current(&self) -> f64 {
        self.electric().0
    }

    /// Current, and the power of each line, W.
    fn electric(&self) -> (f64, [f64; 2]) {
        let hot = |index: usize| self.wires.get(index).map(|wire| wire.hot_resistance(self.wire[index]));
        let Some(first) = hot(0) else { return (0.0, [0.0; 2]) };
        let electric = self.circuit.solve(first, hot(1));
        (electric.current, electric.powers)
    }

    /// Lets a short time (s) pass at a share of full power: the midpoint rule for the wires, whose time constant is some
    /// seconds, and Euler's for the shields, which take minutes.
    pub fn pass(&mut self, share: f64, seconds: f64) {
        let powers = self.electric().1;
        for (index, wire) in self.wires.iter().enumerate() {
            let rate =
                |at: f64| (share * powers[index] / wire.length - wire.loss(at, self.ambient)) / wire.heat_capacity(at);
            let here = self.wire[index];
            let middle = here + 0.5 * seconds * rate(here);
            self.wire[index] = (here + seconds * rate(middle)).max(self.ambient);
            let Some((coupling, Some(shield))) = self.shields.get(index) else { continue };
            let radiated = radiation(wire.diameter, wire.emissivity, middle, self.ambient);
            let input = coupling.into_shield(radiated) - shield.loss * (self.shield[index] - self.ambient);
            self.shield[index] += seconds * input / shield.heat_capacity;
        }
    }

    /// The hottest wire, K.
    pub fn hottest_wire(&self) -> f64 {
        self.wire.iter().take(self.wires.len()).copied().fold(self.ambient, f64::max)
    }

    /// The hottest shield, K.
    pub fn hottest_shield(&self) -> f64 {
        self.shield.iter().copied().fold(self.ambient, f64::max)
    }
}
