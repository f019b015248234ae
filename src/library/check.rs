use std::collections::{BTreeMap, BTreeSet};

use crate::library::load::Loaded;
use crate::lint::{self, Finding, LibraryView, RecipeView};
use crate::model::{Batch, Builder, Recipe};
use crate::names::{Decl, DeclId, DeclKind, Source, cycles, resolve};
use crate::plan::{
    BatchPlan, PlanFigures, Planned, RecipePlan, Thermals, expectations, expectations_by_kind, plan_batch, plan_recipe,
};
use crate::report::{Class, Diagnostic, sorted};
use crate::text::{FileId, Span};
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
    let files = &loaded.files;
    let sources: Vec<Source<'_>> = loaded
        .parsed
        .iter()
        .enumerate()
        .map(|(index, parsed)| {
            let file = FileId(u32::try_from(index).unwrap_or(u32::MAX));
            Source {
                file,
                tree: &parsed.tree,
                uses: loaded.uses.get(&file).map_or(&[], Vec::as_slice),
                catalogue: index < loaded.catalogue,
            }
        })
        .collect();
    let (names, faults) = resolve(&sources, files);
    let mut errors: Vec<Diagnostic> = loaded.faults.clone();
    errors.extend(loaded.parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()));
    errors.extend(faults);
    errors.extend(cycles(&loaded.uses, files));

    let mut checker = Checker::new(files, &names);
    let mut builder = Builder::new(&mut checker);
    let mut pass = Pass::new(depth);
    for decl in names.decls() {
        pass.declaration(&mut builder, decl);
    }
    let missing = checker.missing.names();
    errors.extend(checker.into_faults());
    if depth == Depth::Full {
        let broken = errors.iter().map(|error| error.primary().file).collect();
        let view = LibraryView { files, names: &names, sources: &sources, broken: &broken };
        let (found, others) = lint::check_library(view);
        pass.add(found);
        errors.extend(others);
    }
    errors.extend(loaded.parsed.iter().flat_map(|parsed| lint::idle_docs(&parsed.tree)));
    let Pass { findings, acceptances, users, mut made, danger, .. } = pass;
    let mut all = errors;
    all.extend(match depth {
        // Without the rules' findings nobody can tell what an acceptance silences.
        Depth::Types => lint::misnamed(&acceptances),
        Depth::Full => lint::apply(findings, &acceptances, |id| users.get(&id).cloned().unwrap_or_default(), today),
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

/// What is gathered on the way through the declarations.
struct Pass {
    depth: Depth,
    findings: Vec<Finding>,
    acceptances: Vec<crate::model::Acceptance>,
    /// The recipes that use a declaration.
    users: BTreeMap<DeclId, Vec<DeclId>>,
    /// Recipes and batches with what they use.
    made: Vec<(Vec<DeclId>, Made)>,
    /// Declarations with a finding of danger.
    danger: BTreeSet<DeclId>,
    /// Solved bends.
    thermals: Thermals,
}

impl Pass {
    fn new(depth: Depth) -> Self {
        Self {
            depth,
            findings: Vec::new(),
            acceptances: Vec::new(),
            users: BTreeMap::new(),
            made: Vec::new(),
            danger: BTreeSet::new(),
            thermals: Thermals::default(),
        }
    }

    fn declaration<'t>(&mut self, builder: &mut Builder<'_, '_, 't>, decl: &Decl<'t>) {
        if decl.catalogue {
            return;
        }
        self.add(lint::check_declaration(decl));
        let id = decl.id;
        match decl.kind {
            DeclKind::Recipe => {
                self.recipe(builder, decl);
                return;
            }
            DeclKind::Batch => {
                builder.checker.header(decl);
                self.batch(builder, decl);
                return;
            }
            DeclKind::Part => {
                let block = builder.check_part(id);
                self.accept(decl, block.as_ref());
                return;
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
            self.accept(decl, builder.block(id).as_ref());
        }
    }

    fn accept(&mut self, decl: &Decl<'_>, block: Option<&CheckedBlock<'_>>) {
        if let Some(block) = block {
            self.acceptances.extend(lint::acceptances(decl.id, block, decl.entry.span));
        }
    }

    fn add(&mut self, findings: Vec<Finding>) {
        let dangerous = findings.iter().filter(|finding| finding.diagnostic.class() == Some(Class::Danger));
        self.danger.extend(dangerous.map(|finding| finding.owner));
        self.findings.extend(findings);
    }

    fn recipe<'t>(&mut self, builder: &mut Builder<'_, '_, 't>, decl: &Decl<'t>) {
        let recipe = builder.recipe(decl.id);
        self.accept(decl, builder.block(decl.id).as_ref());
        if self.depth == Depth::Types {
            if let Some(block) = builder.block(decl.id) {
                expectations_by_kind(builder.checker, Env::of(decl), &block);
            }
            return;
        }
        let planned = recipe.as_ref().map(|recipe| plan_recipe(recipe, None, &mut self.thermals));
        let Planned { plan, windows, electric, faults } = planned.unwrap_or_default();
        builder.checker.faults.extend(faults);
        let uses = recipe.as_ref().map(|recipe| self.uses(decl, recipe)).unwrap_or_default();
        if let Some(recipe) = &recipe {
            self.add(lint::check_recipe(RecipeView {
                recipe,
                plan: plan.as_ref(),
                windows: &windows,
                electric: &electric,
            }));
        }
        let env = Env::of(decl);
        if let Some(block) = builder.block(decl.id) {
            match &plan {
                Some(plan) => expectations(builder.checker, env, &block, &PlanFigures::Recipe(plan)),
                None => expectations_by_kind(builder.checker, env, &block),
            }
        }
        let plan = plan.map(|plan| Plan::Recipe(Box::new(plan)));
        self.made.push((
            uses,
            Made { name: decl.name.clone(), span: decl.name_span, whole: decl.entry.span, plan, blocked: false },
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

    fn batch<'t>(&mut self, builder: &mut Builder<'_, '_, 't>, decl: &Decl<'t>) {
        let batch: Option<Batch> = builder.batch(decl.id);
        self.accept(decl, builder.block(decl.id).as_ref());
        if self.depth == Depth::Types {
            if let Some(block) = builder.block(decl.id) {
                expectations_by_kind(builder.checker, Env::of(decl), &block);
            }
            return;
        }
        if let Some(batch) = &batch {
            self.add(lint::check_batch(batch));
        }
        let (plan, faults) = batch.as_ref().map_or((None, Vec::new()), |batch| plan_batch(batch, &mut self.thermals));
        builder.checker.faults.extend(faults);
        let env = Env::of(decl);
        if let Some(block) = builder.block(decl.id) {
            match &plan {
                Some(plan) => expectations(builder.checker, env, &block, &PlanFigures::Batch(plan)),
                None => expectations_by_kind(builder.checker, env, &block),
            }
        }
        let mut uses = vec![decl.id];
        for run in batch.iter().flat_map(|batch| &batch.runs) {
            uses.extend([run.recipe.id, run.recipe.bench.id]);
        }
        let plan = plan.map(|plan| Plan::Batch(Box::new(plan)));
        self.made.push((
            uses,
            Made { name: decl.name.clone(), span: decl.name_span, whole: decl.entry.span, plan, blocked: false },
        ));
    }
}
