//! The rehearsal itself: tick by tick, controller, person, contacts, wires and supplies.

use crate::physics::section::Solver;
use crate::physics::window::{Bend, Point};
use crate::program::{Controller, InputRole, MOST_LANES, MOST_OUTPUTS, NotLoaded, OutputRole, State};
use crate::rehearse::bench::Heater;
use crate::rehearse::fault::{Condition, Fault, FaultKind, Trouble};
use crate::rehearse::outcome::{Act, Moment, Rehearsal};
use crate::rehearse::person::{Does, Person, Sees};
use crate::rehearse::plant::Plant;
use crate::rehearse::scene::Scene;
use crate::rehearse::track::{Accounts, Heating, Lane};

/// Time from tick to tick, ms.
pub(super) const TICK: u64 = 10;
/// The rehearsal goes on for so long after everything is off, so that one sees it cool, ms.
pub(super) const AFTER: u64 = 30_000;
/// A controller is powered for so long before the program is started, and ticks slowly meanwhile, ms.
const STANDS: u64 = 240_000;
const IDLE_TICK: u64 = 50;
/// A finger is on a button for so long, and off it, ms.
const FINGER: u64 = 100;
/// The longest rehearsal: so many times what the schedule takes, and an hour, ms.
const MOST: (u64, u64) = (3, 3_600_000);

/// A rehearsal that is going on.
pub(super) struct Run<'a> {
    pub scene: &'a Scene,
    pub bends: &'a [Option<Bend<'a>>],
    pub points: &'a [Option<Point>],
    pub controller: Controller,
    pub plant: Plant<'a>,
    pub person: Person,
    pub lanes: [Lane; MOST_LANES],
    pub heating: Vec<Heating>,
    pub commanded: [u8; MOST_OUTPUTS],
    pub outputs: u8,
    pub upsets: Vec<Upset>,
    pub accounts: Accounts<'a>,
    pub solver: Solver,
    /// The simulation's own clock, and when the program was started by it, ms.
    pub now: u64,
    pub start: Option<u64>,
    pub ends_at: Option<u64>,
    pub held_until: u64,
    pub dark_until: Option<u64>,
    pub chatter_until: u64,
    pub late_hands: bool,
    /// The switch that has failed closed, if one has.
    pub closed: Option<Closed>,
    /// How many parts in a row were spoilt.
    pub spoilt_in_a_row: u32,
    /// Rows still to be chosen with the button, and when the controller was first idle.
    row_presses: u64,
    idle_since: Option<u64>,
    pub out: Rehearsal,
}

/// Something that will go wrong.
pub(super) struct Upset {
    pub kind: FaultKind,
    pub output: Option<u8>,
    /// ms after the start.
    pub at: Option<u64>,
    pub name: String,
    pub done: bool,
}

/// A switch that has failed closed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Closed {
    pub output: u8,
    /// Since when current has flowed that the program does not want, ms.
    pub since: Option<u64>,
    /// The longest that it did, ms.
    pub longest: u64,
}

/// Rehearses a program. Fails, in words, if the controller does not take it or a fault makes no sense on this bench.
pub fn rehearse(scene: &Scene, faults: &[Fault]) -> Result<Rehearsal, String> {
    let bends: Vec<Option<Bend<'_>>> =
        scene.bends.iter().map(|bend| Some(bend.model.as_ref()?.bend(bend.stages.clone()))).collect();
    let points: Vec<Option<Point>> = bends.iter().map(|bend| bend.as_ref().map(|bend| point(bend, faults))).collect();
    let mut controller = Controller::new(scene.machine.clone());
    controller.load(&scene.image).map_err(refused)?;
    let heaters = scene.heaters.iter().map(|heater| {
        let (bend, point) = bends.get(heater.model?)?.as_ref().zip(points.get(heater.model?)?.as_ref())?;
        Heater::of(&bend.section(point))
    });
    let heaters: Vec<Option<Heater<'_>>> = heaters.collect();
    let wrong_row = faults.iter().any(|fault| fault.kind == Trouble::Fault(FaultKind::WrongRow));
    let row = if wrong_row { 0 } else { scene.row };
    let upsets = faults.iter().filter_map(|fault| upset(scene, fault).transpose()).collect::<Result<Vec<_>, _>>()?;
    let mut run = Run {
        scene,
        bends: &bends,
        points: &points,
        controller,
        plant: Plant::new(&scene.machine, &scene.breaks),
        person: Person::new(&scene.deeds),
        lanes: Default::default(),
        heating: Vec::new(),
        commanded: [0; MOST_OUTPUTS],
        outputs: 0,
        upsets,
        accounts: Accounts::new(scene, heaters),
        solver: Solver::default(),
        now: 0,
        start: None,
        ends_at: None,
        held_until: 0,
        dark_until: None,
        chatter_until: 0,
        late_hands: false,
        closed: None,
        spoilt_in_a_row: 0,
        row_presses: row as u64,
        idle_since: None,
        out: empty(scene, faults, row),
    };
    let most = MOST.0 * scene.total * scene.parts.max(1) + MOST.1;
    run.leak();
    while run.ends_at.is_none_or(|end| run.now < end) && run.now < most {
        run.tick();
    }
    Ok(run.finished())
}

fn empty(scene: &Scene, faults: &[Fault], row: usize) -> Rehearsal {
    Rehearsal {
        name: scene.name.clone(),
        bench: scene.bench.clone(),
        batch: scene.batch,
        faults: faults.iter().map(|fault| fault.name.clone()).collect(),
        row: scene.thicknesses.get(row).map(|thickness| (row + 1, *thickness)),
        ended: String::new(),
        lasts: 0,
        planned: scene.total,
        good: 0,
        spoilt: 0,
        lanes: scene.lanes.clone(),
        moments: Vec::new(),
        bends: Vec::new(),
        heaters: Vec::new(),
        supplies: Vec::new(),
        findings: Vec::new(),
        heater_traces: Vec::new(),
        sheet_traces: Vec::new(),
    }
}

/// The nominal point, with what is otherwise all the time.
fn point(bend: &Bend<'_>, faults: &[Fault]) -> Point {
    let mut point = bend.unknowns.nominal();
    for fault in faults {
        let Trouble::Condition(Condition { unknown, high }) = fault.kind else { continue };
        let known = bend.unknowns.get(unknown);
        if let Some(value) = point.get_mut(unknown as usize) {
            *value = if high { known.high } else { known.low };
        }
    }
    point
}

fn refused(why: NotLoaded) -> String {
    match why {
        NotLoaded::Busy => "the controller is busy".to_owned(),
        NotLoaded::Refused(refusal) => refusal.to_string(),
    }
}

/// What will happen, if it can on this bench.
fn upset(scene: &Scene, fault: &Fault) -> Result<Option<Upset>, String> {
    let Trouble::Fault(kind) = fault.kind else { return Ok(None) };
    if kind == FaultKind::WrongRow {
        return if scene.thicknesses.is_empty() {
            Err("`wrong-row`: the heat times of this program do not hang on the thickness".to_owned())
        } else {
            Ok(None)
        };
    }
    let output = match &fault.arm {
        None => None,
        Some(arm) => match scene.heaters.iter().find(|heater| heater.arm == *arm) {
            Some(heater) => Some(heater.output),
            None => {
                let arms: Vec<&str> = scene.heaters.iter().map(|heater| heater.arm.as_str()).collect();
                return Err(format!("`{}`: no arm `{arm}` is heated; there are {}", fault.name, arms.join(", ")));
            }
        },
    };
    let has = |wanted: fn(InputRole) -> bool| scene.machine.inputs.iter().any(|input| wanted(input.role));
    if kind == FaultKind::GuardOpen && !has(|role| role == InputRole::Guard) {
        return Err(format!("`{}`: the controller has no `guard` input", fault.name));
    }
    let measures = |role| matches!(role, InputRole::HeaterCurrent(_) | InputRole::SupplyCurrent(_));
    if matches!(kind, FaultKind::SensorOpen | FaultKind::SensorStuck) && !has(measures) {
        return Err(format!("`{}`: the controller has no `current` input", fault.name));
    }
    // Who is late is late for the first bend.
    let at = fault.at.or((kind == FaultKind::LateHands).then_some(0));
    Ok(Some(Upset { kind, output, at, name: fault.name.clone(), done: false }))
}

impl Run<'_> {
    /// ms after the program's start; before it, negative.
    pub fn time(&self) -> i64 {
        let ms = |time: u64| i64::try_from(time).unwrap_or(i64::MAX);
        ms(self.now) - ms(self.start.unwrap_or(self.now))
    }

    /// Lets the controller stand idle for some minutes: at power-up it counts as if its heaters had been on before.
    fn leak(&mut self) {
        while self.now < STANDS {
            self.now += IDLE_TICK;
            let now = u32::try_from(self.now).unwrap_or(u32::MAX);
            self.outputs = self.controller.tick(now, self.plant.contacts(self.outputs));
            self.controller.take_events();
        }
    }

    /// Notes something that happens.
    pub fn note(&mut self, who: Act, lane: Option<usize>, lasts: u64, what: String) {
        let time = self.time();
        self.out.moments.push(Moment { time, lasts, lane, who, what });
    }

    fn tick(&mut self) {
        self.now += TICK;
        self.upset_all();
        self.press_buttons();
        let holds = self.now < self.held_until;
        if self.plant.power && !holds {
            // The clock of a controller wraps after seven weeks; no rehearsal is as long.
            let now = u32::try_from(self.now).unwrap_or(u32::MAX);
            self.outputs = self.controller.tick(now, self.plant.contacts(self.outputs));
            for event in self.controller.take_events() {
                self.event(event);
            }
        }
        if !self.plant.power {
            self.outputs = 0;
        }
        let lamp = self.scene.machine.outputs.iter().position(|output| output.role == OutputRole::Lamp);
        let lit = lamp.is_none_or(|lamp| self.outputs & (1 << lamp) != 0);
        let sees = Sees { lamp: lit, heat_ends: std::array::from_fn(|lane| self.lanes[lane].heat_end) };
        for does in self.person.tick(self.now, &sees) {
            match does {
                Does::Begins(job) => self.begins(job),
                Does::Ends(job) => self.ends(job),
            }
            if self.ends_at.is_some_and(|end| end <= self.now) {
                break;
            }
        }
        self.levels();
        self.watch_closed();
        self.accounts.pass(self.now, self.start, self.outputs, &self.plant, self.commanded);
    }

    /// What fingers do: rows and start before the program runs, then what the person does.
    fn press_buttons(&mut self) {
        let chatters = self.now < self.chatter_until;
        self.plant.start = if chatters { (self.now / TICK).is_multiple_of(2) } else { self.person.finger() };
        if self.start.is_some() {
            return;
        }
        if self.controller.state() != State::Idle {
            self.idle_since = None;
            return;
        }
        let since = self.now - *self.idle_since.get_or_insert(self.now);
        let (press, within) = (since / (2 * FINGER), since % (2 * FINGER));
        let on = within >= FINGER;
        self.plant.row = on && press < self.row_presses;
        self.plant.start = on && press == self.row_presses + 1;
    }
}
