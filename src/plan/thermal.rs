//! The window of each bend of a recipe: from the model to the physics and back.

use serde::{Deserialize, Serialize};

use crate::model::{
    Colour, Curve, Given, Heat, Lot, Material, Radius, Recipe, SetTime, Storage, Surface, Switch, Wiring,
};
use crate::model::{Level, LinePlace};
use crate::physics::section::{Solver, Stage};
use crate::physics::table::Table;
use crate::physics::window::{
    Bend, HeaterLine, Opening, Unknown, Unknowns, Verdict, Window, is_worthwhile, search_stages, solve, solve_given,
    what_opens,
};
use crate::physics::{Fault, Known, circuit, coupling};
use crate::plan::electric::{Electric, ElectricProblem, alloy};
use crate::units::Bounded;

/// What a bend was solved to.
pub(super) type Solved = Result<Thermal, Fault>;

/// The window of one bend, and what was made of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Thermal {
    /// When it is ready, over and set.
    pub window: Window,
    /// The heat: as given, or as computed; none where no heat has a window.
    pub heat: Option<Vec<Level>>,
    /// What would open a window that is closed.
    pub openings: Vec<Opening>,
    /// Inside radius, m: of the former, or as it follows from the softened width.
    pub radius: f64,
    /// Whether trials on this heater and sheet have calibrated it.
    pub calibrated: bool,
    /// Whether the material's thermal data are only from memory: the window is held against given times, and no time is
    /// computed from it.
    pub from_memory: bool,
}

/// Why a bend has no window.
#[derive(Clone, Debug, PartialEq)]
pub enum ThermalProblem {
    /// The material lacks this entry.
    Material(&'static str),
    /// The material's thermal data are only from memory.
    FromMemory,
    /// The alloy lacks a curve.
    Electric(ElectricProblem),
    /// The models mean nothing for these figures.
    Physics(Fault),
}

impl From<Fault> for ThermalProblem {
    fn from(fault: Fault) -> Self {
        Self::Physics(fault)
    }
}

/// The longest heat that is looked at, s.
pub const HORIZON: f64 = 900.0;
/// The radius with which a free bend is first looked at, in thicknesses (common practice: twice the thickness).
const FREE_RADIUS: f64 = 2.0;
/// A damp sheet blisters lower; by how much has no published figure (our guess, K).
const DAMP: f64 = 20.0;
/// Beyond this the sheet decomposes and the model is void, °C (physics.md).
pub const VOID_CELSIUS: f64 = 220.0;

/// Contact of the bend's lower face with what it lies on while it sets, W/(m² K): no published source.
fn contact(surface: Surface) -> Option<Known> {
    match surface {
        Surface::Wood => Some(Known::between(12.0, 6.0, 25.0)),
        Surface::Metal => Some(Known::between(40.0, 15.0, 120.0)),
        Surface::Cloth => Some(Known::between(8.0, 4.0, 15.0)),
        Surface::Air => None,
    }
}

/// Lets `look` see a bend of a recipe as the physics is given it, heated in `stages`: whoever holds a window against
/// the box it is stated for needs that box.
pub fn with_bend<R>(
    recipe: &Recipe,
    bend: usize,
    electric: &Electric,
    lot: Option<&Lot>,
    stages: Vec<Stage>,
    look: impl FnOnce(&Bend<'_>) -> R,
) -> Result<R, ThermalProblem> {
    let mut setup = Setup::new(recipe, bend, electric, lot)?;
    setup.set_shield_rise()?;
    Ok(look(&setup.bend(stages)))
}

/// A bend of a recipe as the physics is given it, kept for as long as it is wanted.
pub struct Modelled(Setup);

impl Modelled {
    /// The bend of a recipe, or why nothing can be said of its heat.
    pub fn new(recipe: &Recipe, bend: usize, electric: &Electric, lot: Option<&Lot>) -> Result<Self, ThermalProblem> {
        let mut setup = Setup::new(recipe, bend, electric, lot)?;
        setup.set_shield_rise()?;
        Ok(Self(setup))
    }

    /// The bend, heated in `stages`.
    pub fn bend(&self, stages: Vec<Stage>) -> Bend<'_> {
        self.0.bend(stages)
    }
}

/// Everything the physics needs, owned, so that the physics can borrow it.
pub(super) struct Setup {
    alloys: Vec<crate::physics::wire::Alloy>,
    lines: Vec<(f64, f64, f64, bool)>,
    wiring: circuit::Wiring,
    leads: f64,
    shield: Option<f64>,
    warm_up: f64,
    specific_heat: Table,
    setting_radiates: [bool; 2],
    angle: f64,
    radius: Option<f64>,
    neutral: f64,
    unknowns: Unknowns,
    calibrated: bool,
    from_memory: bool,
    part_power: bool,
    stages: Option<Vec<Level>>,
}

impl Setup {
    pub(super) fn new(
        recipe: &Recipe,
        bend: usize,
        electric: &Electric,
        lot: Option<&Lot>,
    ) -> Result<Self, ThermalProblem> {
        let settings = &recipe.bends[bend];
        let arm = &recipe.bench.arms[settings.arm];
        let heater = &arm.heater;
        let sheet = &recipe.part.sheet;
        let material = &sheet.material;
        let alloys = heater
            .lines
            .iter()
            .map(|line| alloy(&line.wire.alloy))
            .collect::<Result<Vec<_>, _>>()
            .map_err(ThermalProblem::Electric)?;
        let lines = heater.lines.iter().zip(&electric.lines).map(|(line, electric)| {
            let diameter = line.wire.diameter.value.nominal();
            (diameter, heater.length.value.nominal(), electric.cold.nominal(), line.place == LinePlace::Above)
        });
        let heat = MaterialHeat::new(material).map_err(ThermalProblem::Material)?;
        let (specific_heat, heat_spread) = heat.specific_heat;
        let mut unknowns = Unknowns::defaults();
        let mut set = |unknown: Unknown, known: Known| unknowns.set(unknown, known);
        set(Unknown::Absorptance, absorptance(sheet.colour));
        set(Unknown::SpecificHeat, heat_spread);
        set(Unknown::Resistance, resistance_spread(electric));
        set(Unknown::WireEmissivity, known(&heater.lines[0].wire.alloy.emissivity.value));
        set(Unknown::Gap, known(&heater.lines[0].gap.value));
        set(Unknown::SecondGap, known(&heater.lines.last().unwrap_or(&heater.lines[0]).gap.value));
        set(Unknown::Channel, known(&heater.channel.value));
        set(Unknown::Conductivity, heat.conductivity);
        set(Unknown::Density, known(&material.density.value));
        set(
            Unknown::Emissivity,
            material.emissivity.as_ref().map_or(Known::between(0.9, 0.8, 1.0), |given| known(&given.value)),
        );
        set(Unknown::Softened, heat.softened);
        set(Unknown::Forming, heat.forming);
        let ceiling = heat.ceiling;
        let damp = lot.is_some_and(|lot| lot.stored == Some(Storage::Damp));
        let lowered = Known::between(ceiling.nominal - DAMP, ceiling.low - DAMP, ceiling.high - DAMP);
        set(Unknown::Ceiling, if damp { lowered } else { ceiling });
        set(Unknown::Release, heat.release);
        set(Unknown::Thickness, lot.map_or_else(|| known(&sheet.thickness.value), measured_thickness));
        set(Unknown::Ambient, known(&recipe.ambient.value));
        set(Unknown::Voltage, known(&heater.supply.voltage.value));
        let transfer = settings.transfer;
        set(Unknown::Transfer, Known::between(0.75 * transfer, 0.5 * transfer, transfer));
        let lower = contact(arm.surface);
        let first_is_above = heater.lines[0].place == LinePlace::Above;
        if let Some(lower) = lower {
            // The face that lies on something is the lower one; the first face is the one in front of the first line.
            set(if first_is_above { Unknown::SecondSetting } else { Unknown::FirstSetting }, lower);
        }
        let calibration = heater.calibration.as_ref().filter(|calibration| calibration.sheet == sheet.id);
        if let Some(calibration) = calibration {
            unknowns.calibrate(known(&calibration.factor.value));
        }
        Ok(Self {
            alloys,
            lines: lines.collect(),
            wiring: if heater.wiring == Wiring::Series { circuit::Wiring::Series } else { circuit::Wiring::Parallel },
            leads: if heater.supply.at_wire { 0.0 } else { electric.leads },
            shield: heater
                .shield
                .as_ref()
                .map(|shield| shield.mass.value.nominal() * shield.metal.specific_heat.nominal()),
            warm_up: heater.warm_up.map_or(0.0, |given| given.value),
            specific_heat,
            setting_radiates: if first_is_above { [true, lower.is_none()] } else { [lower.is_none(), true] },
            angle: recipe.part.bends[bend].angle.value,
            radius: match recipe.part.bends[bend].radius {
                Radius::Formed(radius) => Some(radius),
                Radius::Free => None,
            },
            neutral: material.neutral_line.nominal(),
            unknowns,
            calibrated: calibration.is_some(),
            from_memory: !material.computed_times,
            part_power: heater.switch != Switch::Relay,
            stages: match &settings.heat {
                Heat::Stages(stages) => Some(stages.value.clone()),
                Heat::Computed(_) | Heat::Missing => None,
            },
        })
    }

    pub(super) fn solve(mut self, solver: &mut Solver) -> Result<Thermal, Fault> {
        self.set_shield_rise()?;
        let given: Option<f64> = self.stages.as_ref().map(|stages| stages.iter().map(|level| level.time).sum());
        let stages = self.stages.as_ref().map_or_else(full_power, |stages| stages.iter().map(stage).collect());
        let bend = self.bend(stages);
        let mut window = match given {
            Some(heat) => solve_given(solver, &bend, heat)?,
            None => solve(solver, &bend)?,
        };
        let mut heat = self.stages.clone().or_else(|| window.heat.map(|time| vec![Level { time, share: 1.0 }]));
        let mut openings = Vec::new();
        if given.is_none() && !is_worthwhile(&window) {
            // One level has no window, or one that nobody hits: stages may have a wider one.
            if let Some(found) = search_stages(solver, &bend)? {
                let staged = self.bend(found.clone());
                let solved = solve(solver, &staged)?;
                if let Some(time) = solved.heat {
                    heat = Some(stretched(&found, time));
                    window = solved;
                }
            }
        }
        if heat.is_none() {
            openings = what_opens(solver, &bend)?;
        }
        let thickness = self.unknowns.get(Unknown::Thickness).nominal;
        let free = window.run.map(|run| run.softened_width / self.angle.max(1e-3) - self.neutral * thickness);
        let radius = self.radius.unwrap_or_else(|| free.unwrap_or(FREE_RADIUS * thickness).max(0.0));
        if self.from_memory {
            // Bounds from memory prove nothing.
            window.verdict = window.verdict.min(Verdict::Nominal);
        }
        Ok(Thermal { window, heat, openings, radius, calibrated: self.calibrated, from_memory: self.from_memory })
    }

    /// The shield starts between the room's temperature (or what the warm-up leaves) and what it settles at when the
    /// line is hot all the time.
    pub(super) fn set_shield_rise(&mut self) -> Result<(), Fault> {
        let bend = self.bend(full_power());
        let start = bend.warm_up_rise(self.warm_up)?;
        let settled = bend.warm_up_rise(3600.0)?;
        let low = if self.warm_up > 0.0 { 0.5 * start } else { 0.0 };
        self.unknowns.set(Unknown::ShieldRise, Known::between(start, low, settled));
        Ok(())
    }

    pub(super) fn bend(&self, stages: Vec<Stage>) -> Bend<'_> {
        let line = |index: usize| {
            let (diameter, length, resistance, above) = *self.lines.get(index)?;
            Some(HeaterLine { alloy: self.alloys.get(index)?, diameter, length, resistance, above })
        };
        let nothing = HeaterLine { alloy: &self.alloys[0], diameter: 0.0, length: 0.0, resistance: 0.0, above: false };
        let thickness = self.unknowns.get(Unknown::Thickness).nominal;
        Bend {
            first: line(0).unwrap_or(nothing),
            second: line(1),
            wiring: self.wiring,
            leads: self.leads,
            shield_capacity: self.shield,
            specific_heat: &self.specific_heat,
            setting_radiates: self.setting_radiates,
            angle: self.angle,
            radius: self.radius.unwrap_or(FREE_RADIUS * thickness),
            neutral: self.neutral,
            void: VOID_CELSIUS + 273.15,
            stages,
            part_power: self.part_power,
            horizon: HORIZON,
            unknowns: self.unknowns.clone(),
        }
    }

    /// Every number that decides the solution, bit for bit.
    pub(super) fn key(&self) -> Vec<u64> {
        let mut key = vec![self.alloys.len() as u64];
        let mut put = |value: f64| key.push(value.to_bits());
        for alloy in &self.alloys {
            for table in [&alloy.resistance_factor, &alloy.specific_heat, &alloy.mean_expansion] {
                table.points().iter().for_each(|(at, value)| [*at, *value].into_iter().for_each(&mut put));
                put(f64::INFINITY);
            }
            [alloy.density.nominal, alloy.max_temperature].into_iter().for_each(&mut put);
        }
        for (diameter, length, resistance, above) in &self.lines {
            [*diameter, *length, *resistance, f64::from(u8::from(*above))].into_iter().for_each(&mut put);
        }
        self.specific_heat.points().iter().for_each(|(at, value)| [*at, *value].into_iter().for_each(&mut put));
        put(f64::INFINITY);
        for unknown in Unknown::ALL {
            let Known { nominal, low, high } = self.unknowns.get(unknown);
            [nominal, low, high].into_iter().for_each(&mut put);
        }
        let flags = [
            self.wiring == circuit::Wiring::Series,
            self.setting_radiates[0],
            self.setting_radiates[1],
            self.calibrated,
            self.from_memory,
            self.part_power,
        ];
        for flag in flags {
            put(f64::from(u8::from(flag)));
        }
        [self.leads, self.shield.unwrap_or(-1.0), self.warm_up, self.angle, self.radius.unwrap_or(-1.0), self.neutral]
            .into_iter()
            .for_each(&mut put);
        for level in self.stages.iter().flatten() {
            [level.time, level.share].into_iter().for_each(&mut put);
        }
        key
    }
}

fn full_power() -> Vec<Stage> {
    vec![Stage { level: 1.0, duration: 0.0 }]
}

pub(super) fn stage(level: &Level) -> Stage {
    Stage { level: level.share, duration: level.time }
}

/// Stages whose last one is stretched so that they take `total` s together.
fn stretched(stages: &[Stage], total: f64) -> Vec<Level> {
    let mut levels: Vec<Level> =
        stages.iter().map(|stage| Level { time: stage.duration, share: stage.level }).collect();
    if let Some((last, before)) = levels.split_last_mut() {
        last.time = (total - before.iter().map(|level| level.time).sum::<f64>()).max(0.0);
    }
    levels.retain(|level| level.time > 0.0);
    levels
}

/// What the heat needs to know of a material.
struct MaterialHeat {
    conductivity: Known,
    /// The table, and by which share it may be off.
    specific_heat: (Table, Known),
    softened: Known,
    forming: Known,
    ceiling: Known,
    release: Known,
}

impl MaterialHeat {
    /// All of it, or the entry for want of which nothing can be said.
    fn new(material: &Material) -> Result<Self, &'static str> {
        let needed =
            |value: &Option<Given<Bounded>>, entry| value.as_ref().map(|given| known(&given.value)).ok_or(entry);
        Ok(Self {
            conductivity: needed(&material.conductivity, "conductivity")?,
            specific_heat: specific_heat(&material.specific_heat).ok_or("specific_heat")?,
            softened: needed(&material.softened, "softened")?,
            forming: needed(&material.forming, "forming")?,
            ceiling: needed(&material.ceiling, "ceiling")?,
            release: needed(&material.release, "release")?,
        })
    }
}

/// The entry for want of which nothing can be said of a material's heat.
pub fn unknown_entry(material: &Material) -> Option<&'static str> {
    MaterialHeat::new(material).err()
}

fn known(value: &Bounded) -> Known {
    Known::from(value)
}

fn absorptance(colour: Colour) -> Known {
    match colour {
        Colour::Clear => coupling::ABSORPTANCE_CLEAR,
        Colour::Black => coupling::ABSORPTANCE_BLACK,
        // White and other sheet is opaque, but what it takes in the near infrared is not known: anything between.
        Colour::White | Colour::Other => {
            let (clear, black) = (coupling::ABSORPTANCE_CLEAR, coupling::ABSORPTANCE_BLACK);
            Known::between(0.5 * (clear.nominal + black.nominal), clear.low, black.high)
        }
    }
}

/// The table of specific heat, and by which share it may be off; none without points.
fn specific_heat(curve: &Curve) -> Option<(Table, Known)> {
    let points = curve.points.iter().map(|(at, value)| (*at, value.nominal())).collect();
    let table = Table::new(points).ok()?;
    let ratio = |pick: fn(&Bounded) -> f64| curve.points.iter().map(move |(_, value)| pick(value) / value.nominal());
    let low = ratio(Bounded::low).fold(1.0, f64::min);
    let high = ratio(Bounded::high).fold(1.0, f64::max);
    Some((table, Known::between(1.0, low, high)))
}

/// By which share the hot resistance may be off: what is known of the cold wire and of its hot factor.
fn resistance_spread(electric: &Electric) -> Known {
    let ratio = |pick: fn(&Bounded) -> f64| electric.lines.iter().map(move |line| pick(&line.hot) / line.hot.nominal());
    Known::between(1.0, ratio(Bounded::low).fold(1.0, f64::min), ratio(Bounded::high).fold(1.0, f64::max))
}

/// A lot's thickness: the mean of what was measured, and the range of it.
fn measured_thickness(lot: &Lot) -> Known {
    let count = lot.measured.len().max(1) as f64;
    let mean = lot.measured.iter().map(|given| given.value.nominal()).sum::<f64>() / count;
    let low = lot.measured.iter().map(|given| given.value.low()).fold(mean, f64::min);
    let high = lot.measured.iter().map(|given| given.value.high()).fold(mean, f64::max);
    Known::between(mean, low, high)
}

/// The set time that follows from a window, s.
pub fn computed_set(thermal: &Thermal) -> Option<f64> {
    thermal.window.hold
}

/// Whether the recipe asks for anything that only the window can give.
pub fn needs_window(recipe: &Recipe, bend: usize) -> bool {
    let settings = &recipe.bends[bend];
    matches!(settings.heat, Heat::Computed(_))
        || matches!(settings.set, SetTime::Computed(_))
        || recipe.part.bends[bend].radius == Radius::Free
}
