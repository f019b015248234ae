//! Marching in time: one accepted step at a time, with the state at both ends kept for interpolation.

use super::chebyshev::{MOST_STAGES, Step, longest, stages_for, table};
use super::field::{EXTRAS, Field, Phase, SHIELD, StepStart, TAKEN, WIRE};
use super::lanes::{Ends, step_error};
use super::{Resolution, Section};
use crate::physics::fault::Fault;

/// Steps refused in a row before the section is given up.
const MOST_REFUSALS: usize = 40;

/// Everything at one moment.
#[derive(Clone, Debug, Default)]
pub(super) struct Moment {
    /// Time since the heater was first switched on (or since the phase began), s.
    pub time: f64,
    /// Temperatures, K, row by row with a ghost at each end.
    pub sheet: Vec<f64>,
    /// Their rates, K/s.
    pub rate: Vec<f64>,
    /// Wires, shields, heat taken.
    pub extras: [f64; EXTRAS],
    /// Their rates.
    pub extra_rates: [f64; EXTRAS],
    /// Reciprocal heat capacity per volume at the temperatures, m³ K/J.
    pub reciprocal: Vec<f64>,
}

impl Moment {
    /// Takes over another moment without a new allocation.
    pub fn copy_from(&mut self, other: &Self) {
        self.time = other.time;
        self.sheet.clone_from(&other.sheet);
        self.rate.clone_from(&other.rate);
        self.extras = other.extras;
        self.extra_rates = other.extra_rates;
        self.reciprocal.clone_from(&other.reciprocal);
    }
}

/// Writes the state between two moments by the cubic that meets values and rates at both.
pub(super) fn between(start: &Moment, end: &Moment, time: f64, out: &mut Moment) {
    let span = end.time - start.time;
    let part = if span > 0.0 { ((time - start.time) / span).clamp(0.0, 1.0) } else { 1.0 };
    let rest = 1.0 - part;
    let (a, b) = ((1.0 + 2.0 * part) * rest * rest, part * part * (3.0 - 2.0 * part));
    let (c, d) = (part * rest * rest * span, -part * part * rest * span);
    let blend = |from: f64, to: f64, leaving: f64, arriving: f64| a * from + b * to + c * leaving + d * arriving;
    out.time = time;
    out.sheet.clear();
    let rates = start.rate.iter().zip(&end.rate);
    out.sheet.extend(start.sheet.iter().zip(&end.sheet).zip(rates).map(|((s, e), (l, r))| blend(*s, *e, *l, *r)));
    for index in 0..EXTRAS {
        out.extras[index] =
            blend(start.extras[index], end.extras[index], start.extra_rates[index], end.extra_rates[index]);
    }
}

/// The stepper and its buffers.
#[derive(Clone, Debug)]
pub(super) struct March {
    pub field: Field,
    /// Where the last accepted step began.
    pub before: Moment,
    /// Where it ended.
    pub now: Moment,
    /// The step to try next, s.
    next: f64,
    tolerance: f64,
    /// Steps taken since the section was prepared.
    pub steps: usize,
    /// Steps still granted to the question being answered.
    pub budget: usize,
    steps_table: Vec<Step>,
    heat: Vec<f64>,
    frozen: Vec<f64>,
    first_rate: Vec<f64>,
    stage_before: Vec<f64>,
    stage_now: Vec<f64>,
    /// Largest rate of the sheet after the last step, K/s.
    pub fastest: f64,
}

impl Default for March {
    fn default() -> Self {
        Self {
            field: Field::default(),
            before: Moment::default(),
            now: Moment::default(),
            next: 0.0,
            tolerance: 0.1,
            steps: 0,
            budget: 0,
            steps_table: table(),
            heat: Vec::new(),
            frozen: Vec::new(),
            first_rate: Vec::new(),
            stage_before: Vec::new(),
            stage_now: Vec::new(),
            fastest: 0.0,
        }
    }
}

impl March {
    /// Prepares a section and puts the sheet, wires and shields at their start.
    pub fn prepare(&mut self, section: &Section<'_>, resolution: Resolution) {
        self.field.prepare(section, resolution);
        self.tolerance = resolution.tolerance;
        self.steps = 0;
        let size = self.field.stride * self.field.grid.rows();
        for values in [
            &mut self.heat,
            &mut self.frozen,
            &mut self.first_rate,
            &mut self.now.rate,
            &mut self.before.rate,
            &mut self.now.reciprocal,
            &mut self.before.reciprocal,
        ] {
            values.clear();
            values.resize(size, 0.0);
        }
        // A ghost keeps the start temperature in every buffer, so that it never looks like an error.
        for values in [&mut self.stage_before, &mut self.stage_now] {
            values.clear();
            values.resize(size, section.sheet.start);
        }
        for moment in [&mut self.now, &mut self.before] {
            moment.time = 0.0;
            moment.sheet.clear();
            moment.sheet.resize(size, section.sheet.start);
            moment.extras = [section.ambient; EXTRAS];
            moment.extras[TAKEN] = 0.0;
            for (index, face) in section.faces.iter().enumerate() {
                if let Some(shield) = face.line.and_then(|line| line.shield) {
                    moment.extras[SHIELD + index] = shield.start;
                }
            }
        }
    }

    /// Sets what the faces meet from now on; rates are taken afresh and the step starts small.
    pub fn enter(&mut self, section: &Section<'_>, phase: Phase) {
        self.field.enter(section, phase);
        self.now.extra_rates = self.field.heat(section, &self.now.sheet, &self.now.extras, &mut self.heat);
        self.field.reciprocal(&self.now.sheet, &self.now.sheet, 0.0, &mut self.now.reciprocal);
        for ((rate, heat), reciprocal) in self.now.rate.iter_mut().zip(&self.heat).zip(&self.now.reciprocal) {
            *rate = heat * reciprocal;
        }
        self.next = 1.0 / self.field.radius;
    }

    /// Takes one step, not past `until` (s).
    pub fn step(&mut self, section: &Section<'_>, until: f64) -> Result<(), Fault> {
        self.budget = self.budget.checked_sub(1).ok_or(Fault::TooMuchWork)?;
        std::mem::swap(&mut self.before, &mut self.now);
        for _ in 0..MOST_REFUSALS {
            let left = until - self.before.time;
            // The last two steps before `until` share what is left, so that none is a sliver.
            let mut span =
                if self.next >= left { left } else { self.next.min(0.5 * left).max(0.5 * self.next.min(left)) };
            span = span.min(longest(MOST_STAGES, self.field.radius));
            self.try_step(section, span);
            let error = self.error(span);
            // Third-order local error; a refusal that is not even a number shrinks the step most.
            let factor = if error.is_finite() { 0.8 / libm::cbrt(error.max(1e-6)) } else { 0.1 };
            if error <= 1.0 {
                self.now.time = if span >= left { until } else { self.before.time + span };
                self.next = span * factor.clamp(0.3, 3.0);
                self.steps += 1;
                return Ok(());
            }
            self.next = span * factor.clamp(0.1, 0.9);
        }
        Err(Fault::TooMuchWork)
    }

    /// Computes the state a span ahead of `before` into `now`, with heat capacity frozen at mid-step.
    fn try_step(&mut self, section: &Section<'_>, span: f64) {
        let Self { field, before, now, heat, frozen, first_rate, stage_before, stage_now, .. } = self;
        let stages = stages_for(span, field.radius);
        let Some(coefficients) = self.steps_table.get(stages - 2) else { return };
        // Heat capacity is frozen at what the temperatures at mid-step will nearly be: second order, and the stages
        // need not look it up.
        field.reciprocal(&before.sheet, &before.rate, 0.5 * span, frozen);
        let first = coefficients.first * span;
        let size = heat.len();
        let (start, rate) = (&before.sheet[..size], &before.rate[..size]);
        let (reciprocal, frozen, first_rate) = (&before.reciprocal[..size], &frozen[..size], &mut first_rate[..size]);
        for (i, value) in stage_now[..size].iter_mut().enumerate() {
            first_rate[i] = rate[i] * frozen[i] / reciprocal[i];
            *value = start[i] + first * first_rate[i];
        }
        stage_before.copy_from_slice(&before.sheet);
        let step = StepStart { sheet: &before.sheet, first_rate, frozen, span };
        let mut extras_before = before.extras;
        let mut extras_now = before.extras;
        for (value, rate) in extras_now.iter_mut().zip(&before.extra_rates) {
            *value += first * rate;
        }
        for stage in &coefficients.stages {
            let rates = field.stage(section, (stage_now, &extras_now), &step, stage, stage_before);
            let (rest, rate, gamma) = (1.0 - stage.mu - stage.nu, stage.mu_rate * span, stage.gamma_rate * span);
            for index in 0..EXTRAS {
                extras_before[index] = rest * before.extras[index]
                    + stage.mu * extras_now[index]
                    + stage.nu * extras_before[index]
                    + rate * rates[index]
                    + gamma * before.extra_rates[index];
            }
            std::mem::swap(stage_before, stage_now);
            std::mem::swap(&mut extras_before, &mut extras_now);
        }
        now.sheet.copy_from_slice(stage_now);
        now.extras = extras_now;
        now.extra_rates = field.heat(section, &now.sheet, &now.extras, heat);
        // Looking nought ahead needs no rate; the stale one of a refused step may not be a number.
        field.reciprocal(&now.sheet, &now.sheet, 0.0, &mut now.reciprocal);
        for ((rate, heat), reciprocal) in now.rate.iter_mut().zip(heat.iter()).zip(&now.reciprocal) {
            *rate = heat * reciprocal;
        }
    }

    /// Estimated error of the step in units of the tolerance, as in the source of the scheme.
    fn error(&mut self, span: f64) -> f64 {
        let (before, now) = (&self.before, &self.now);
        let ends = Ends { from: (&before.sheet, &before.rate), to: (&now.sheet, &now.rate) };
        let (mut largest, fastest) = step_error(&ends, span);
        for index in [WIRE, WIRE + 1, SHIELD, SHIELD + 1] {
            let error = (0.8 * (before.extras[index] - now.extras[index])
                + 0.4 * span * (before.extra_rates[index] + now.extra_rates[index]))
                .abs();
            // A wire is some hundred kelvin above the sheet and moves it little: ten times the sheet's tolerance.
            let error = if index < SHIELD { 0.1 * error } else { error };
            // Written so that an error that is not a number is kept.
            largest = if error <= largest { largest } else { error };
        }
        self.fastest = fastest;
        largest / self.tolerance
    }
}
