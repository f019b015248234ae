use std::collections::{BTreeMap, BTreeSet};

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use crate::library::load::Loaded;
use crate::library::program::image_size;
use crate::lint::{self, Finding, Levels, LibraryView, RecipeView};
use crate::model::{Batch, Builder, Recipe};
use crate::names::{Decl, DeclId, DeclKind, cycles, resolve};
use crate::plan::{
    BatchPlan, DeadEnd, NoOrder, NoStore, PlanFigures, Planned, Progress, RecipePlan, Store, Thermals, Wanted,
    expectations, expectations_by_kind, plan_batch, plan_recipe,
};
use crate::report::{Class, Diagnostic, sorted};
use crate::text::{Files, Span};
use crate::types::{CheckedBlock, Checker, Date, Env, MissingName};

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
    let files = &loaded.files;
    let sources = loaded.sources();
    let (names, faults) = resolve(&sources, files);
    let mut errors: Vec<Diagnostic> = loaded.faults.clone();
    errors.extend(loaded.parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()));
    errors.extend(faults);
    errors.extend(cycles(&loaded.uses, files));

    let mut checker = Checker::new(files, &names);
    let mut builder = Builder::new(&mut checker);
    let levels = &loaded.settings.levels;
    let mut pass = Pass::new(depth, levels, files);
    let mut pending = Vec::new();
    for decl in names.decls() {
        pending.extend(pass.declaration(&mut builder, decl));
    }
    for (pending, planned) in pending.iter().zip(plan_all(&pending, files, aid)) {
        pass.planned(&mut builder, pending, planned);
    }
    let missing = checker.missing.names();
    errors.extend(checker.into_faults());
    if depth == Depth::Full {
        let broken = errors.iter().map(|error| error.primary().file).collect();
        let view = LibraryView { files, names: &names, sources: &sources, broken: &broken };
        let (found, others) = lint::check_library(view);
        pass.add(found);
        errors.extend(others.into_iter().filter_map(|finding| levels.apply(finding)));
    }
    let idle_docs = loaded.parsed.iter().flat_map(|parsed| lint::idle_docs(&parsed.tree));
    errors.extend(idle_docs.filter_map(|finding| levels.apply(finding)));
    let Pass { findings, acceptances, users, mut made, danger, .. } = pass;
    let mut all = errors;
    all.extend(match depth {
        // Without the rules' findings nobody can tell what an acceptance silences.
        Depth::Types => lint::misnamed(&acceptances, levels),
        Depth::Full => {
            let users = |id| users.get(&id).cloned().unwrap_or_default();
            lint::apply(findings, &acceptances, users, today, levels)
        }
    });
    let findings = sorted(all, files);
    let errors: Vec<Span> = findings.iter().filter(|finding| finding.is_error()).map(Diagnostic::primary).collect();
    for (uses, made) in &mut made {
        made.blocked =
            errors.iter().any(|error| within(*error, made.whole)) || uses.iter().any(|id| danger.contains(id));
    }
    Checked { findings, made: made.into_iter().map(|(_, made)| made).collect(), missing }
}

fn within(inner: Span, outer: Span) -> bool {
    inner.file == outer.file && inner.start >= outer.start && inner.end <= outer.end
}

/// A recipe or batch that is still to be planned.
struct Pending<'a, 't> {
    decl: &'a Decl<'t>,
    work: Work,
}

enum Work {
    /// None where something is missing or wrong, which was reported.
    Recipe(Option<Box<Recipe>>),
    Batch(Option<Batch>),
}

/// What came of planning.
enum Outcome {
    Recipe { plan: Option<Plan>, no_order: Option<NoOrder>, faults: Vec<Diagnostic>, findings: Vec<Finding> },
    Batch { plan: Option<Plan>, faults: Vec<Diagnostic>, findings: Vec<Finding> },
}

/// Plans everything on all cores. The result is in the order of what is planned, and each plan depends on nothing but
/// its recipe, so that the number of cores makes no difference.
fn plan_all(pending: &[Pending<'_, '_>], files: &Files, aid: &Aid<'_>) -> Vec<Outcome> {
    let wanted = pending.iter().flat_map(|pending| match &pending.work {
        Work::Recipe(recipe) => recipe.iter().map(|recipe| Wanted { recipe, lot: None }).collect::<Vec<_>>(),
        Work::Batch(batch) => {
            let runs = batch.iter().flat_map(|batch| &batch.runs);
            runs.map(|run| Wanted { recipe: &run.recipe, lot: run.lot.as_ref() }).collect()
        }
    });
    let mut thermals = Thermals::default();
    thermals.solve_all(&wanted.collect::<Vec<_>>(), aid.store, aid.progress);
    let works: Vec<(&Work, &str, DeclId, Span)> =
        pending.iter().map(|Pending { decl, work }| (work, decl.name.as_str(), decl.id, decl.name_span)).collect();
    let one = |thermals: &mut Thermals, (work, name, owner, place): &(&Work, &str, DeclId, Span)| {
        if !aid.progress.is_wanted() {
            return Outcome::Batch { plan: None, faults: Vec::new(), findings: Vec::new() };
        }
        let mut outcome = plan(work, thermals);
        let (Outcome::Recipe { plan, findings, .. } | Outcome::Batch { plan, findings, .. }) = &mut outcome;
        let size = plan.as_ref().and_then(|plan| image_size(files, name, plan));
        let large = size.and_then(|(bytes, controller)| lint::check_program(name, *place, bytes, controller));
        findings.extend(large.map(|diagnostic| Finding { diagnostic, owner: *owner }));
        outcome
    };
    works.par_iter().map_init(|| thermals.clone(), one).collect()
}

fn plan(work: &Work, thermals: &mut Thermals) -> Outcome {
    match work {
        Work::Recipe(None) => Outcome::Recipe { plan: None, no_order: None, faults: Vec::new(), findings: Vec::new() },
        Work::Recipe(Some(recipe)) => {
            let Planned { plan, windows, electric, no_order, faults } = plan_recipe(recipe, None, thermals);
            let findings = lint::check_recipe(RecipeView {
                recipe,
                plan: plan.as_ref(),
                windows: &windows,
                electric: &electric,
                no_order: no_order.as_ref(),
            });
            // Windows and currents stand in the plan as well; of a whole library they would fill the memory.
            let plan = plan.map(|plan| Plan::Recipe(Box::new(plan)));
            Outcome::Recipe { plan, no_order, faults, findings }
        }
        Work::Batch(batch) => {
            let (plan, faults) = batch.as_ref().map_or((None, Vec::new()), |batch| plan_batch(batch, thermals));
            let findings = batch.iter().flat_map(|batch| lint::check_batch(batch, plan.as_ref())).collect();
            Outcome::Batch { plan: plan.map(|plan| Plan::Batch(Box::new(plan))), faults, findings }
        }
    }
}

/// What is gathered on the way through the declarations.
struct Pass<'l> {
    depth: Depth,
    levels: &'l Levels,
    files: &'l Files,
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
    fn new(depth: Depth, levels: &'l Levels, files: &'l Files) -> Self {
        Self {
            depth,
            levels,
            files,
            findings: Vec::new(),
            acceptances: Vec::new(),
            users: BTreeMap::new(),
            made: Vec::new(),
            danger: BTreeSet::new(),
        }
    }

    /// Looks at a declaration; what has to be planned is left for later.
    fn declaration<'a, 't>(
        &mut self,
        builder: &mut Builder<'_, '_, 't>,
        decl: &'a Decl<'t>,
    ) -> Option<Pending<'a, 't>> {
        if decl.catalogue {
            return None;
        }
        self.add(lint::check_declaration(decl));
        let id = decl.id;
        match decl.kind {
            DeclKind::Recipe => {
                let recipe = builder.recipe(id);
                return self.later(builder, decl, Work::Recipe(recipe.map(Box::new)));
            }
            DeclKind::Batch => {
                builder.checker.header(decl);
                let batch = builder.batch(id);
                return self.later(builder, decl, Work::Batch(batch));
            }
            DeclKind::Part => {
                let block = builder.check_part(id);
                self.accept(decl, block.as_deref());
                return None;
            }
            _ => builder.checker.header(decl),
        }
        match decl.kind {
            DeclKind::Let => {
                builder.checker.let_value(id);
            }
            DeclKind::Material => drop(builder.material(id)),
            DeclKind::Sheet => drop(builder.sheet(id)),
            DeclKind::Lot => drop(builder.lot(id)),
            DeclKind::Wire => drop(builder.wire(id)),
            DeclKind::Supply => drop(builder.supply(id)),
            DeclKind::Heater => drop(builder.heater(id)),
            DeclKind::Controller => drop(builder.controller(id)),
            DeclKind::Bench => {
                if let Some(bench) = builder.bench(id) {
                    self.add(lint::check_bench(id, &bench));
                }
            }
            DeclKind::Alloy | DeclKind::Metal => drop(builder.block(id)),
            DeclKind::Part | DeclKind::Recipe | DeclKind::Batch => {}
        }
        if decl.kind != DeclKind::Let {
            self.accept(decl, builder.block(id).as_deref());
        }
        None
    }

    fn later<'a, 't>(
        &mut self,
        builder: &mut Builder<'_, '_, 't>,
        decl: &'a Decl<'t>,
        work: Work,
    ) -> Option<Pending<'a, 't>> {
        let block = builder.block(decl.id);
        self.accept(decl, block.as_deref());
        if self.depth == Depth::Full {
            return Some(Pending { decl, work });
        }
        if let Some(block) = block {
            expectations_by_kind(builder.checker, Env::of(decl), &block);
        }
        None
    }

    fn accept(&mut self, decl: &Decl<'_>, block: Option<&CheckedBlock<'_>>) {
        if let Some(block) = block {
            self.acceptances.extend(lint::acceptances(decl.id, block, decl.entry.span, self.files));
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
    fn planned<'t>(&mut self, builder: &mut Builder<'_, '_, 't>, pending: &Pending<'_, 't>, outcome: Outcome) {
        let decl = pending.decl;
        let mut dead_ends = None;
        let (uses, plan, faults) = match outcome {
            Outcome::Recipe { plan, no_order, faults, findings } => {
                self.add(findings);
                let uses = match &pending.work {
                    Work::Recipe(Some(recipe)) => {
                        if let Some(NoOrder::None(ends, _)) = no_order {
                            dead_ends = Some((recipe.clone(), ends));
                        }
                        self.uses(decl, recipe)
                    }
                    _ => Vec::new(),
                };
                (uses, plan, faults)
            }
            Outcome::Batch { plan, faults, findings } => {
                self.add(findings);
                let mut uses = vec![decl.id];
                if let Work::Batch(Some(batch)) = &pending.work {
                    uses.extend(batch.runs.iter().flat_map(|run| [run.recipe.id, run.recipe.bench.id]));
                }
                (uses, plan, faults)
            }
        };
        builder.checker.faults.extend(faults);
        if let Some(block) = builder.block(decl.id) {
            let env = Env::of(decl);
            match &plan {
                Some(Plan::Recipe(plan)) => expectations(builder.checker, env, &block, &PlanFigures::Recipe(plan)),
                Some(Plan::Batch(plan)) => expectations(builder.checker, env, &block, &PlanFigures::Batch(plan)),
                None => expectations_by_kind(builder.checker, env, &block),
            }
        }
        self.made.push((
            uses,
            Made {
                name: decl.name.clone(),
                span: decl.name_span,
                whole: decl.entry.span,
                plan,
                no_order: dead_ends,
                blocked: false,
            },
        ));
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
