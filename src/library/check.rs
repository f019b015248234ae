use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};
use rayon::slice::ParallelSlice;

use crate::library::load::Loaded;
use crate::library::look::{Look, Subject, Work, look};
use crate::library::program::image_size;
use crate::lint::{self, Finding, Levels, LibraryView, RecipeView};
use crate::model::{Builder, Recipe};
use crate::names::{Decl, DeclId, DeclKind, Names, cycles, resolve};
use crate::plan::{
    BatchPlan, DeadEnd, NoOrder, NoStore, PlanFigures, Planned, Progress, Recent, RecipePlan, Store, Thermals, Wanted,
    expectations, expectations_by_kind, plan_batch, plan_recipe,
};
use crate::report::{Class, Diagnostic, sorted};
use crate::text::{Files, Span};
use crate::types::{Checker, Common, Date, Env, Found, Missing, MissingName};
use crate::units::SourceId;

/// What a check has found and made.
#[derive(Debug)]
pub struct Checked {
    /// Findings, in their fixed order.
    pub findings: Vec<Diagnostic>,
    /// Recipes and batches, in the order of files and text.
    pub made: Vec<Made>,
    /// Names that mean nothing where they are used, each with a finding.
    pub missing: Vec<MissingName>,
}

/// A recipe or batch, and what came of it.
#[derive(Debug)]
pub struct Made {
    /// Its name.
    pub name: String,
    /// Where its name stands.
    pub span: Span,
    /// The whole declaration.
    pub whole: Span,
    /// Its plan; none where something is missing or wrong, which was reported.
    pub plan: Option<Plan>,
    /// A recipe without an order, and where every way ends.
    pub no_order: Option<(Box<Recipe>, Vec<DeadEnd>)>,
    /// Whether a finding forbids to write anything for it.
    pub blocked: bool,
}

/// What was planned.
#[derive(Debug)]
pub enum Plan {
    /// A recipe.
    Recipe(Box<RecipePlan>),
    /// A batch.
    Batch(Box<BatchPlan>),
}

/// How far a check goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// Syntax, names, units and types: fast enough for every keystroke.
    Types,
    /// Everything that follows as well: plans, windows, expectations and rules.
    Full,
}

/// Checks everything that was loaded. `today` is the date acceptances are held against; none where dates do not
/// count.
pub fn check(loaded: &Loaded, depth: Depth, today: Option<Date>) -> Checked {
    check_with(loaded, depth, today, &Aid { store: &NoStore, progress: &() })
}

/// What makes a check quicker or shorter to wait for, and changes nothing about its result.
#[derive(Clone, Copy)]
pub struct Aid<'a> {
    /// Where solved bends are kept between runs.
    pub store: &'a dyn Store,
    /// Who hears how far it has come.
    pub progress: &'a dyn Progress,
}

/// The same as [`check`], with aids.
pub fn check_with(loaded: &Loaded, depth: Depth, today: Option<Date>, aid: &Aid<'_>) -> Checked {
    check_taking(loaded, depth, today, aid, &mut |made, plan| made.plan = Some(plan))
}

/// So many declarations are looked at and planned before the next ones are: what they are made from would fill the memory,
/// in a large library.
const PORTION: usize = 256;

/// The same as [`check_with`], but that each plan is handed over: only who needs them all must keep them.
pub fn check_taking(
    loaded: &Loaded,
    depth: Depth,
    today: Option<Date>,
    aid: &Aid<'_>,
    take: &mut dyn FnMut(&mut Made, Plan),
) -> Checked {
    let files = &loaded.files;
    let sources = loaded.sources();
    let (names, faults) = resolve(&sources, files);
    let (common, found) = Common::new(files, &names);
    let mut errors = errors_of_files(loaded, faults);
    let mut uses_of_missing = found.missing;
    errors.extend(found.faults);

    let levels = &loaded.settings.levels;
    let decls: Vec<&Decl<'_>> = names.decls().iter().filter(|decl| !decl.catalogue).collect();
    let mut pass = Pass::new(levels);
    let mut planner = Planner::new(aid, &decls);
    let mut missing_in_plans = Vec::new();
    let portion = if depth == Depth::Full { PORTION } else { decls.len().max(1) };
    for decls in decls.chunks(portion) {
        // What is unknown in a declaration comes from what was built with it, so its places are among these.
        let (looks, places) = look_at_all(decls, depth, loaded, &names, &common);
        let mut pending = Vec::new();
        for (decl, look) in decls.iter().zip(looks) {
            errors.extend(look.found.faults);
            uses_of_missing.extend(look.found.missing);
            pass.add(look.findings);
            pass.acceptances.extend(look.acceptances);
            pending.extend(look.work.map(|work| Pending { decl, work }));
        }
        if depth == Depth::Full {
            let common = Arc::new(common.with_sources(places));
            let checker = || Checker::with(files, &names, Arc::clone(&common));
            let planned = planner.plan_all(&pending, files, checker);
            for (pending, (outcome, found)) in pending.iter().zip(planned) {
                errors.extend(found.faults);
                missing_in_plans.extend(found.missing);
                pass.planned(pending, outcome, take);
            }
            if !aid.progress.is_wanted() {
                break;
            }
        }
    }
    uses_of_missing.extend(missing_in_plans);
    let mut missing = Missing::default();
    for used in uses_of_missing {
        missing.add(used);
    }
    let missing_names = missing.names();
    errors.extend(missing.into_faults(&names));
    if depth == Depth::Full {
        let broken = errors.iter().map(|error| error.primary().file).collect();
        let view = LibraryView { files, names: &names, sources: &sources, broken: &broken };
        let (found, others) = lint::check_library(view);
        pass.add(found);
        errors.extend(others.into_iter().filter_map(|finding| levels.apply(finding)));
    }
    let Pass { findings, acceptances, users, mut made, danger, .. } = pass;
    let mut all = errors;
    if depth == Depth::Full {
        let users = |id| users.get(&id).cloned().unwrap_or_default();
        all.extend(lint::apply(findings, &acceptances, users, today, levels));
    }
    let findings = sorted(all, files);
    let errors: Vec<Span> = findings.iter().filter(|finding| finding.is_error()).map(Diagnostic::primary).collect();
    for (uses, made) in &mut made {
        made.blocked =
            errors.iter().any(|error| within(*error, made.whole)) || uses.iter().any(|id| danger.contains(id));
    }
    Checked { findings, made: made.into_iter().map(|(_, made)| made).collect(), missing: missing_names }
}

/// What there is against files as a whole: their reading, their syntax, and `faults` of their names.
pub(super) fn errors_of_files(loaded: &Loaded, faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut errors = loaded.faults.clone();
    errors.extend(loaded.parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()));
    errors.extend(faults);
    errors.extend(cycles(&loaded.uses, &loaded.files));
    let idle_docs = loaded.parsed.iter().flat_map(|parsed| lint::idle_docs(&parsed.tree));
    errors.extend(idle_docs.filter_map(|finding| loaded.settings.levels.apply(finding)));
    errors
}

/// Declarations that one core looks at in one go: what they share is built once for all of them.
const IN_ONE_GO: usize = 32;

/// Looks at declarations on all cores; the result is in their order. Also where the unknowns come from.
pub(super) fn look_at_all<'t>(
    decls: &[&Decl<'t>],
    depth: Depth,
    loaded: &Loaded,
    names: &Names<'t>,
    common: &Arc<Common>,
) -> (Vec<Look<'t>>, BTreeMap<SourceId, Span>) {
    let (files, levels) = (&loaded.files, &loaded.settings.levels);
    let start = || Builder::new(Checker::with(files, names, Arc::clone(common)));
    let look_at = |builder: &mut Builder<'_, 't>, decls: &[&Decl<'t>]| {
        let looks: Vec<Look<'t>> = decls.iter().map(|decl| look(builder, decl, depth, files, levels)).collect();
        (looks, std::mem::take(&mut builder.checker.sources))
    };
    let looked: Vec<_> = decls.par_chunks(IN_ONE_GO).map_init(start, look_at).collect();
    let mut all = Vec::with_capacity(decls.len());
    let mut places = BTreeMap::new();
    for (looks, sources) in looked {
        all.extend(looks);
        if depth == Depth::Full {
            places.extend(sources);
        }
    }
    (all, places)
}

fn within(inner: Span, outer: Span) -> bool {
    inner.file == outer.file && inner.start >= outer.start && inner.end <= outer.end
}

/// A recipe or batch that is still to be planned.
struct Pending<'a, 't> {
    decl: &'a Decl<'t>,
    work: Work<'t>,
}

/// What came of planning.
enum Outcome {
    Recipe { plan: Option<Plan>, no_order: Option<NoOrder>, findings: Vec<Finding> },
    Batch { plan: Option<Plan>, findings: Vec<Finding> },
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
    ) -> Vec<(Outcome, Found)> {
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
                return (Outcome::Batch { plan: None, findings: Vec::new() }, Found::default());
            }
            let decl = pending.decl;
            let (mut outcome, faults) = plan(&pending.work.subject, thermals, &self.orders);
            let (Outcome::Recipe { plan, findings, .. } | Outcome::Batch { plan, findings }) = &mut outcome;
            let size = plan.as_ref().and_then(|plan| image_size(files, &decl.name, plan));
            let large =
                size.and_then(|(bytes, controller)| lint::check_program(&decl.name, decl.name_span, bytes, controller));
            findings.extend(large.map(|diagnostic| Finding { diagnostic, owner: decl.id }));
            checker.faults.extend(faults);
            if let Some(block) = &pending.work.block {
                let env = Env::of(decl);
                match plan {
                    Some(Plan::Recipe(plan)) => expectations(checker, env, block, &PlanFigures::Recipe(plan)),
                    Some(Plan::Batch(plan)) => expectations(checker, env, block, &PlanFigures::Batch(plan)),
                    None => expectations_by_kind(checker, env, block),
                }
            }
            (outcome, checker.begin())
        };
        let planned = pending.par_iter().map_init(|| (self.thermals.clone(), checker()), planned).collect();
        self.done += pending.len();
        self.progress.done(self.done, self.of);
        planned
    }
}

fn plan(subject: &Subject, thermals: &mut Thermals, store: &dyn Store) -> (Outcome, Vec<Diagnostic>) {
    match subject {
        Subject::Recipe(None) => (Outcome::Recipe { plan: None, no_order: None, findings: Vec::new() }, Vec::new()),
        Subject::Recipe(Some(recipe)) => {
            let Planned { plan, windows, electric, no_order, faults } = plan_recipe(recipe, None, thermals, store);
            let findings = lint::check_recipe(RecipeView {
                recipe,
                plan: plan.as_ref(),
                windows: &windows,
                electric: &electric,
                no_order: no_order.as_ref(),
            });
            // Windows and currents stand in the plan as well; of a whole library they would fill the memory.
            let plan = plan.map(|plan| Plan::Recipe(Box::new(plan)));
            (Outcome::Recipe { plan, no_order, findings }, faults)
        }
        Subject::Batch(batch) => {
            let (plan, faults) = batch.as_ref().map_or((None, Vec::new()), |batch| plan_batch(batch, thermals, store));
            let findings = batch.iter().flat_map(|batch| lint::check_batch(batch, plan.as_ref())).collect();
            (Outcome::Batch { plan: plan.map(|plan| Plan::Batch(Box::new(plan))), findings }, faults)
        }
    }
}

/// What is gathered on the way through the declarations.
struct Pass<'l> {
    levels: &'l Levels,
    findings: Vec<Finding>,
    acceptances: Vec<crate::model::Acceptance>,
    /// The recipes that use a declaration.
    users: BTreeMap<DeclId, Vec<DeclId>>,
    /// Recipes and batches with what they use.
    made: Vec<(Vec<DeclId>, Made)>,
    /// Declarations with a finding of danger.
    danger: BTreeSet<DeclId>,
}

impl<'l> Pass<'l> {
    fn new(levels: &'l Levels) -> Self {
        Self {
            levels,
            findings: Vec::new(),
            acceptances: Vec::new(),
            users: BTreeMap::new(),
            made: Vec::new(),
            danger: BTreeSet::new(),
        }
    }

    fn add(&mut self, findings: Vec<Finding>) {
        for Finding { diagnostic, owner } in findings {
            let Some(diagnostic) = self.levels.apply(diagnostic) else { continue };
            if diagnostic.class() == Some(Class::Danger) {
                self.danger.insert(owner);
            }
            self.findings.push(Finding { diagnostic, owner });
        }
    }

    /// Takes in what came of planning.
    fn planned(&mut self, pending: &Pending<'_, '_>, outcome: Outcome, take: &mut dyn FnMut(&mut Made, Plan)) {
        let decl = pending.decl;
        let mut dead_ends = None;
        let (uses, plan) = match outcome {
            Outcome::Recipe { plan, no_order, findings } => {
                self.add(findings);
                let uses = match &pending.work.subject {
                    Subject::Recipe(Some(recipe)) => {
                        if let Some(NoOrder::None(ends, _)) = no_order {
                            dead_ends = Some((recipe.clone(), ends));
                        }
                        self.uses(decl, recipe)
                    }
                    _ => Vec::new(),
                };
                (uses, plan)
            }
            Outcome::Batch { plan, findings } => {
                self.add(findings);
                let mut uses = vec![decl.id];
                if let Subject::Batch(Some(batch)) = &pending.work.subject {
                    uses.extend(batch.runs.iter().flat_map(|run| [run.recipe.id, run.recipe.bench.id]));
                }
                (uses, plan)
            }
        };
        let mut made = Made {
            name: decl.name.clone(),
            span: decl.name_span,
            whole: decl.entry.span(),
            plan: None,
            no_order: dead_ends,
            blocked: false,
        };
        if let Some(plan) = plan {
            take(&mut made, plan);
        }
        self.made.push((uses, made));
    }

    /// The recipe itself, its bench and what is in it, so that findings there concern it.
    fn uses(&mut self, decl: &Decl<'_>, recipe: &Recipe) -> Vec<DeclId> {
        let heaters = recipe.bench.arms.iter().flat_map(|arm| [arm.heater.id, arm.heater.supply.id]);
        let mut uses: Vec<DeclId> =
            [decl.id, recipe.part.sheet.id, recipe.bench.id].into_iter().chain(heaters).collect();
        uses.sort_unstable();
        uses.dedup();
        for used in uses.iter().filter(|used| **used != decl.id) {
            self.users.entry(*used).or_default().push(decl.id);
        }
        uses
    }
}
