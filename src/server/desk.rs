//! The texts that are open, the libraries they belong to, and the call to the check: the one file that knows how what is
//! typed becomes findings.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex};

use lsp_types::Uri;

use crate::library::{
    Disk, Io, Loaded, Meant, Places, Purpose, ReadProblem, RecipeNote, SETTINGS, Session, Walked, meant,
};
use crate::report::Diagnostic;
use crate::server::findings::Findings;
use crate::server::placed::{Placed, Replaced};
use crate::server::work::{Computed, Job, Known};
use crate::text::FileId;
use crate::types::Date;

/// Which files are checked together, just as the command line would check them.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// The sources of the library at this root.
    Library(PathBuf),
    /// One file that is none of a library's sources, with what it uses.
    Alone(PathBuf),
}

/// A text that is open in the editor.
#[derive(Clone, Debug)]
pub struct Open {
    /// As the client calls it.
    pub uri: Uri,
    /// The client's count of its changes.
    pub version: i32,
    /// What stands in it.
    pub text: Arc<String>,
}

/// The files of the disk, with what is open laid over them.
#[derive(Clone, Debug, Default)]
pub struct Shelf {
    texts: Arc<BTreeMap<PathBuf, Arc<String>>>,
}

impl Shelf {
    /// Whether a text is open.
    pub fn holds(&self, path: &Path) -> bool {
        self.texts.contains_key(path)
    }
}

impl Io for Shelf {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        self.texts.get(path).map_or_else(|| Disk.read(path), |text| Ok(text.as_bytes().to_vec()))
    }

    fn has_exactly(&self, path: &Path) -> bool {
        self.texts.contains_key(path) || Disk.has_exactly(path)
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        Disk.recipe_files(folder)
    }

    fn is_folder(&self, path: &Path) -> bool {
        Disk.is_folder(path)
    }

    fn is_file(&self, path: &Path) -> bool {
        self.texts.contains_key(path) || Disk.is_file(path)
    }

    fn walk(&self, folder: &Path) -> Walked {
        Disk.walk(folder)
    }

    fn some_recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        Disk.some_recipe_files(folder)
    }
}

/// Files that are checked together.
#[derive(Debug)]
pub struct Unit {
    /// Counts the states of its texts.
    pub revision: u64,
    /// Its texts.
    pub loaded: Arc<Loaded>,
    /// Where each file is.
    pub files: BTreeMap<PathBuf, FileId>,
    /// What was found.
    pub findings: Findings,
    /// Figures of recipes, as far as they are computed for just these texts.
    pub notes: Arc<Vec<Arc<RecipeNote>>>,
    /// Whether findings and notes are all there is.
    pub complete: bool,
    places: Places,
    sources: Vec<PathBuf>,
    /// What is kept from one check to the next; none where everything is to be read anew.
    session: Option<Session>,
    /// What is known from one computation to the next.
    known: Arc<Mutex<Known>>,
    stale: Arc<AtomicBool>,
}

/// Everything that is open.
#[derive(Debug)]
pub struct Desk {
    open: BTreeMap<PathBuf, Open>,
    shelf: Shelf,
    units: BTreeMap<Key, Unit>,
    jobs: Sender<Job>,
    today: Option<Date>,
    revision: u64,
    dirty: BTreeSet<Key>,
}

impl Desk {
    /// With nothing open; what takes long is sent to `jobs`.
    pub fn new(jobs: Sender<Job>, today: Option<Date>) -> Self {
        Self {
            open: BTreeMap::new(),
            shelf: Shelf::default(),
            units: BTreeMap::new(),
            jobs,
            today,
            revision: 0,
            dirty: BTreeSet::new(),
        }
    }

    /// The open texts by their paths.
    pub fn open(&self) -> &BTreeMap<PathBuf, Open> {
        &self.open
    }

    /// All that is checked together.
    pub fn units(&self) -> &BTreeMap<Key, Unit> {
        &self.units
    }

    /// A text was opened, or opened anew.
    pub fn put(&mut self, path: PathBuf, open: Open) {
        self.open.insert(path, open);
        self.relay();
        self.regroup();
    }

    /// A text was closed: what is on disk counts again.
    pub fn close(&mut self, path: &Path) {
        self.open.remove(path);
        self.relay();
        self.regroup();
    }

    /// A text was changed.
    pub fn change(&mut self, path: &Path, version: i32, text: String, replaced: &[Replaced]) {
        let Some(open) = self.open.get_mut(path) else { return };
        open.version = version;
        open.text = Arc::new(text);
        self.relay();
        for (key, unit) in &mut self.units {
            if let Some(file) = unit.files.get(path) {
                // What is being computed makes room for the check at once.
                unit.stale.store(true, Ordering::Relaxed);
                for step in replaced {
                    unit.findings.move_along(*file, step);
                }
                self.dirty.insert(key.clone());
            } else if path.file_name().is_some_and(|name| name == SETTINGS) {
                unit.session = None;
                self.dirty.insert(key.clone());
            }
        }
    }

    /// Files have changed on disk: which are there, and what is in them.
    pub fn disk_changed(&mut self) {
        self.regroup();
    }

    fn relay(&mut self) {
        let texts = self.open.iter().map(|(path, open)| (path.clone(), Arc::clone(&open.text))).collect();
        self.shelf = Shelf { texts: Arc::new(texts) };
    }

    /// Finds out anew what belongs together, and that all of it has to be looked at.
    fn regroup(&mut self) {
        let mut wanted: BTreeMap<Key, (Places, Vec<PathBuf>)> = BTreeMap::new();
        for path in self.open.keys() {
            let folder = path.parent().unwrap_or(path);
            if let Ok(library) = meant(&self.shelf, folder, &[], false, Purpose::Sources) {
                let Meant { root, files, .. } = library;
                let places = Places { root: root.clone(), shown_from: root.clone() };
                wanted.entry(Key::Library(root)).or_insert((places, files));
            }
        }
        self.units.retain(|key, _| matches!(key, Key::Alone(_)) || wanted.contains_key(key));
        for (key, (places, sources)) in wanted {
            self.look_at(&key, places, sources);
        }
        // What no library takes in, by its sources or what they use, is looked at alone.
        let in_library = |desk: &Self, path: &PathBuf| {
            let mut libraries = desk.units.iter().filter(|unit| matches!(unit.0, Key::Library(_)));
            libraries.any(|(_, unit)| unit.files.contains_key(path))
        };
        let alone: Vec<PathBuf> = self.open.keys().filter(|path| !in_library(self, path)).cloned().collect();
        self.units.retain(|key, _| match key {
            Key::Library(_) => true,
            Key::Alone(path) => alone.contains(path),
        });
        for path in alone {
            let folder = path.parent().unwrap_or(&path).to_owned();
            let Ok(Meant { root, files, .. }) =
                meant(&self.shelf, &folder, std::slice::from_ref(&path), false, Purpose::Sources)
            else {
                continue;
            };
            self.look_at(&Key::Alone(path), Places { root: root.clone(), shown_from: root }, files);
        }
    }

    fn look_at(&mut self, key: &Key, places: Places, sources: Vec<PathBuf>) {
        let unit = self.units.entry(key.clone()).or_insert_with(|| Unit {
            revision: 0,
            loaded: Arc::default(),
            files: BTreeMap::new(),
            findings: Findings::default(),
            notes: Arc::default(),
            complete: false,
            places: places.clone(),
            sources: Vec::new(),
            session: None,
            known: Arc::default(),
            stale: Arc::default(),
        });
        unit.places = places;
        unit.sources = sources;
        unit.session = None;
        self.dirty.insert(key.clone());
        // What it takes in has to be known at once, to tell what stands alone.
        self.check_quickly(key);
    }

    /// Checks what has changed, as far as that is fast. What was checked is returned.
    pub fn check_dirty(&mut self) -> Vec<Key> {
        let keys: Vec<Key> = std::mem::take(&mut self.dirty).into_iter().collect();
        for key in &keys {
            if self.units.get(key).is_some_and(|unit| unit.revision == 0 || !self.is_fresh(unit)) {
                self.check_quickly(key);
            }
        }
        keys
    }

    /// Has everything else computed that follows.
    pub fn compute(&mut self, keys: BTreeSet<Key>) {
        for key in keys {
            let Some(unit) = self.units.get_mut(&key) else { continue };
            unit.stale.store(true, Ordering::Relaxed);
            unit.stale = Arc::default();
            let Some(session) = &mut unit.session else { continue };
            let edits = session.take_edits().unwrap_or_else(|| {
                unit.known = Arc::default();
                Vec::new()
            });
            let job = Job {
                key,
                revision: unit.revision,
                loaded: Arc::clone(&unit.loaded),
                edits,
                looks: session.looks(),
                known: Arc::clone(&unit.known),
                shelf: self.shelf.clone(),
                today: self.today,
                stale: Arc::clone(&unit.stale),
            };
            // Without its thread there are no figures, but everything else goes on.
            let _ = self.jobs.send(job);
        }
    }

    /// Whether a unit was checked with the texts that are open now.
    fn is_fresh(&self, unit: &Unit) -> bool {
        self.open.iter().all(|(path, open)| {
            unit.files.get(path).is_none_or(|file| unit.loaded.files.get(*file).text() == open.text.as_str())
        })
    }

    fn check_quickly(&mut self, key: &Key) {
        let Some(unit) = self.units.get_mut(key) else { return };
        // An edit costs least where nobody else holds on to the texts.
        unit.loaded = Arc::default();
        let session = match &mut unit.session {
            Some(session) => {
                for (path, open) in &self.open {
                    session.edit(path, &open.text);
                }
                session
            }
            none => none.insert(Session::open(&self.shelf, unit.places.clone(), unit.sources.clone()).0),
        };
        let open = session.check(&self.shelf).into_iter().filter(Diagnostic::is_open);
        unit.loaded = Arc::clone(session.loaded());
        self.revision += 1;
        if session.files() != &unit.files {
            let number = |(path, old): (&PathBuf, &FileId)| Some((*old, *session.files().get(path)?));
            let numbers = unit.files.iter().filter_map(number).collect();
            unit.findings.renumber(&numbers);
            unit.files = session.files().clone();
        }
        unit.revision = self.revision;
        unit.findings.take_quick(open.map(Placed::new));
        unit.notes = Arc::default();
        unit.complete = false;
    }

    /// Takes in what was computed; false where the texts have changed since.
    pub fn take_in(&mut self, computed: Computed) -> Option<Key> {
        let unit = self.units.get_mut(&computed.key).filter(|unit| unit.revision == computed.revision)?;
        unit.complete = true;
        if let Some(full) = computed.full {
            unit.findings.take_all(full.findings);
            unit.notes = Arc::new(full.notes);
        }
        Some(computed.key)
    }

    /// What a file is checked with: its library, else on its own, else with what uses it.
    pub fn unit_of(&self, path: &Path) -> Option<(&Key, &Unit)> {
        let holds = |unit: &(&Key, &Unit)| unit.1.files.contains_key(path);
        let is_own = |unit: &(&Key, &Unit)| match unit.0 {
            Key::Library(_) => true,
            Key::Alone(own) => own == path,
        };
        let mut own = self.units.iter().filter(is_own);
        own.find(holds).or_else(|| self.units.iter().find(holds))
    }
}
