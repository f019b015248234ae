//! What stands behind the window of a bend: its unknowns, what measuring them would give, what the heat leads to with
//! bounds, temperatures over time, and heat times by measured thickness.

use std::collections::BTreeMap;

use crate::model::{Lot, Recipe};
use crate::physics::Fault;
use crate::physics::section::{Follow, Resolution, Sample, Solver};
use crate::physics::window::{Bend, Point, Rows, Unknown, Unknowns, Worth, rows, worth};
use crate::plan::BendPlan;
use crate::plan::thermal::{Setup, Thermal, ThermalProblem, stage};
use crate::units::Known;

/// How many unknowns are looked at for what measuring them would give.
const MEASURED: usize = 3;
/// Room temperatures of neighbouring columns of the rows are at most this far apart, K.
const WIDEST_BAND: f64 = 5.0;
/// Moments of a curve, for heat and arm each.
const MOMENTS: f64 = 150.0;

/// What the heat that is used leads to. Temperatures in K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    /// Hottest point of the bend zone when the heater goes off.
    pub hottest: Known,
    /// Coldest point of the bend zone when the bend is finished.
    pub coldest: Known,
    /// Mean through the thickness at the line when the bend is finished.
    pub mean: Known,
    /// Width softened through when the bend is finished, m.
    pub softened_width: Known,
    /// Heat that the sheet has taken when the heater goes off, J/m.
    pub taken: Known,
    /// The shield of the first line when the heater goes off; without a shield, room temperature.
    pub shield: Known,
}

/// Temperatures at the line at the nominal point.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// From heater on to the end of the set.
    pub samples: Vec<Sample>,
    /// How the heat would go on if the heater stayed on.
    pub left_on: Vec<Sample>,
    /// How long the heater is on, s.
    pub heat: f64,
    /// Transfer, s.
    pub transfer: f64,
    /// How long the arm holds, s.
    pub hold: f64,
}

/// The study of one bend.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Everything that is not known, with its bounds.
    pub unknowns: Unknowns,
    /// What measuring the unknowns would give that close the window most.
    pub worths: Vec<Worth>,
    /// What the heat leads to.
    pub ends: Ends,
    /// Temperatures over time.
    pub trace: Trace,
}

/// Studies bends, each once.
#[derive(Debug, Default)]
pub struct Studies {
    solver: Solver,
    known: BTreeMap<Vec<u64>, Study>,
    rows: BTreeMap<Vec<u64>, Rows>,
}

impl Studies {
    /// The study of a bend that is made like this.
    pub fn study(
        &mut self,
        recipe: &Recipe,
        bend: usize,
        made: &BendPlan,
        lot: Option<&Lot>,
    ) -> Result<Study, ThermalProblem> {
        let setup = prepared(recipe, bend, made, lot)?;
        let mut key = key(&setup, made);
        key.push(made.set.to_bits());
        if let Some(known) = self.known.get(&key) {
            return Ok(known.clone());
        }
        let thermal = made.thermal.as_ref().ok_or(ThermalProblem::FromMemory)?;
        let study = study(&mut self.solver, &setup.bend(made.heat.iter().map(stage).collect()), made, thermal)?;
        self.known.insert(key, study.clone());
        Ok(study)
    }

    /// Heat times by measured thickness in steps of 0.1 mm and by room temperature.
    pub fn rows(
        &mut self,
        recipe: &Recipe,
        bend: usize,
        made: &BendPlan,
        lot: Option<&Lot>,
    ) -> Result<Rows, ThermalProblem> {
        let setup = prepared(recipe, bend, made, lot)?;
        let bend = setup.bend(made.heat.iter().map(stage).collect());
        let room = bend.unknowns.get(Unknown::Ambient);
        let bands = ((room.high - room.low) / WIDEST_BAND).ceil().clamp(1.0, 20.0);
        let band = (room.high - room.low) / bands;
        let middle = |index: u8| room.low + (f64::from(index) + 0.5) * band;
        let rooms: Vec<f64> = (0..20).take_while(|index| f64::from(*index) < bands).map(middle).collect();
        Ok(rows(&mut self.solver, &bend, &rooms, band)?)
    }

    /// The same for any room that the recipe allows: one row for each thickness.
    pub fn program_rows(
        &mut self,
        recipe: &Recipe,
        bend: usize,
        made: &BendPlan,
        lot: Option<&Lot>,
    ) -> Result<Rows, ThermalProblem> {
        let setup = prepared(recipe, bend, made, lot)?;
        let key = key(&setup, made);
        if let Some(known) = self.rows.get(&key) {
            return Ok(known.clone());
        }
        let bend = setup.bend(made.heat.iter().map(stage).collect());
        let room = bend.unknowns.get(Unknown::Ambient);
        let found = rows(&mut self.solver, &bend, &[room.nominal], room.high - room.low)?;
        self.rows.insert(key, found.clone());
        Ok(found)
    }
}

fn prepared(recipe: &Recipe, bend: usize, made: &BendPlan, lot: Option<&Lot>) -> Result<Setup, ThermalProblem> {
    let mut setup = Setup::new(recipe, bend, &made.electric, lot)?;
    setup.set_shield_rise()?;
    Ok(setup)
}

/// What tells heated bends apart.
fn key(setup: &Setup, made: &BendPlan) -> Vec<u64> {
    let mut key = setup.key();
    key.extend(made.heat.iter().flat_map(|level| [level.time.to_bits(), level.share.to_bits()]));
    key
}

fn study(solver: &mut Solver, bend: &Bend<'_>, made: &BendPlan, thermal: &Thermal) -> Result<Study, ThermalProblem> {
    let heat: f64 = made.heat.iter().map(|level| level.time).sum();
    let closing = thermal.window.closings.iter().take(MEASURED);
    let worths = closing.map(|closing| worth(solver, bend, closing.unknown)).collect::<Result<Vec<_>, _>>()?;
    let ends = ends(solver, bend, heat)?;
    let trace = trace(solver, bend, heat, made.set, thermal.window.over.nominal)?;
    Ok(Study { unknowns: bend.unknowns.clone(), worths, ends, trace })
}

/// The figures of [`Ends`] in their order, at one point of the box.
fn ends_at(
    solver: &mut Solver,
    bend: &Bend<'_>,
    heat: f64,
    point: &Point,
    mesh: Resolution,
) -> Result<[f64; 6], Fault> {
    let section = bend.section(point);
    solver.heat(&section, mesh.for_thickness(section.sheet.thickness), Follow::Until(heat))?;
    let run = solver.run(&section, heat)?;
    Ok([run.hottest, run.coldest, run.mean, run.softened_width, run.taken, run.shields[0]])
}

/// What the heat leads to over the box: each unknown alone is moved to its bounds on a coarse mesh, and the signs of what
/// follows choose two corners of the box for each figure, which are solved on the fine one.
fn ends(solver: &mut Solver, bend: &Bend<'_>, heat: f64) -> Result<Ends, Fault> {
    let centre = bend.unknowns.nominal();
    let coarse = ends_at(solver, bend, heat, &centre, Resolution::COARSE)?;
    let nominal = ends_at(solver, bend, heat, &centre, Resolution::NORMAL)?;
    // For each figure the corner of its lowest and that of its highest value.
    let mut corners = [[centre; 2]; 6];
    for unknown in bend.unknowns.wide() {
        let place = unknown as usize;
        let known = bend.unknowns.get(unknown);
        let mut best = coarse.map(|value| [value; 2]);
        for value in [known.low, known.high] {
            let mut point = centre;
            point[place] = value;
            let there = ends_at(solver, bend, heat, &point, Resolution::COARSE)?;
            for (figure, there) in there.into_iter().enumerate() {
                if there < best[figure][0] {
                    best[figure][0] = there;
                    corners[figure][0][place] = value;
                }
                if there > best[figure][1] {
                    best[figure][1] = there;
                    corners[figure][1][place] = value;
                }
            }
        }
    }
    let mut known = [Known::exact(0.0); 6];
    for (figure, [low, high]) in corners.iter().enumerate() {
        let low = ends_at(solver, bend, heat, low, Resolution::NORMAL)?[figure];
        let high = ends_at(solver, bend, heat, high, Resolution::NORMAL)?[figure];
        known[figure] = Known::between(nominal[figure], low, high);
    }
    let [hottest, coldest, mean, softened_width, taken, shield] = known;
    Ok(Ends { hottest, coldest, mean, softened_width, taken, shield })
}

fn trace(solver: &mut Solver, bend: &Bend<'_>, heat: f64, hold: f64, over: f64) -> Result<Trace, Fault> {
    let section = bend.section(&bend.unknowns.nominal());
    let mesh = Resolution::NORMAL.for_thickness(section.sheet.thickness);
    let until = if over.is_finite() { over.max(heat) } else { heat };
    solver.heat(&section, mesh, Follow::Until(until))?;
    let mut samples = Vec::new();
    let mut left_on = Vec::new();
    let step = heat / MOMENTS;
    let mut index = 0.0;
    while index < MOMENTS {
        samples.push(solver.sample_heating(index * step));
        index += 1.0;
    }
    let off = solver.sample_heating(heat);
    samples.push(off);
    if until > heat {
        left_on.push(off);
        let mut index = 1.0;
        while index <= 20.0 {
            left_on.push(solver.sample_heating(heat + (until - heat) * index / 20.0));
            index += 1.0;
        }
    }
    samples.extend(solver.samples_after(&section, heat, hold, (hold / MOMENTS).max(0.5))?);
    Ok(Trace { samples, left_on, heat, transfer: section.transfer, hold })
}
