//! What is kept while a rehearsal goes on: lanes, heats, wires, and what was drawn.

use crate::program::{MOST_OUTPUTS, OutputRole};
use crate::rehearse::bench::Heater;
use crate::rehearse::outcome::{HeaterRecord, HeaterTrace, SupplyRecord};
use crate::rehearse::plant::Plant;
use crate::rehearse::scene::Scene;

/// Wires and shields are advanced in steps of this, ms.
const STEP: u64 = 100;
/// A trace has a point for so many ms.
const TRACE: u64 = 2000;

/// A heat that is going on, or that waits for its bend or for the arm to be let go.
#[derive(Clone, Debug)]
pub struct Heating {
    /// The bend, by its number in the scene.
    pub bend: usize,
    pub lane: usize,
    pub part: u64,
    /// Shields at the moment the sheet was laid in, K.
    pub shields: [f64; 2],
    /// Share of full power from each time on, ms.
    pub levels: Vec<(u64, f64)>,
    /// When the program switched the heater off.
    pub off: Option<u64>,
    /// When the arm began to swing.
    pub leaves: Option<u64>,
    /// When it stood at its stop.
    pub down: Option<u64>,
}

/// What is known of a lane from what the controller logs.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lane {
    pub run: usize,
    pub pass: usize,
    /// The tries so far of each run, of which the present one is counted.
    pub tries: u64,
    /// A part was laid in: warm-ups are over.
    pub started: bool,
    pub warm_ups: usize,
    /// When the heat that is going on will end.
    pub heat_end: Option<u64>,
    pub off: Option<u64>,
    pub late: bool,
    /// Good parts that were taken out.
    pub out: u64,
}

/// Wires, shields and currents.
pub struct Accounts<'a> {
    scene: &'a Scene,
    pub heaters: Vec<Option<Heater<'a>>>,
    /// Ms of flow in the present step, by heater.
    flowed: Vec<u64>,
    passed: u64,
    hot_since: [Option<u64>; MOST_OUTPUTS],
    longest: [u64; MOST_OUTPUTS],
    wire: Vec<f64>,
    shield: Vec<f64>,
    above_since: Vec<Option<u64>>,
    supplies: Vec<SupplyRecord>,
    traces: Vec<HeaterTrace>,
}

impl<'a> Accounts<'a> {
    pub fn new(scene: &'a Scene, heaters: Vec<Option<Heater<'a>>>) -> Self {
        let record =
            |(name, long): &(String, f64)| SupplyRecord { supply: name.clone(), peak: 0.0, long: *long, above: 0.0 };
        let trace = |heater: &crate::rehearse::SceneHeater| HeaterTrace { arm: heater.arm.clone(), points: Vec::new() };
        Self {
            scene,
            flowed: vec![0; heaters.len()],
            passed: 0,
            hot_since: [None; MOST_OUTPUTS],
            longest: [0; MOST_OUTPUTS],
            wire: vec![0.0; heaters.len()],
            shield: vec![0.0; heaters.len()],
            above_since: vec![None; scene.supplies.len()],
            supplies: scene.supplies.iter().map(record).collect(),
            traces: scene.heaters.iter().map(trace).collect(),
            heaters,
        }
    }

    /// Counts what has passed since the last tick.
    pub fn pass(
        &mut self,
        now: u64,
        start: Option<u64>,
        outputs: u8,
        plant: &Plant<'_>,
        commanded: [u8; MOST_OUTPUTS],
    ) {
        let tick = crate::rehearse::run::TICK;
        let mut drawn = vec![0.0; self.supplies.len()];
        for (index, heater) in self.scene.heaters.iter().enumerate() {
            let output = usize::from(heater.output);
            let flows = plant.flows(outputs, heater.output);
            // Part power flows in pulses: what counts is whether the heater counts as on.
            let live = self.scene.machine.heater(heater.output).is_some_and(|own| plant.live(outputs, own.supply));
            let hot = flows || (commanded[output] > 0 && live && !plant.dead[output]);
            if hot {
                let since = *self.hot_since[output].get_or_insert(now);
                self.longest[output] = self.longest[output].max(now - since);
            } else {
                self.hot_since[output] = None;
            }
            if flows {
                self.flowed[index] += tick;
                let supply = self.scene.machine.heater(heater.output).map_or(0, |own| usize::from(own.supply));
                if let Some(drawn) = drawn.get_mut(supply) {
                    *drawn += self.heaters[index].as_ref().map_or(heater.draws, Heater::current);
                }
            }
        }
        for ((record, since), drawn) in self.supplies.iter_mut().zip(&mut self.above_since).zip(drawn) {
            record.peak = record.peak.max(drawn);
            if drawn > record.long {
                let since = *since.get_or_insert(now);
                record.above = record.above.max((now - since) as f64 / 1e3);
            } else {
                *since = None;
            }
        }
        self.passed += tick;
        if self.passed >= STEP {
            self.advance(now, start);
        }
    }

    fn advance(&mut self, now: u64, start: Option<u64>) {
        for (index, heater) in self.heaters.iter_mut().enumerate() {
            let share = self.flowed[index] as f64 / self.passed as f64;
            self.flowed[index] = 0;
            let Some(heater) = heater else { continue };
            heater.pass(share, self.passed as f64 / 1e3);
            self.wire[index] = self.wire[index].max(heater.hottest_wire());
            self.shield[index] = self.shield[index].max(heater.hottest_shield());
            if let Some(start) = start.filter(|start| now >= *start && (now - start) % TRACE < STEP) {
                let at = i64::try_from(now - start).unwrap_or(i64::MAX);
                let point = (at, share, heater.hottest_wire(), heater.hottest_shield());
                self.traces[index].points.push(point);
            }
        }
        self.passed = 0;
    }

    /// The shields of the heater on an output, K.
    pub fn shields(&self, output: u8) -> Option<[f64; 2]> {
        let index = self.scene.heaters.iter().position(|heater| heater.output == output)?;
        Some(self.heaters.get(index)?.as_ref()?.shield)
    }

    /// What every heater and supply went through, and the heaters over time.
    pub fn records(self) -> (Vec<HeaterRecord>, Vec<SupplyRecord>, Vec<HeaterTrace>) {
        let record = |(index, heater): (usize, &crate::rehearse::SceneHeater)| {
            let own = self.scene.machine.outputs.get(usize::from(heater.output));
            let known = self.heaters.get(index).is_some_and(Option::is_some);
            let longest = self.longest.get(usize::from(heater.output)).copied().unwrap_or(0);
            HeaterRecord {
                heater: heater.heater.clone(),
                arm: heater.arm.clone(),
                longest: longest as f64 / 1e3,
                limit: own
                    .filter(|own| own.role == OutputRole::Heater)
                    .map_or(0.0, |own| f64::from(own.longest) / 10.0),
                wire: known.then(|| self.wire[index]),
                wire_limit: heater.wire_limit,
                shield: known.then(|| self.shield[index]),
            }
        };
        let heaters = self.scene.heaters.iter().enumerate().map(record).collect();
        (heaters, self.supplies, self.traces)
    }
}
