//! The person at the bench: does what the calls ask, in the order of the schedule, and presses when the lamp shows.

use std::collections::{BTreeMap, BTreeSet};

use crate::program::MOST_LANES;
use crate::rehearse::scene::{Deed, Hand, TaskKey};

/// How long the finger stays on the button, ms.
const FINGER: u64 = 60;
/// A press begins so long before its task ends that it counts at the end: contacts must stand still first, ms.
const EARLY: u64 = 20;
/// After a press that did not count, the next one, ms.
const AGAIN: u64 = 500;
/// What the schedule has next is waited for so long, ms; then whatever can be done is done.
const PATIENCE: u64 = 10_000;
/// Nobody swings an arm faster than this, ms.
const FASTEST: u64 = 1_000;
/// An arm arrives so long before the last moment, ms: its switch must stand still first.
const SPARE: u64 = 100;

/// Something that hands are to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    /// What.
    pub key: TaskKey,
    /// How long it takes, ms.
    pub lasts: u64,
    /// Not before, ms.
    pub from: u64,
    /// For a swing: when it must be over, ms.
    pub until: Option<u64>,
}

/// What the person does in a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Does {
    /// Begins.
    Begins(Job),
    /// Is done.
    Ends(Job),
}

/// What the person sees.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sees {
    /// The lamp is lit.
    pub lamp: bool,
    /// When the heat of each lane ends, ms.
    pub heat_ends: [Option<u64>; MOST_LANES],
}

/// One person.
#[derive(Debug, Default)]
pub struct Person {
    deeds: BTreeMap<TaskKey, Deed>,
    left: BTreeSet<(u64, TaskKey)>,
    waiting: Vec<Job>,
    doing: Option<(Job, u64)>,
    /// When the program started.
    zero: u64,
    /// The finger is on the button until then.
    finger: Option<u64>,
    next_press: u64,
    /// The lane whose line warms up: nobody leaves it.
    stays: Option<usize>,
}

impl Person {
    /// Someone who follows a schedule, if there is one.
    pub fn new(deeds: &BTreeMap<TaskKey, Deed>) -> Self {
        let left = deeds.iter().map(|(key, deed)| (deed.start, *key)).collect();
        Self { deeds: deeds.clone(), left, ..Self::default() }
    }

    /// The program starts, and the schedule's clock with it.
    pub fn starts(&mut self, now: u64) {
        self.zero = now;
    }

    /// Something is to be done.
    pub fn asked(&mut self, job: Job) {
        self.waiting.push(job);
    }

    /// A bend was missed: nothing of its part is done any more.
    pub fn give_up(&mut self, lane: usize, run: Option<usize>, part: u64) {
        let other = |key: &TaskKey| key.lane != lane || key.run != run || key.part != part;
        self.waiting.retain(|job| other(&job.key));
        self.left.retain(|(_, key)| other(key));
        self.doing = self.doing.filter(|(job, _)| other(&job.key));
    }

    /// A press has begun a heat in a lane; the job of pressing there is done.
    pub fn pressed(&mut self, lane: usize) -> Option<Job> {
        let presses = |job: &Job| job.key.lane == lane && matches!(job.key.hand, Hand::Press | Hand::Clear);
        let done = self.doing.map(|(job, _)| job).filter(presses);
        if done.is_some() {
            self.doing = None;
        }
        let before = self.waiting.iter().copied().find(presses);
        self.waiting.retain(|job| !presses(job));
        let job = done.or(before);
        if let Some(job) = job {
            self.strike(job.key);
        }
        job
    }

    /// Whether a finger is on the start button.
    pub fn finger(&self) -> bool {
        self.finger.is_some()
    }

    /// Whether the person is pressing for a lane.
    pub fn presses_for(&self) -> Option<usize> {
        let (job, _) = self.doing?;
        matches!(job.key.hand, Hand::Press | Hand::Clear).then_some(job.key.lane)
    }

    /// Stays at a line that warms up.
    pub fn stay(&mut self, lane: usize) {
        self.stays = Some(lane);
    }

    /// Leaves it again.
    pub fn leave(&mut self, lane: usize) {
        self.stays = self.stays.filter(|own| *own != lane);
    }

    /// Nothing more is done, as after a fault.
    pub fn stop(&mut self) {
        *self = Self::default();
    }

    fn strike(&mut self, key: TaskKey) {
        if let Some(deed) = self.deeds.get(&key) {
            self.left.remove(&(deed.start, key));
        }
    }

    /// Lets a tick pass.
    pub fn tick(&mut self, now: u64, sees: &Sees) -> Vec<Does> {
        let mut does = Vec::new();
        if self.finger.is_some_and(|until| now >= until) {
            self.finger = None;
        }
        if self.stays.is_some() {
            return does;
        }
        // Whoever waits for the lamp leaves the button for a bend that is due.
        let due = self.waiting.iter().any(|job| job.key.hand == Hand::Swing && job.from <= now);
        if let Some((job, end)) = self.doing
            && due
            && matches!(job.key.hand, Hand::Press | Hand::Clear)
            && now >= end
        {
            self.waiting.push(Job { lasts: AGAIN, ..job });
            self.doing = None;
            self.finger = None;
        }
        if let Some((job, end)) = self.doing {
            if matches!(job.key.hand, Hand::Press | Hand::Clear) {
                if self.finger.is_none() && now + EARLY >= end && now >= self.next_press && sees.lamp {
                    self.finger = Some(now + FINGER);
                    self.next_press = now + AGAIN;
                }
                return does;
            }
            if now < end {
                return does;
            }
            self.doing = None;
            self.strike(job.key);
            does.push(Does::Ends(job));
        }
        if let Some(job) = self.chosen(now, sees) {
            self.waiting.retain(|other| *other != job);
            let lasts = match job.until {
                Some(until) => until.saturating_sub(now + SPARE).max(FASTEST),
                None => job.lasts,
            };
            self.doing = Some((job, now + lasts));
            does.push(Does::Begins(Job { lasts, ..job }));
        }
        does
    }

    /// What to do next: a bend that is due, else what the schedule has next, else what can be done without missing a bend.
    fn chosen(&self, now: u64, sees: &Sees) -> Option<Job> {
        let mut can: Vec<(u64, &Job)> = self
            .waiting
            .iter()
            .filter(|job| job.from <= now)
            .map(|job| (self.deeds.get(&job.key).map_or(u64::MAX, |deed| deed.start), job))
            .collect();
        // What was asked first is done first; sorting keeps that order.
        can.sort_by_key(|(start, job)| (job.key.hand != Hand::Swing, *start, job.from));
        let (start, first) = can.first()?;
        if first.key.hand == Hand::Swing || self.deeds.is_empty() {
            return Some(**first);
        }
        if let Some((next, key)) = self.left.first() {
            if first.key == *key {
                return (now >= self.zero + *start).then_some(**first);
            }
            if now < self.zero + next + PATIENCE {
                return None;
            }
        }
        // Out of step with the schedule: nothing is begun that would make a bend late.
        let free = can.iter().find(|(_, job)| {
            let others = sees.heat_ends.iter().enumerate().filter(|(lane, _)| *lane != job.key.lane);
            others.filter_map(|(_, end)| *end).all(|end| end < now || end >= now + job.lasts)
        });
        free.map(|(_, job)| **job)
    }
}
