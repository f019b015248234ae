//! Checks from one end to the other: what comes of each declaration, and what follows from all of them together.

use crate::library::io::Io;
use crate::library::load::Loaded;
use crate::library::outcome::{Library, outcomes};
use crate::library::whole::{Whole, errors_of_files};
use crate::model::Recipe;
use crate::names::{Decl, DeclId, resolve};
use crate::plan::{BatchPlan, DeadEnd, NoStore, Progress, RecipePlan, Store};
use crate::report::{Diagnostic, Kept};
use crate::text::Span;
use crate::types::{Common, Date, Found};

/// What a check has found and made.
#[derive(Debug)]
pub struct Checked<F = Diagnostic, M = Made> {
    /// Findings, in their fixed order.
    pub findings: Vec<F>,
    /// Recipes and batches, in the order of files and text.
    pub made: Vec<M>,
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
    check_with(loaded, depth, today, &Aid::NONE)
}

/// What makes a check quicker, shorter to wait for or its messages more helpful.
#[derive(Clone, Copy)]
pub struct Aid<'a> {
    /// Where solved bends are kept between runs.
    pub store: &'a dyn Store,
    /// Who hears how far it has come.
    pub progress: &'a dyn Progress,
    /// Where a file may lie that declares a name which is missing: messages then offer to use it.
    pub shelf: Option<&'a dyn Io>,
}

impl Aid<'_> {
    /// Without any.
    pub const NONE: Self = Self { store: &NoStore, progress: &(), shelf: None };
}

/// The same as [`check`], with aids.
pub fn check_with(loaded: &Loaded, depth: Depth, today: Option<Date>, aid: &Aid<'_>) -> Checked {
    check_taking(loaded, depth, today, aid, &mut AsTheyAre { plans: true })
}

/// Takes what a check makes, as it is made: only who needs all of it must keep it.
pub trait Taker {
    /// What is kept of a finding.
    type Finding: Kept;
    /// What is kept of a recipe or batch.
    type Made;
    /// Takes a finding.
    fn finding(&mut self, finding: Diagnostic) -> Self::Finding;
    /// Takes a recipe or batch.
    fn made(&mut self, made: Made) -> Self::Made;
    /// Hears in the end which number its declaration has, and whether a finding forbids to write anything for it.
    fn ended(&mut self, made: Self::Made, declaration: DeclId, blocked: bool) -> Self::Made;
}

/// Keeps findings and what is made as they are.
#[derive(Clone, Copy, Debug)]
pub struct AsTheyAre {
    /// Whether plans as well: in a large library they would fill the memory.
    pub plans: bool,
}

impl Taker for AsTheyAre {
    type Finding = Diagnostic;
    type Made = Made;

    fn finding(&mut self, finding: Diagnostic) -> Diagnostic {
        finding
    }

    fn made(&mut self, made: Made) -> Made {
        let plan = made.plan.filter(|_| self.plans);
        Made { plan, ..made }
    }

    fn ended(&mut self, made: Made, _declaration: DeclId, blocked: bool) -> Made {
        Made { blocked, ..made }
    }
}

/// The same as [`check_with`], but that what is found and made is handed over.
pub fn check_taking<T: Taker>(
    loaded: &Loaded,
    depth: Depth,
    today: Option<Date>,
    aid: &Aid<'_>,
    taker: &mut T,
) -> Checked<T::Finding, T::Made> {
    let files = &loaded.files;
    let sources = loaded.sources();
    let (names, faults) = resolve(&sources, files);
    let (common, found) = Common::new(files, &names);
    let library = Library { loaded, names: &names, common: &common };
    let decls: Vec<&Decl<'_>> = names.decls().iter().filter(|decl| !decl.catalogue).collect();
    let mut whole = Whole::new(library, &sources, taker);
    whole.found(Found { faults: errors_of_files(loaded, faults), missing: Vec::new() });
    whole.found(found);
    outcomes(library, &decls, depth, aid, &mut |decl, outcome| whole.take(decl, outcome));
    whole.conclude(depth, today, aid)
}
