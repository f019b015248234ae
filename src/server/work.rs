//! Computes figures on the side: plans, windows and rules, never in the way of what is typed.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

use crate::library::{
    Aid, CacheFolder, Depth, Loaded, Made, Plan, Progress, RecipeNote, check_taking, files_of, note, offer_uses,
};
use crate::report::Diagnostic;
use crate::server::Event;
use crate::server::desk::{Key, Shelf};
use crate::server::placed::{Placed, Words};
use crate::text::FileId;
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
    /// Figures of the recipes that can be asked about.
    pub notes: Vec<RecipeNote>,
}

struct Wanted(Arc<AtomicBool>);

impl Progress for Wanted {
    fn done(&self, _done: usize, _of: usize) {}

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
    // Threads of its own, and one fewer than there are cores: what is typed is checked on others, and never waits behind
    // a bend, nor for a core.
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let threads = rayon::ThreadPoolBuilder::new().num_threads(cores.saturating_sub(1).max(1));
    let pool = threads.start_handler(|_| give_way()).build().ok();
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

/// Lets every other thread go before this one, where the system can: one that wakes up for a keystroke would wait for
/// milliseconds, until it is its turn.
#[cfg(target_os = "linux")]
fn give_way() {
    // Where it is not allowed, it only takes longer.
    let _ = rustix::process::setpriority_process(None, 19);
}

#[cfg(not(target_os = "linux"))]
fn give_way() {}

fn compute(job: &Job, store: &CacheFolder) -> Full {
    let wanted = Wanted(Arc::clone(&job.stale));
    let aid = Aid { store, progress: &wanted };
    let near = near(job);
    let mut notes = Vec::new();
    let mut take = |made: &mut Made, plan: Plan| {
        if files_of(made, &plan).iter().any(|file| near.contains(file)) {
            notes.extend(note(&job.loaded, made, &plan));
        }
    };
    let mut checked = check_taking(&job.loaded, Depth::Full, job.today, &aid, &mut take);
    offer_uses(&job.shelf, &job.loaded, &mut checked);
    let open = checked.findings.into_iter().filter(Diagnostic::is_open);
    let mut words = Words::default();
    Full { findings: open.map(|finding| Placed::sharing(finding, &mut words)).collect(), notes }
}

/// The files whose recipes can be asked about: those that are open, and those that they use. Figures of all recipes
/// would fill the memory.
fn near(job: &Job) -> BTreeSet<FileId> {
    let is_open = |file: &FileId| job.loaded.paths.get(file).is_some_and(|path| job.shelf.holds(path));
    let open: BTreeSet<FileId> = job.loaded.paths.keys().copied().filter(is_open).collect();
    let used = open.iter().filter_map(|file| job.loaded.uses.get(file)).flatten().filter_map(|used| used.file);
    used.chain(open.iter().copied()).collect()
}
