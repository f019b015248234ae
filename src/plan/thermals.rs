//! All bends of a library, each solved once, on all cores.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::iter::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

use crate::model::{Heater, Lot, Recipe};
use crate::names::DeclId;
use crate::physics::section::Solver;
use crate::plan::electric::{Electric, ElectricProblem, electric};
use crate::plan::memo::{NoStore, Store, recall};
use crate::plan::thermal::{Setup, Solved, Thermal, ThermalProblem};

/// Hears how far a long computation has come.
pub trait Progress: Sync {
    /// So much of so much is done.
    fn done(&self, done: usize, of: usize);

    /// Whether anybody still waits for the result. Once nobody does, the rest is left out, and what comes back means
    /// nothing.
    fn is_wanted(&self) -> bool {
        true
    }
}

/// Nobody listens.
impl Progress for () {
    fn done(&self, _done: usize, _of: usize) {}
}

/// A bend whose window will be wanted.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// The recipe, for all of its bends.
    pub recipe: &'a Recipe,
    /// The lot its sheet is taken from.
    pub lot: Option<&'a Lot>,
}

/// Solved bends by their inputs.
type Known = BTreeMap<Vec<u64>, Result<Thermal, ThermalProblem>>;

/// What heaters draw, by heater and nominal temperature of the room (K, bit for bit).
type Drawn = BTreeMap<(DeclId, u64), Result<Electric, ElectricProblem>>;

/// Solves heaters and bends, each once: two like bends have one solution. A clone shares what was solved before. All
/// must be of one library, where a declaration means one heater.
#[derive(Clone, Debug, Default)]
pub struct Thermals {
    solver: Solver,
    shared: Arc<Known>,
    own: Known,
    drawn: Drawn,
}

impl Thermals {
    /// Solves every bend of the recipes that are wanted, on all cores; those that a store keeps are taken from there.
    pub fn solve_all(&mut self, wanted: &[Wanted<'_>], store: &dyn Store, progress: &dyn Progress) {
        let mut heaters: BTreeMap<(DeclId, u64), (&Heater, f64)> = BTreeMap::new();
        for recipe in wanted.iter().map(|wanted| wanted.recipe) {
            let ambient = recipe.ambient.value.nominal();
            let arms = recipe.bends.iter().filter_map(|bend| recipe.bench.arms.get(bend.arm));
            let open = arms.map(|arm| (drawn_key(&arm.heater, ambient), (&arm.heater, ambient)));
            heaters.extend(open.filter(|(key, _)| !self.drawn.contains_key(key)));
        }
        let drawn = heaters.into_par_iter().map(|(key, (heater, ambient))| (key, electric(heater, ambient)));
        self.drawn.extend(drawn.collect::<Vec<_>>());
        let (drawn, shared, own) = (&self.drawn, &self.shared, &self.own);
        let is_open = |key: &Vec<u64>| !shared.contains_key(key) && !own.contains_key(key);
        let gather = |mut open: BTreeMap<Vec<u64>, Setup>, wanted: &Wanted<'_>| {
            open.extend(setups(wanted, drawn).into_iter().filter(|(key, _)| is_open(key)));
            open
        };
        let join = |mut one: BTreeMap<Vec<u64>, Setup>, other| {
            one.extend(other);
            one
        };
        let open = wanted.par_iter().fold(BTreeMap::new, gather).reduce(BTreeMap::new, join);
        let (done, of) = (AtomicUsize::new(0), open.len());
        let solved: Vec<(Vec<u64>, Solved)> = open
            .into_iter()
            .collect::<Vec<_>>()
            .into_par_iter()
            .map_init(Solver::default, |solver, (key, setup)| {
                let solved = progress.is_wanted().then(|| solution(setup, &key, solver, store))?;
                progress.done(done.fetch_add(1, Ordering::Relaxed) + 1, of);
                Some((key, solved))
            })
            .flatten()
            .collect();
        let known = Arc::make_mut(&mut self.shared);
        known.append(&mut self.own);
        known.extend(solved.into_iter().map(|(key, solved)| (key, solved.map_err(ThermalProblem::Physics))));
    }

    /// What a heater draws in a room at `ambient` (K).
    pub fn electric(&mut self, heater: &Heater, ambient: f64) -> Result<Electric, ElectricProblem> {
        self.drawn.entry(drawn_key(heater, ambient)).or_insert_with(|| electric(heater, ambient)).clone()
    }

    /// The window of a bend of a recipe.
    pub fn bend(
        &mut self,
        recipe: &Recipe,
        bend: usize,
        electric: &Electric,
        lot: Option<&Lot>,
    ) -> Result<Thermal, ThermalProblem> {
        let setup = Setup::new(recipe, bend, electric, lot)?;
        let key = setup.key();
        if let Some(known) = self.shared.get(&key).or_else(|| self.own.get(&key)) {
            return known.clone();
        }
        let solved = solution(setup, &key, &mut self.solver, &NoStore).map_err(ThermalProblem::Physics);
        self.own.insert(key, solved.clone());
        solved
    }
}

fn drawn_key(heater: &Heater, ambient: f64) -> (DeclId, u64) {
    (heater.id, ambient.to_bits())
}

/// The bends of a recipe that can be solved, each under its key.
fn setups(wanted: &Wanted<'_>, drawn: &Drawn) -> Vec<(Vec<u64>, Setup)> {
    let Wanted { recipe, lot } = *wanted;
    let setup = |bend: usize| {
        let heater = &recipe.bench.arms.get(recipe.bends.get(bend)?.arm)?.heater;
        let electric = drawn.get(&drawn_key(heater, recipe.ambient.value.nominal()))?.as_ref().ok()?;
        let setup = Setup::new(recipe, bend, electric, lot).ok()?;
        Some((setup.key(), setup))
    };
    (0..recipe.bends.len()).filter_map(setup).collect()
}

/// The solution of a bend: what was kept for exactly these inputs, else computed, and kept.
fn solution(setup: Setup, key: &[u64], solver: &mut Solver, store: &dyn Store) -> Solved {
    recall(store, "bend", &key, || setup.solve(solver))
}
