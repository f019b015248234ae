//! One or two lines on a supply: how volts, leads and hot resistances share the power.

use super::fault::{Fault, Input, within};
use super::wire::Wire;

/// How the two lines of one heater are wired.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wiring {
    /// Both lines between the same two terminals.
    Parallel,
    /// One line after the other.
    Series,
}

/// What feeds the lines of one heater, every unknown fixed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit {
    /// Voltage where it is measured: at the terminals of the leads, or at the wire if the leads are 0 ohm.
    pub volts: f64, // V
    /// Resistance of the leads between there and the wire, out and back.
    pub leads: f64, // ohm
    /// How two lines are joined; one line alone ignores it.
    pub wiring: Wiring,
}

/// The electric state of a heater at given wire temperatures, at full power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Electric {
    /// Current through the leads, A.
    pub current: f64,
    /// Current through each line, A.
    pub line_currents: [f64; 2],
    /// Power turned into heat in each line, W.
    pub powers: [f64; 2],
}

/// The steady state of a heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steady {
    /// Temperature of each wire, K.
    pub temperatures: [f64; 2],
    /// Currents and powers at those temperatures, at full power.
    pub electric: Electric,
}

impl Circuit {
    /// Refuses a circuit outside what can stand on a bench; what is unlawful there is the linter's matter.
    pub fn check(&self) -> Result<(), Fault> {
        within(Input::Voltage, self.volts, 0.0, 1000.0)?;
        within(Input::LeadResistance, self.leads, 0.0, 100.0)?;
        Ok(())
    }

    /// Currents and powers with the given hot resistances (ohm); `None` for the second if there is one line.
    pub fn solve(&self, first: f64, second: Option<f64>) -> Electric {
        let Some(second) = second else {
            let current = self.volts / (self.leads + first);
            return Electric { current, line_currents: [current, 0.0], powers: [current * current * first, 0.0] };
        };
        let (current, line_currents) = match self.wiring {
            Wiring::Series => {
                let current = self.volts / (self.leads + first + second);
                (current, [current, current])
            }
            Wiring::Parallel => {
                let current = self.volts / (self.leads + first * second / (first + second));
                let share = second / (first + second);
                (current, [current * share, current * (1.0 - share)])
            }
        };
        let [a, b] = line_currents;
        Electric { current, line_currents, powers: [a * a * first, b * b * second] }
    }

    /// Steady temperatures, currents and powers at a share `level` of full power, ambient in K.
    ///
    /// Resistance hardly changes with temperature, so the loop temperature → resistance → power → temperature
    /// contracts by at least ten at each turn; it is run until nothing changes by more than 1e-9 K.
    pub fn steady(&self, wires: &[Wire<'_>], level: f64, ambient: f64) -> Result<Steady, Fault> {
        self.check()?;
        within(Input::Level, level, 0.0, 1.0)?;
        let [first, rest @ ..] = wires else { return Err(Fault::OutOfRange(Input::Resistance)) };
        let second = rest.first();
        for wire in wires {
            wire.check()?;
        }
        let electric_at = |temperatures: [f64; 2]| {
            self.solve(first.hot_resistance(temperatures[0]), second.map(|wire| wire.hot_resistance(temperatures[1])))
        };
        let mut temperatures = [ambient; 2];
        for _ in 0..100 {
            let electric = electric_at(temperatures);
            let mut next = [ambient; 2];
            next[0] = first.temperature_at_power(level * electric.powers[0] / first.length, ambient)?;
            if let Some(wire) = second {
                next[1] = wire.temperature_at_power(level * electric.powers[1] / wire.length, ambient)?;
            }
            let change = (next[0] - temperatures[0]).abs().max((next[1] - temperatures[1]).abs());
            temperatures = next;
            if change < 1e-9 {
                break;
            }
        }
        Ok(Steady { temperatures, electric: electric_at(temperatures) })
    }
}

#[cfg(test)]
mod tests {
    use super::{Circuit, Wiring};

    #[test]
    fn lines_in_parallel_and_series_obey_ohm() {
        let parallel = Circuit { volts: 12.0, leads: 0.1, wiring: Wiring::Parallel }.solve(1.0, Some(2.0));
        let expected = 12.0 / (0.1 + 2.0 / 3.0);
        assert!((parallel.current - expected).abs() < 1e-12);
        assert!((parallel.line_currents[0] - 2.0 * parallel.line_currents[1]).abs() < 1e-12);
        let series = Circuit { volts: 12.0, leads: 0.0, wiring: Wiring::Series }.solve(1.0, Some(2.0));
        assert!((series.powers[0] + series.powers[1] - 48.0).abs() < 1e-12);
    }
}
