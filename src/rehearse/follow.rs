//! What the controller logs and the person does, and what follows from it on the bench.

use crate::physics::section::Stage;
use crate::program::{Event, EventKind, FaultCode, MOST_LANES, NO_LANE};
use crate::rehearse::judge;
use crate::rehearse::outcome::{Act, BendRecord, Rehearsal, SheetTrace, Weight};
use crate::rehearse::person::Job;
use crate::rehearse::run::{AFTER, Run};
use crate::rehearse::scene::{Hand, TaskKey};
use crate::rehearse::sheet::{Heat, follow};
use crate::rehearse::track::Heating;

/// A press takes so long, ms, as in the schedule.
const PRESS: u64 = crate::plan::schedule::PRESS;
/// Whoever is late comes so long after the bend was due, ms.
const LATE: u64 = 15_000;
/// So many spoilt parts in a row are enough.
const ENOUGH: u32 = 3;
/// After a warm-up an arm is swung to its stop in so long, where other lanes wait for a press, ms.
const ASIDE: u64 = 500;

impl Run<'_> {
    /// Something that the controller logs.
    pub fn event(&mut self, event: Event) {
        let kind = event.kind;
        if event.lane == NO_LANE {
            return self.whole(kind, event.detail);
        }
        let lane = usize::from(event.lane);
        if lane >= MOST_LANES {
            return;
        }
        match kind {
            EventKind::Call => self.called(lane, event.step),
            EventKind::Begin => self.begun(lane),
            EventKind::On => {
                let [output, level] = event.detail.to_be_bytes();
                if let Some(commanded) = self.commanded.get_mut(usize::from(output)) {
                    *commanded = level;
                }
            }
            EventKind::Off => self.off(lane, event.detail),
            EventKind::Late => self.late(lane),
            EventKind::Scrap => self.scrapped(),
            EventKind::Good => {
                self.out.good += 1;
                self.spoilt_in_a_row = 0;
            }
            _ => {}
        }
    }

    /// An event of no lane.
    fn whole(&mut self, kind: EventKind, detail: u16) {
        match kind {
            EventKind::Start => {
                self.start = Some(self.now);
                self.person.starts(self.now);
                self.note(Act::Controller, None, 0, "the program starts".to_owned());
            }
            EventKind::Done => {
                self.note(Act::Controller, None, 0, "the program is done".to_owned());
                self.ends_at.get_or_insert(self.now + AFTER);
            }
            EventKind::Fault => self.failed(detail),
            _ => {}
        }
    }

    fn failed(&mut self, detail: u16) {
        let code = u8::try_from(detail).ok().and_then(FaultCode::from_number);
        let why = code.map_or_else(|| format!("fault {detail}"), |code| format!("fault {detail}: {}", code.text()));
        self.note(Act::Controller, None, 0, format!("everything off; {why}"));
        let text = format!("everything was switched off: {why}; what was being heated is spoilt");
        self.finding(Weight::Spoilt, text);
        self.commanded = Default::default();
        self.person.stop();
        self.ends_at.get_or_insert(self.now + AFTER);
    }

    /// A part was spoilt. Whoever loses one after the other stops.
    fn scrapped(&mut self) {
        self.out.spoilt += 1;
        self.spoilt_in_a_row += 1;
        if self.spoilt_in_a_row >= ENOUGH {
            let text =
                format!("{ENOUGH} parts in a row were spoilt: whoever stands there stops, and looks for the cause");
            self.finding(Weight::Spoilt, text);
            self.person.stop();
            self.ends_at.get_or_insert(self.now + AFTER);
        }
    }

    /// The controller calls; what for, its row tells.
    fn called(&mut self, lane: usize, row: u16) {
        let spoilt = std::mem::take(&mut self.lanes[lane].late);
        if spoilt {
            return self.ask_to_clear(lane);
        }
        // Who has cleared a spoilt part has pressed.
        self.person.pressed(lane);
        let Some(row) = usize::from(row).checked_sub(1) else {
            let pass = self.lanes[lane].warm_ups;
            self.ask(lane, None, 0, pass, Hand::Press, PRESS);
            return;
        };
        let Some(asked) = self.scene.rows.get(row).cloned() else { return };
        let Some(hand) = asked.hand else { return };
        if hand == Hand::Load {
            let own = &mut self.lanes[lane];
            own.tries = if own.started && own.run == asked.run { own.tries + 1 } else { 0 };
            own.started = true;
            own.run = asked.run;
        }
        self.lanes[lane].pass = asked.pass;
        let part = self.lanes[lane].tries;
        let lasts = asked.lasts[usize::from(part > 0)];
        if hand == Hand::Swing {
            let (off, late) = (self.lanes[lane].off.unwrap_or(self.now), std::mem::take(&mut self.late_hands));
            let key = TaskKey { lane, run: Some(asked.run), part, pass: asked.pass, hand };
            let from = if late { self.now + LATE } else { self.now };
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a short time")]
            let until = off + (self.scene.swing * lasts as f64) as u64;
            self.person.asked(Job { key, lasts, from, until: Some(until) });
            return;
        }
        self.ask(lane, Some(asked.run), part, asked.pass, hand, lasts);
        if matches!(hand, Hand::Load | Hand::Reposition) {
            self.lanes[lane].heat_end = None;
        }
    }

    fn ask(&mut self, lane: usize, run: Option<usize>, part: u64, pass: usize, hand: Hand, lasts: u64) {
        let key = TaskKey { lane, run, part, pass, hand };
        self.person.asked(Job { key, lasts, from: self.now, until: None });
    }

    fn ask_to_clear(&mut self, lane: usize) {
        let own = self.lanes[lane];
        let unload = self.scene.rows.iter().find(|row| row.run == own.run && row.hand == Some(Hand::Unload));
        let lasts = unload.map_or(0, |row| row.lasts[0]) + PRESS;
        self.note(Act::Controller, Some(lane), 0, "calls: too late, the part is spoilt".to_owned());
        self.ask(lane, Some(own.run), own.tries, own.pass, Hand::Clear, lasts);
    }

    /// A press has begun a heat.
    fn begun(&mut self, lane: usize) {
        let meant = self.person.presses_for();
        let job = self.person.pressed(lane);
        // Two sheets that are laid in may be heated in either order.
        let laid_in = self.heating.iter().any(|heating| heating.lane == lane && heating.off.is_none());
        if let Some(meant) = meant.filter(|meant| *meant != lane && !laid_in) {
            let name = |lane: usize| self.scene.lanes.get(lane).cloned().unwrap_or_default();
            let text = format!("a press for {} began the heat of {}", name(meant), name(lane));
            self.finding(Weight::Danger, text);
        }
        let own = self.lanes[lane];
        if !own.started {
            self.lanes[lane].warm_ups += 1;
            self.person.stay(lane);
            self.note(Act::Person, Some(lane), 0, "presses start: warm-up".to_owned());
            return;
        }
        let planned = |bend: &&crate::rehearse::SceneBend| bend.run == own.run && bend.pass == own.pass;
        let sum = |bend: &crate::rehearse::SceneBend| bend.stages.iter().map(|stage| stage.duration).sum::<f64>();
        let heat = self.scene.bends.iter().filter(planned).map(sum).fold(0.0, f64::max);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "heats are minutes")]
        let heat = (heat * 1e3) as u64;
        self.lanes[lane].heat_end = Some(self.now + heat);
        let into = self.now - self.start.unwrap_or(self.now);
        for upset in self.upsets.iter_mut().filter(|upset| upset.at.is_none()) {
            upset.at = Some(into + heat / 2);
        }
        if job.is_some() {
            self.note(Act::Person, Some(lane), 0, format!("presses start: part {}", own.tries + 1));
        }
    }

    fn off(&mut self, lane: usize, output: u16) {
        let index = usize::from(output);
        if let Some(commanded) = self.commanded.get_mut(index) {
            *commanded = 0;
        }
        if !self.lanes[lane].started {
            self.person.leave(lane);
            // An arm at its stop takes no press: the next one is for another lane.
            if self.scene.lanes.len() > 1 && index < self.plant.home.len() {
                self.plant.home[index] = false;
                self.plant.down[index] = true;
                self.note(
                    Act::Person,
                    Some(lane),
                    ASIDE,
                    "swings the arm to its stop, so that it takes no press".to_owned(),
                );
            }
            return;
        }
        self.lanes[lane].off = Some(self.now);
        self.lanes[lane].heat_end = None;
        let now = self.now;
        let scene = self.scene;
        let own = |heating: &&mut Heating| {
            heating.lane == lane && u16::from(scene.bends[heating.bend].output) == output && heating.off.is_none()
        };
        for heating in self.heating.iter_mut().filter(own) {
            heating.off = Some(now);
        }
        self.note(Act::Controller, Some(lane), 0, "heater off; calls to swing".to_owned());
    }

    /// An arm was not seen down in time.
    fn late(&mut self, lane: usize) {
        let own = self.lanes[lane];
        self.lanes[lane].late = true;
        self.person.give_up(lane, Some(own.run), own.tries);
        self.let_go(lane, true);
    }

    /// The person begins something.
    pub fn begins(&mut self, job: Job) {
        let lane = job.key.lane;
        let part = job.key.part + 1;
        match job.key.hand {
            Hand::Press => return,
            Hand::Load | Hand::Reposition => {
                if job.key.hand == Hand::Reposition {
                    self.let_go(lane, false);
                }
                for output in self.outputs_of(lane) {
                    self.plant.down[usize::from(output)] = false;
                    self.plant.home[usize::from(output)] = true;
                }
            }
            Hand::Unload => self.let_go(lane, false),
            Hand::Swing => {
                let now = self.now;
                for heating in self.heating.iter_mut().filter(|heating| heating.lane == lane) {
                    heating.leaves.get_or_insert(now);
                }
                for output in self.heated(lane) {
                    self.plant.home[usize::from(output)] = false;
                }
            }
            Hand::Clear => {}
        }
        self.note(Act::Person, Some(lane), job.lasts, format!("{}: part {part}", job.key.hand.word()));
    }

    /// The person is done with something.
    pub fn ends(&mut self, job: Job) {
        let lane = job.key.lane;
        match job.key.hand {
            Hand::Load | Hand::Reposition => {
                self.lay(lane, job);
                let own = self.lanes[lane];
                self.ask(lane, Some(own.run), own.tries, own.pass, Hand::Press, PRESS);
            }
            Hand::Swing => {
                let now = self.now;
                for output in self.heated(lane) {
                    self.plant.down[usize::from(output)] = true;
                }
                for heating in self.heating.iter_mut().filter(|heating| heating.lane == lane) {
                    heating.down.get_or_insert(now);
                }
            }
            Hand::Unload => {
                self.lanes[lane].out += 1;
                if !self.scene.batch && self.lanes[lane].out >= self.scene.parts {
                    self.ends_at.get_or_insert(self.now);
                    self.person.stop();
                }
            }
            Hand::Press | Hand::Clear => {}
        }
    }

    /// The sheet lies on the heaters of a pass from now on.
    fn lay(&mut self, lane: usize, job: Job) {
        let key = job.key;
        for (bend, own) in self.scene.bends.iter().enumerate() {
            if Some(own.run) == key.run && own.pass == key.pass {
                let room =
                    self.points[bend].map_or(0.0, |point| point[crate::physics::window::Unknown::Ambient as usize]);
                let shields = self.accounts.shields(own.output).unwrap_or([room; 2]);
                self.heating.push(Heating {
                    bend,
                    lane,
                    part: key.part,
                    shields,
                    levels: vec![(self.now, 0.0)],
                    off: None,
                    leaves: None,
                    down: None,
                });
            }
        }
    }

    /// The outputs that a lane heats at any time.
    fn outputs_of(&self, lane: usize) -> Vec<u8> {
        let name = self.scene.lanes.get(lane).cloned().unwrap_or_default();
        let own = self.scene.heaters.iter().filter(|heater| name.split(" + ").any(|arm| arm == heater.arm));
        own.map(|heater| heater.output).collect()
    }

    /// The outputs of the heat that a lane is in.
    fn heated(&self, lane: usize) -> Vec<u8> {
        let own = self.heating.iter().filter(|heating| heating.lane == lane);
        own.map(|heating| self.scene.bends[heating.bend].output).collect()
    }

    /// Notes what share of full power flows in each heater whose sheet is still on it.
    pub fn levels(&mut self) {
        let now = self.now;
        for heating in self.heating.iter_mut().filter(|heating| heating.leaves.is_none()) {
            let output = self.scene.bends[heating.bend].output;
            let index = usize::from(output);
            let supply = self.scene.machine.heater(output).map_or(0, |own| own.supply);
            let live = self.plant.live(self.outputs, supply) && !self.plant.dead[index];
            let share = match (live, self.plant.closed[index]) {
                (false, _) => 0.0,
                (true, true) => 1.0,
                (true, false) => f64::from(self.commanded[index]) / 255.0,
            };
            if heating.levels.last().is_some_and(|(_, last)| (last - share).abs() > 1e-9) {
                heating.levels.push((now, share));
            }
        }
    }

    /// Closes the records of what a lane holds: the arm is let go, the bend was missed, or the rehearsal is over.
    fn let_go(&mut self, lane: usize, missed: bool) {
        let (own, others) = std::mem::take(&mut self.heating).into_iter().partition(|heating| heating.lane == lane);
        self.heating = others;
        let own: Vec<Heating> = own;
        for heating in own {
            self.record(&heating, missed);
        }
    }

    fn record(&mut self, heating: &Heating, missed: bool) {
        let scene = self.scene;
        let Some(bend) = scene.bends.get(heating.bend) else { return };
        let first = heating.levels.iter().position(|(_, share)| *share > 0.0);
        let Some(first) = first else { return };
        let seconds = |ms: u64| ms as f64 / 1e3;
        let began = heating.levels[first].0;
        let down = heating.down.filter(|_| !missed);
        // The transfer counts from the moment at which no heat is given any more.
        let dark = heating.levels.iter().rev().find(|(_, share)| *share <= 0.0).map(|(at, _)| *at);
        let dark = dark.filter(|at| *at > began).or(heating.off);
        let end = match (dark, heating.leaves) {
            (Some(dark), Some(leaves)) => dark.min(leaves),
            (Some(at), None) | (None, Some(at)) => at,
            (None, None) => self.now,
        };
        let ends = heating.levels.iter().skip(first + 1).map(|(at, _)| (*at).min(end)).chain([end]);
        let levels = heating.levels.iter().skip(first).zip(ends);
        let stages = levels.filter(|((at, _), until)| until > at);
        let stages: Vec<Stage> =
            stages.map(|((at, share), until)| Stage { level: *share, duration: seconds(until - at) }).collect();
        let transfer = down.map(|down| seconds(down.saturating_sub(end)));
        let hold = down.map(|down| seconds(self.now - down)).filter(|_| self.ends_at.is_none_or(|at| self.now < at));
        let heat = Heat { stages, shields: heating.shields, transfer, hold: hold.unwrap_or(0.0) };
        let solved = match (&self.bends[heating.bend], &self.points[heating.bend]) {
            (Some(own), Some(point)) => follow(&mut self.solver, own, point, &heat).ok(),
            _ => None,
        };
        let start = self.start.unwrap_or(0);
        let began = i64::try_from(began).unwrap_or(0) - i64::try_from(start).unwrap_or(0);
        let arm = scene.heaters.iter().find(|heater| heater.output == bend.output);
        let arm = arm.map_or(String::new(), |heater| heater.arm.clone());
        let (good, verdict) = judge::bend(solved.as_ref().map(|(ends, _)| ends), transfer, hold);
        if let Some((ends, samples)) = &solved {
            self.out.sheet_traces.push(SheetTrace {
                arm: arm.clone(),
                of: (bend.run, heating.part, bend.label.clone()),
                began,
                samples: samples.clone(),
                limits: [ends.softened, ends.forming, ends.ceiling],
            });
        }
        self.out.bends.push(BendRecord {
            lane: heating.lane,
            run: bend.run,
            part: heating.part,
            bend: bend.label.clone(),
            arm,
            began,
            heat: heat.stages.iter().filter(|stage| stage.level > 0.0).map(|stage| stage.duration).sum(),
            transfer,
            hold,
            window: bend.window,
            sheet: solved.map(|(ends, _)| ends),
            good,
            verdict,
        });
    }

    /// The rehearsal with all that follows from it.
    pub fn finished(mut self) -> Rehearsal {
        for lane in 0..MOST_LANES {
            self.let_go(lane, false);
        }
        self.judge_closed();
        self.out.lasts = self.time();
        let asked = self.upsets.iter().filter(|upset| !upset.done).map(|upset| upset.name.clone());
        for name in asked.collect::<Vec<_>>() {
            self.finding(Weight::Note, format!("`{name}` never came: the rehearsal was over before"));
        }
        if self.ends_at.is_none() {
            let text = "it went on for three times as long as planned and was ended: the lamp never showed that a press \
                        would count, or nobody came";
            self.finding(Weight::Spoilt, text.to_owned());
        }
        let (good, spoilt) = (self.out.good, self.out.spoilt);
        self.out.ended = format!("{good} good, {spoilt} spoilt");
        let (heaters, supplies, traces) = self.accounts.records();
        let mut out = self.out;
        out.findings.extend(judge::findings(&out.bends, &heaters, &supplies));
        out.findings.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
        (out.heaters, out.supplies, out.heater_traces) = (heaters, supplies, traces);
        out
    }
}
