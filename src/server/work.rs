//! Computes figures on the side: plans, windows and rules, never in the way of what is typed.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use crate::library::{Aid, CacheFolder, Depth, Loaded, Progress, RecipeNote, check_with, notes, offer_uses};
use crate::server::Event;
use crate::server::desk::{Key, Shelf};
use crate::server::placed::Placed;
use crate::text::Span;
use crate::types::Date;

/// Something to be computed.
#[derive(Debug)]
pub struct Job {
    /// Which library.
    pub key: Key,
    /// Which state of it.
    pub revision: u64,
    /// Its texts.
    pub loaded: Arc<Loaded>,
    /// Where other files of it are read.
    pub shelf: Shelf,
    /// The date acceptances are held against.
    pub today: Option<Date>,
    /// Set as soon as nobody waits for it any more.
    pub stale: Arc<AtomicBool>,
}

/// What came of a job.
#[derive(Debug)]
pub struct Computed {
    /// Which library.
    pub key: Key,
    /// Which state of it.
    pub revision: u64,
    /// What was computed; none where that failed, which is a fault of this program.
    pub full: Option<Full>,
}

/// Everything that follows from a library.
#[derive(Debug)]
pub struct Full {
    /// What was found.
    pub findings: Vec<Placed>,
    /// Figures of its recipes.
    pub notes: Vec<RecipeNote>,
}

struct Wanted(Arc<AtomicBool>);

impl Progress for Wanted {
    fn solved(&self, _done: usize, _of: usize) {}

    fn is_wanted(&self) -> bool {
        !self.0.load(Ordering::Relaxed)
    }
}

/// Starts the thread that computes; jobs that are sent are done in turn.
pub fn start(events: Sender<Event>, cache: CacheFolder) -> Sender<Job> {
    let (jobs, inbox) = channel();
    thread::spawn(move || run(&inbox, &events, &cache));
    jobs
}

fn run(jobs: &Receiver<Job>, events: &Sender<Event>, store: &CacheFolder) {
    // Threads of its own: what is typed is checked on others, and never waits behind a bend.
    let pool = rayon::ThreadPoolBuilder::new().build().ok();
    for job in jobs {
        if job.stale.load(Ordering::Relaxed) {
            continue;
        }
        let work = || catch_unwind(AssertUnwindSafe(|| compute(&job, store))).ok();
        let full = match &pool {
            Some(pool) => pool.install(work),
            None => work(),
        };
        if job.stale.load(Ordering::Relaxed) {
            continue;
        }
        if events.send(Event::Computed(Computed { key: job.key, revision: job.revision, full })).is_err() {
            return;
        }
    }
}

fn compute(job: &Job, store: &CacheFolder) -> Full {
    let wanted = Wanted(Arc::clone(&job.stale));
    let aid = Aid { store, progress: &wanted };
    let mut checked = check_with(&job.loaded, Depth::Full, job.today, &aid);
    offer_uses(&job.shelf, &job.loaded, &mut checked);
    let notes = notes(&job.loaded, &checked);
    let findings: Vec<Placed> = checked.findings.into_iter().map(Placed::new).collect();
    // What stands in an open text is sent at each keystroke.
    let is_open = |place: Span| job.loaded.paths.get(&place.file).is_some_and(|path| job.shelf.holds(path));
    findings.iter().filter(|finding| finding.primary().is_some_and(is_open)).for_each(Placed::word);
    Full { findings, notes }
}
