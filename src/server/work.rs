//! Computes figures on the side: plans, windows and rules, never in the way of what is typed.

use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

use crate::library::{
    Aid, CacheFolder, Checked, Edited, Loaded, Looks, Made, Progress, RecipeNote, Renewed, Taker, files_of, note,
};
use crate::names::DeclId;
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
    /// What has changed in them since the last job of this library.
    pub edits: Vec<Edited>,
    /// The last look at each declaration.
    pub looks: Looks,
    /// What is known from the last job.
    pub known: Arc<Mutex<Known>>,
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
    pub notes: Vec<Arc<RecipeNote>>,
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
        let mut known = job.known.lock().unwrap_or_else(PoisonError::into_inner);
        let known = &mut *known;
        known.renewed.follow(&job.edits);
        if job.stale.load(Ordering::Relaxed) {
            continue;
        }
        let mut work = || catch_unwind(AssertUnwindSafe(|| compute(&job, store, known))).ok();
        let full = match &pool {
            Some(pool) => pool.install(work),
            None => work(),
        };
        if full.is_none() {
            // What gave up may have left it half done.
            *known = Known::default();
        }
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

fn compute(job: &Job, store: &CacheFolder, known: &mut Known) -> Full {
    let wanted = Wanted(Arc::clone(&job.stale));
    let aid = Aid { store, progress: &wanted, shelf: Some(&job.shelf) };
    let Known { renewed, words } = known;
    let mut taking = Taking { loaded: &job.loaded, near: near(job), words };
    let Checked { findings, made } = renewed.check(&job.loaded, &job.looks, job.today, &aid, &mut taking);
    words.forget_unused();
    Full { findings, notes: made.into_iter().flatten().collect() }
}

/// What is known from one job to the next.
#[derive(Debug, Default)]
pub struct Known {
    renewed: Renewed<Placed, Option<Arc<RecipeNote>>>,
    words: Words,
}

/// Keeps of a check what an editor can ask for.
struct Taking<'a> {
    loaded: &'a Loaded,
    near: BTreeSet<FileId>,
    words: &'a mut Words,
}

impl Taker for Taking<'_> {
    type Finding = Placed;
    type Made = Option<Arc<RecipeNote>>;

    fn finding(&mut self, finding: Diagnostic) -> Placed {
        Placed::sharing(finding, self.words)
    }

    fn made(&mut self, made: Made) -> Option<Arc<RecipeNote>> {
        let plan = made.plan.as_ref()?;
        let is_near = files_of(&made, plan).iter().any(|file| self.near.contains(file));
        if is_near { note(self.loaded, &made, plan).map(Arc::new) } else { None }
    }

    fn ended(&mut self, made: Self::Made, declaration: DeclId, _blocked: bool) -> Self::Made {
        made.map(|mut note| {
            if note.recipe != declaration {
                Arc::make_mut(&mut note).recipe = declaration;
            }
            note
        })
    }
}

/// The files whose recipes can be asked about: those that are open, and those that they use. Figures of all recipes
/// would fill the memory.
fn near(job: &Job) -> BTreeSet<FileId> {
    let is_open = |file: &FileId| job.loaded.paths.get(file).is_some_and(|path| job.shelf.holds(path));
    let open: BTreeSet<FileId> = job.loaded.paths.keys().copied().filter(is_open).collect();
    let used = open.iter().filter_map(|file| job.loaded.uses.get(file)).flatten().filter_map(|used| used.file);
    used.chain(open.iter().copied()).collect()
}
