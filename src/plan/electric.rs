//! What a heater draws, over everything that is known.

use crate::model::{Alloy, Curve, Heater, Line, Wiring};
use crate::names::DeclId;
use crate::physics::circuit::{self, Circuit};
use crate::physics::table::Table;
use crate::physics::{self, Fault, Known, supply, wire};
use crate::units::{Bounded, BoundsProblem, SourceId};

/// A heater that is hot and steady, at full level.
#[derive(Clone, Debug)]
pub struct Electric {
    /// From the supply, A.
    pub current: Bounded,
    /// Each line.
    pub lines: Vec<LineElectric>,
    /// Nominal resistance of the leads, out and back, ohm; 0 where the voltage was measured at the wire.
    pub leads: f64,
}

/// One line of a heater that is hot and steady.
#[derive(Clone, Debug)]
pub struct LineElectric {
    /// W/m
    pub line_power: Bounded,
    /// A
    pub current: Bounded,
    /// At 20 °C, ohm.
    pub cold: Bounded,
    /// Hot, ohm.
    pub hot: Bounded,
    /// Nominal temperature of the wire, K.
    pub temperature: f64,
}

/// Why there are no electric figures.
#[derive(Clone, Debug, PartialEq)]
pub enum ElectricProblem {
    /// The numbers are out of range.
    Bounds(BoundsProblem),
    /// The wire model is void.
    Physics(Fault),
    /// The alloy lacks a curve.
    Alloy(&'static str),
}

impl From<BoundsProblem> for ElectricProblem {
    fn from(problem: BoundsProblem) -> Self {
        Self::Bounds(problem)
    }
}

impl From<Fault> for ElectricProblem {
    fn from(fault: Fault) -> Self {
        Self::Physics(fault)
    }
}

/// What the temperature of the room, taken at its nominal, may shift the wire's, K; generously.
const ROOM: f64 = 20.0;

/// Current and line power of a heater in a room at `ambient` (K).
pub fn electric(heater: &Heater, ambient: f64) -> Result<Electric, ElectricProblem> {
    let length = &heater.length.value;
    let cold: Vec<Bounded> = heater.lines.iter().map(|line| cold_resistance(line, length)).collect::<Result<_, _>>()?;
    let leads = leads(heater)?;
    let volts = &heater.supply.voltage.value;
    let wiring = match heater.wiring {
        Wiring::Series => circuit::Wiring::Series,
        Wiring::Single | Wiring::Parallel => circuit::Wiring::Parallel,
    };
    // The steady state at the nominal, and where the wire is hottest and coolest: most volts and the least of all else
    // that is unknown, and the other way round. Between them the factor runs.
    let steady = |volts: f64, pick: fn(&Bounded) -> f64| -> Result<circuit::Steady, ElectricProblem> {
        let alloys: Vec<physics::wire::Alloy> =
            heater.lines.iter().map(|line| alloy_at(&line.wire.alloy, pick)).collect::<Result<_, _>>()?;
        let wires: Vec<wire::Wire<'_>> = heater
            .lines
            .iter()
            .zip(&alloys)
            .zip(&cold)
            .map(|((line, alloy), cold)| wire::Wire {
                alloy,
                diameter: pick(&line.wire.diameter.value),
                length: pick(length),
                resistance: pick(cold),
                emissivity: pick(&line.wire.alloy.emissivity.value),
            })
            .collect();
        Ok(Circuit { volts, leads: pick(&leads), wiring }.steady(&wires, 1.0, ambient)?)
    };
    let nominal = steady(volts.nominal(), Bounded::nominal)?;
    let hottest = steady(volts.high(), Bounded::low)?;
    let coolest = steady(volts.low(), Bounded::high)?;
    let mut hot = Vec::new();
    for (index, line) in heater.lines.iter().enumerate() {
        let range = (coolest.temperatures[index] - ROOM, hottest.temperatures[index] + ROOM);
        let factor = hot_factor(&line.wire.alloy, nominal.temperatures[index], range, source(heater.id, index))?;
        hot.push(cold[index].mul(&factor)?);
    }
    let network = Network::new(heater, volts, &leads, &hot)?;
    let current = network.current()?;
    let reach = PowerReach::of(heater, &cold, &leads, wiring, ambient)?;
    let lines = heater
        .lines
        .iter()
        .enumerate()
        .map(|(index, _)| {
            Ok(LineElectric {
                line_power: reach.narrow(&network.power(index)?.div(length)?)?,
                current: network.line_current(index)?,
                cold: cold[index].clone(),
                hot: hot[index].clone(),
                temperature: nominal.temperatures[index],
            })
        })
        .collect::<Result<_, BoundsProblem>>()?;
    Ok(Electric { current, lines, leads: leads.nominal() })
}

/// The least and the greatest line power of a heater whose lines are all of one stock, W/m.
///
/// A stronger line is a hotter one, and its factor is that of the hotter wire: bounds that take the factor for an
/// unknown of its own are wider than the truth. The power of such a line rises with the voltage and falls with every
/// resistance, as long as the leads have less than the wire, so that corners are the extremes.
struct PowerReach(Option<(f64, f64)>);

impl PowerReach {
    /// How much a corner may be off, since the model of the wire's temperature is: 12 % of the convection moves the
    /// factor by less (our own estimate from the alloys' curves).
    const MARGIN: f64 = 0.005;

    fn of(
        heater: &Heater,
        cold: &[Bounded],
        leads: &Bounded,
        wiring: circuit::Wiring,
        ambient: f64,
    ) -> Result<Self, ElectricProblem> {
        let [first, others @ ..] = heater.lines.as_slice() else { return Ok(Self(None)) };
        let Some(resistance) = cold.first() else { return Ok(Self(None)) };
        let one_stock = others.iter().all(|line| line.wire.id == first.wire.id);
        if !one_stock || leads.high() >= resistance.low() {
            return Ok(Self(None));
        }
        let mut reach = (f64::INFINITY, 0.0_f64);
        let ends: [fn(&Bounded) -> f64; 2] = [Bounded::low, Bounded::high];
        for (volts, other) in [(ends[0], ends[1]), (ends[1], ends[0])] {
            let alloy = alloy_at(&first.wire.alloy, other)?;
            let volts = volts(&heater.supply.voltage.value);
            let length = other(&heater.length.value);
            // How hot the wire gets besides hangs on its surface: both ends of what is known of it.
            for (thick, bright) in [(ends[0], ends[0]), (ends[0], ends[1]), (ends[1], ends[0]), (ends[1], ends[1])] {
                let wire = wire::Wire {
                    alloy: &alloy,
                    diameter: thick(&first.wire.diameter.value),
                    length,
                    resistance: other(resistance),
                    emissivity: bright(&first.wire.alloy.emissivity.value),
                };
                let wires = vec![wire; heater.lines.len()];
                let power =
                    Circuit { volts, leads: other(leads), wiring }.steady(&wires, 1.0, ambient)?.electric.powers[0];
                reach = (reach.0.min(power / length), reach.1.max(power / length));
            }
        }
        Ok(Self(Some((reach.0 * (1.0 - Self::MARGIN), reach.1 * (1.0 + Self::MARGIN)))))
    }

    fn narrow(&self, power: &Bounded) -> Result<Bounded, BoundsProblem> {
        match self.0 {
            Some((low, high)) => power.narrowed(low.min(power.nominal()), high.max(power.nominal())),
            None => Ok(power.clone()),
        }
    }
}

/// `R20 = ρ20 L / A`, or what was measured, brought to the heater's length.
fn cold_resistance(line: &Line, length: &Bounded) -> Result<Bounded, BoundsProblem> {
    let wire = &line.wire;
    if let Some(measured) = &wire.measured {
        let factor = wire.alloy.hot_factor.nominal_at(measured.temperature.nominal()).unwrap_or(1.0);
        return measured.resistance.div(&Bounded::exact(factor)?)?.mul(&length.div(&measured.length)?);
    }
    let quarter = Bounded::exact(std::f64::consts::FRAC_PI_4)?;
    let area = quarter.mul(&wire.diameter.value.mul(&wire.diameter.value)?)?;
    wire.alloy.resistivity.value.mul(length)?.div(&area)
}

/// `2 ρ L / A`, there and back; nothing where the voltage was measured at the wire.
fn leads(heater: &Heater) -> Result<Bounded, BoundsProblem> {
    if heater.supply.at_wire {
        return Bounded::exact(0.0);
    }
    let leads = &heater.leads;
    let there_and_back = Bounded::exact(2.0)?.mul(&leads.length.value)?;
    leads.metal.resistivity.mul(&there_and_back)?.div(&leads.area.value)
}

/// Voltage lost in the leads of a heater, V; nothing where the voltage was measured at the wire.
pub fn lead_drop(heater: &Heater, electric: &Electric) -> Option<Known> {
    let (ohms, current) = (Known::from(&leads(heater).ok()?), Known::from(&electric.current));
    Some(Known {
        nominal: supply::lead_drop(current.nominal, ohms.nominal),
        low: supply::lead_drop(current.low, ohms.low),
        high: supply::lead_drop(current.high, ohms.high),
    })
}

/// The hot factor over a range of temperatures, its own bounds included, as one unknown.
fn hot_factor(alloy: &Alloy, nominal: f64, range: (f64, f64), source: SourceId) -> Result<Bounded, ElectricProblem> {
    let at = |temperature: f64, pick: fn(&Bounded) -> f64| interpolate(&alloy.hot_factor, temperature, pick);
    let inside = alloy.hot_factor.points.iter().map(|point| point.0).filter(|at| (range.0..=range.1).contains(at));
    let places: Vec<f64> = inside.chain([range.0, range.1, nominal]).collect();
    let ends = |pick: fn(&Bounded) -> f64| places.iter().filter_map(move |place| at(*place, pick)).collect::<Vec<_>>();
    let middle = at(nominal, Bounded::nominal).ok_or(ElectricProblem::Alloy("hot_factor"))?;
    let low = ends(Bounded::low).into_iter().fold(middle, f64::min);
    let high = ends(Bounded::high).into_iter().fold(middle, f64::max);
    Ok(Bounded::known(middle, low, high, source)?)
}

fn interpolate(curve: &Curve, at: f64, pick: fn(&Bounded) -> f64) -> Option<f64> {
    let points = curve.points.iter().map(|(temperature, value)| (*temperature, pick(value))).collect();
    Table::new(points).ok().map(|table| table.at(at))
}

/// One unknown for each line's hot factor, apart from those that literals make: there is no such file.
fn source(heater: DeclId, line: usize) -> SourceId {
    SourceId::new(heater.0, u32::MAX, u32::try_from(line).unwrap_or(u32::MAX))
}

/// The hot lines of a heater on its supply. Each formula names each unknown as seldom as can be, so that its bounds
/// stay tight.
struct Network<'a> {
    volts: &'a Bounded,
    leads: &'a Bounded,
    hot: &'a [Bounded],
    kind: Kind,
}

/// How the lines share the voltage.
enum Kind {
    /// So many lines of one stock in series: one resistance, not several.
    AlikeInSeries(f64),
    /// So many lines of one stock in parallel; one line alone is the same.
    AlikeInParallel(f64),
    UnlikeInSeries,
    UnlikeInParallel,
}

impl<'a> Network<'a> {
    fn new(
        heater: &Heater,
        volts: &'a Bounded,
        leads: &'a Bounded,
        hot: &'a [Bounded],
    ) -> Result<Self, ElectricProblem> {
        let count = heater.lines.len() as f64;
        let alike = heater.lines.iter().all(|line| line.wire.id == heater.lines[0].wire.id);
        let kind = match (heater.wiring, alike) {
            (Wiring::Series, true) => Kind::AlikeInSeries(count),
            (Wiring::Series, false) => Kind::UnlikeInSeries,
            (_, true) => Kind::AlikeInParallel(count),
            (_, false) => Kind::UnlikeInParallel,
        };
        if hot.is_empty() { Err(ElectricProblem::Alloy("line")) } else { Ok(Self { volts, leads, hot, kind }) }
    }

    /// Current from the supply, A.
    fn current(&self) -> Result<Bounded, BoundsProblem> {
        let first = &self.hot[0];
        let lines = match self.kind {
            Kind::AlikeInSeries(count) => first.mul(&Bounded::exact(count)?)?,
            Kind::AlikeInParallel(count) => first.div(&Bounded::exact(count)?)?,
            Kind::UnlikeInSeries => first.add(&self.hot[1])?,
            Kind::UnlikeInParallel => {
                let one = Bounded::exact(1.0)?;
                one.div(&one.div(first)?.add(&one.div(&self.hot[1])?)?)?
            }
        };
        self.volts.div(&self.leads.add(&lines)?)
    }

    /// Current of one line, A.
    fn line_current(&self, index: usize) -> Result<Bounded, BoundsProblem> {
        match self.kind {
            Kind::AlikeInSeries(_) | Kind::UnlikeInSeries => self.current(),
            Kind::AlikeInParallel(count) => self.current()?.div(&Bounded::exact(count)?),
            Kind::UnlikeInParallel => {
                let share = self.hot[index].div(&self.hot[1 - index])?;
                self.current()?.div(&Bounded::exact(1.0)?.add(&share)?)
            }
        }
    }

    /// Power of one line, W: `V² / (R (n + Rl/R)²)` for n lines of one stock in series, `V² / (R (1 + n Rl/R)²)` in
    /// parallel, and so on (Ohm's law).
    fn power(&self, index: usize) -> Result<Bounded, BoundsProblem> {
        let own = &self.hot[index];
        let exact = Bounded::exact;
        let sum = match self.kind {
            Kind::AlikeInSeries(count) => exact(count)?.add(&self.leads.div(own)?)?,
            Kind::AlikeInParallel(count) => exact(1.0)?.add(&exact(count)?.mul(&self.leads.div(own)?)?)?,
            Kind::UnlikeInSeries => exact(1.0)?.add(&self.leads.add(&self.hot[1 - index])?.div(own)?)?,
            Kind::UnlikeInParallel => {
                // The other line draws through the same leads.
                exact(1.0)?.add(&self.leads.div(own)?)?.add(&self.leads.div(&self.hot[1 - index])?)?
            }
        };
        self.volts.powi(2)?.div(&own.mul(&sum.powi(2)?)?)
    }
}

/// The alloy with its hot factor at one end of what is known of it.
fn alloy_at(alloy: &Alloy, pick: fn(&Bounded) -> f64) -> Result<physics::wire::Alloy, ElectricProblem> {
    let factors = alloy.hot_factor.points.iter().map(|(at, value)| (*at, pick(value))).collect();
    let resistance_factor = Table::new(factors).map_err(|_| ElectricProblem::Alloy("hot_factor"))?;
    Ok(physics::wire::Alloy { resistance_factor, ..self::alloy(alloy)? })
}

/// The alloy as the physics takes it.
pub fn alloy(alloy: &Alloy) -> Result<physics::wire::Alloy, ElectricProblem> {
    let table = |curve: &Curve, name: &'static str| {
        let points = curve.points.iter().map(|(at, value)| (*at, value.nominal())).collect();
        Table::new(points).map_err(|_| ElectricProblem::Alloy(name))
    };
    Ok(physics::wire::Alloy {
        resistivity: Known::from(&alloy.resistivity.value),
        resistance_factor: table(&alloy.hot_factor, "hot_factor")?,
        specific_heat: table(&alloy.specific_heat, "specific_heat")?,
        mean_expansion: table(&alloy.mean_expansion, "mean_expansion")?,
        emissivity: Known::from(&alloy.emissivity.value),
        density: Known::from(&alloy.density.value),
        max_temperature: alloy.limit.value.nominal(),
    })
}
