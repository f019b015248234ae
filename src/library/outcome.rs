//! What comes of one declaration: it is looked at, planned, and judged by the rules that look at nothing else. That hangs
//! only on the declaration and what it names.

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use rayon::slice::ParallelSlice;

use crate::library::check::{Aid, Depth, Made, Plan};
use crate::library::load::Loaded;
use crate::library::look::{Look, Subject, Work, look};
use crate::library::program::image_size;
use crate::lint::{self, RecipeView};
use crate::model::{Acceptance, Batch, Builder, Recipe};
use crate::names::{Decl, DeclId, DeclKind, Names};
use crate::plan::{
    DeadEnd, NoOrder, PlanFigures, Planned, Progress, Recent, Store, Thermals, Wanted, expectations,
    expectations_by_kind, plan_batch, plan_recipe,
};
use crate::report::Diagnostic;
use crate::text::{Files, Span};
use crate::types::{Checker, Common, Env, Found};
use crate::units::SourceId;

/// What declarations are checked with.
#[derive(Clone, Copy)]
pub(super) struct Library<'a, 't> {
    /// Texts and trees.
    pub loaded: &'a Loaded,
    /// What the names mean.
    pub names: &'a Names<'t>,
    /// What was computed before.
    pub common: &'a Arc<Common>,
}

/// What came of a declaration.
#[derive(Debug, Default)]
pub(super) struct Outcome {
    /// Errors, and names that mean nothing.
    pub found: Found,
    /// What the rules find in it, at the levels that they have of themselves.
    pub findings: Vec<Diagnostic>,
    /// What it accepts.
    pub acceptances: Vec<Acceptance>,
    /// A recipe or batch itself, and what it is made with, so that findings there concern it.
    pub uses: Vec<DeclId>,
    /// A recipe or batch.
    pub made: Option<Made>,
}

/// So many declarations are looked at and planned before the next ones are: what they are made from would fill the memory,
/// in a large library.
const PORTION: usize = 64;

/// What comes of each of these declarations, in their order. Where nobody wants it any more, the rest is left out.
pub(super) fn outcomes<'t>(
    library: Library<'_, 't>,
    decls: &[&Decl<'t>],
    depth: Depth,
    aid: &Aid<'_>,
    each: &mut dyn FnMut(&Decl<'t>, Outcome),
) {
    let mut planner = Planner::new(aid, decls);
    let portion = if depth == Depth::Full { PORTION } else { decls.len().max(1) };
    for decls in decls.chunks(portion) {
        // What is unknown in a declaration comes from what was built with it, so its places are among these.
        let (looks, places) = look_at_all(library, decls, depth);
        let mut pending = Vec::new();
        let mut outcomes = Vec::with_capacity(decls.len());
        for (decl, Look { found, findings, acceptances, work }) in decls.iter().zip(looks) {
            if let Some(work) = work {
                pending.push(Pending { decl, work, at: outcomes.len() });
            }
            outcomes.push(Outcome { found, findings, acceptances, ..Outcome::default() });
        }
        if depth == Depth::Full {
            let common = Arc::new(library.common.with_sources(places));
            let checker = || Checker::with(&library.loaded.files, library.names, Arc::clone(&common));
            let planned = planner.plan_all(&pending, &library.loaded.files, checker);
            if !aid.progress.is_wanted() {
                return;
            }
            for (pending, planned) in pending.iter().zip(planned) {
                if let Some(outcome) = outcomes.get_mut(pending.at) {
                    outcome.take_in(pending, planned);
                }
            }
        }
        for (decl, outcome) in decls.iter().zip(outcomes) {
            each(decl, outcome);
        }
    }
}

impl Outcome {
    fn take_in(&mut self, pending: &Pending<'_, '_>, planned: Ended) {
        let Ended { plan, no_order, findings, found } = planned;
        self.found.extend(found);
        self.findings.extend(findings);
        self.uses = pending.uses();
        let decl = pending.decl;
        self.made = Some(Made {
            name: decl.name.clone(),
            span: decl.name_span,
            whole: decl.entry.span(),
            plan,
            no_order,
            blocked: false,
        });
    }
}

/// Declarations that one core looks at in one go: what they share is built once for all of them, and in a large library
/// goes before the memory is full of it.
const IN_ONE_GO: usize = 64;

/// Looks at declarations on all cores; the result is in their order. Also where the unknowns come from.
pub(super) fn look_at_all<'t>(
    library: Library<'_, 't>,
    decls: &[&Decl<'t>],
    depth: Depth,
) -> (Vec<Look<'t>>, BTreeMap<SourceId, Span>) {
    let (files, levels) = (&library.loaded.files, &library.loaded.settings.levels);
    let look_at = |decls: &[&Decl<'t>]| {
        let mut builder = Builder::new(Checker::with(files, library.names, Arc::clone(library.common)));
        let looks: Vec<Look<'t>> = decls.iter().map(|decl| look(&mut builder, decl, depth, files, levels)).collect();
        // Only who plans asks for places, and of a whole library they fill the memory.
        let places = if depth == Depth::Full { builder.checker.sources } else { BTreeMap::new() };
        (looks, places)
    };
    // After a keystroke there are few: to wake other threads for them would take longer than to look at them.
    let looked: Vec<_> = if decls.len() <= IN_ONE_GO {
        vec![look_at(decls)]
    } else {
        decls.par_chunks(IN_ONE_GO).map(look_at).collect()
    };
    let mut all = Vec::with_capacity(decls.len());
    let mut places = BTreeMap::new();
    for (looks, of_these) in looked {
        all.extend(looks);
        places.extend(of_these);
    }
    (all, places)
}

/// A recipe or batch that is still to be planned.
struct Pending<'a, 't> {
    decl: &'a Decl<'t>,
    work: Work<'t>,
    /// Which of the declarations of its portion it is.
    at: usize,
}

impl Pending<'_, '_> {
    fn uses(&self) -> Vec<DeclId> {
        let mut uses = vec![self.decl.id];
        match &self.work.subject {
            Subject::Recipe(None) => return Vec::new(),
            Subject::Recipe(Some(recipe)) => {
                let heaters = recipe.bench.arms.iter().flat_map(|arm| [arm.heater.id, arm.heater.supply.id]);
                uses.extend([recipe.part.sheet.id, recipe.bench.id].into_iter().chain(heaters));
            }
            Subject::Batch(batch) => {
                let runs = batch.iter().flat_map(|batch| &batch.runs);
                uses.extend(runs.flat_map(|run| [run.recipe.id, run.recipe.bench.id]));
            }
        }
        uses.sort_unstable();
        uses.dedup();
        uses
    }
}

/// What came of planning.
#[derive(Default)]
struct Ended {
    plan: Option<Plan>,
    no_order: Option<(Box<Recipe>, Vec<DeadEnd>)>,
    findings: Vec<Diagnostic>,
    found: Found,
}

/// Plans one portion after the other; what was solved for one is known for the next.
struct Planner<'a> {
    progress: &'a dyn Progress,
    store: &'a dyn Store,
    /// Orders that were judged, in front of the store.
    orders: Recent<'a>,
    thermals: Thermals,
    /// How many were planned, of how many.
    done: usize,
    of: usize,
}

/// Hears how far the bends of one portion are, and tells how far all recipes and batches are: bends take the time.
struct Portion<'a> {
    progress: &'a dyn Progress,
    before: usize,
    these: usize,
    of: usize,
}

impl Progress for Portion<'_> {
    fn done(&self, done: usize, of: usize) {
        self.progress.done(self.before + self.these * done / of.max(1), self.of);
    }

    fn is_wanted(&self) -> bool {
        self.progress.is_wanted()
    }
}

impl<'a> Planner<'a> {
    fn new(aid: &Aid<'a>, decls: &[&Decl<'_>]) -> Self {
        let of = decls.iter().filter(|decl| matches!(decl.kind, DeclKind::Recipe | DeclKind::Batch)).count();
        let orders = Recent::before(aid.store);
        Self { progress: aid.progress, store: aid.store, orders, thermals: Thermals::default(), done: 0, of }
    }

    /// Plans everything on all cores, and holds the plans against what is expected of them. The result is in the order
    /// of what is planned, and each plan depends on nothing but its recipe, so that the number of cores makes no
    /// difference.
    fn plan_all<'n, 't: 'n>(
        &mut self,
        pending: &[Pending<'_, 't>],
        files: &Files,
        checker: impl Fn() -> Checker<'n, 't> + Sync,
    ) -> Vec<Ended> {
        let wanted = pending.iter().flat_map(|pending| match &pending.work.subject {
            Subject::Recipe(recipe) => recipe.iter().map(|recipe| Wanted { recipe, lot: None }).collect::<Vec<_>>(),
            Subject::Batch(batch) => {
                let runs = batch.iter().flat_map(|batch| &batch.runs);
                runs.map(|run| Wanted { recipe: &run.recipe, lot: run.lot.as_ref() }).collect()
            }
        });
        let portion = Portion { progress: self.progress, before: self.done, these: pending.len(), of: self.of };
        self.thermals.solve_all(&wanted.collect::<Vec<_>>(), self.store, &portion);
        let planned = |(thermals, checker): &mut (Thermals, Checker<'n, 't>), pending: &Pending<'_, 't>| {
            if !self.progress.is_wanted() {
                return Ended::default();
            }
            let decl = pending.decl;
            let mut ended = match &pending.work.subject {
                Subject::Recipe(Some(recipe)) => planned_recipe(recipe, thermals, &self.orders),
                Subject::Batch(Some(batch)) => planned_batch(batch, thermals, &self.orders),
                Subject::Recipe(None) | Subject::Batch(None) => Ended::default(),
            };
            let size = ended.plan.as_ref().and_then(|plan| image_size(files, &decl.name, plan));
            let large =
                size.and_then(|(bytes, controller)| lint::check_program(&decl.name, decl.name_span, bytes, controller));
            ended.findings.extend(large);
            if let Some(block) = &pending.work.block {
                let env = Env::of(decl);
                match &ended.plan {
                    Some(Plan::Recipe(plan)) => expectations(checker, env, block, &PlanFigures::Recipe(plan)),
                    Some(Plan::Batch(plan)) => expectations(checker, env, block, &PlanFigures::Batch(plan)),
                    None => expectations_by_kind(checker, env, block),
                }
            }
            ended.found.extend(checker.begin());
            ended
        };
        let planned = pending.par_iter().map_init(|| (self.thermals.clone(), checker()), planned).collect();
        self.done += pending.len();
        self.progress.done(self.done, self.of);
        planned
    }
}

fn planned_recipe(recipe: &Recipe, thermals: &mut Thermals, store: &dyn Store) -> Ended {
    let Planned { plan, windows, electric, no_order, faults } = plan_recipe(recipe, None, thermals, store);
    let findings = lint::check_recipe(RecipeView {
        recipe,
        plan: plan.as_ref(),
        windows: &windows,
        electric: &electric,
        no_order: no_order.as_ref(),
    });
    let no_order = match no_order {
        Some(NoOrder::None(ends, _)) => Some((Box::new(recipe.clone()), ends)),
        _ => None,
    };
    // Windows and currents stand in the plan as well; of a whole library they would fill the memory.
    let plan = plan.map(|plan| Plan::Recipe(Box::new(plan)));
    Ended { plan, no_order, findings, found: Found { faults, ..Found::default() } }
}

fn planned_batch(batch: &Batch, thermals: &mut Thermals, store: &dyn Store) -> Ended {
    let (plan, faults) = plan_batch(batch, thermals, store);
    let findings = lint::check_batch(batch, plan.as_ref());
    let plan = plan.map(|plan| Plan::Batch(Box::new(plan)));
    Ended { plan, no_order: None, findings, found: Found { faults, ..Found::default() } }
}
