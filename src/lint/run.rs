use std::collections::BTreeSet;

use crate::lint::registry::RULES;
use crate::lint::rules::{Check, idle_doc};
use crate::model::{Arm, Batch, Bench, Bend, Heater, Line, Radius, Recipe};
use crate::names::{Decl, DeclId, Names, Source};
use crate::plan::{BatchPlan, Blank, Electric, HotWire, NoOrder, RecipePlan, Thermal, blank, electric, hot_wire};
use crate::report::Diagnostic;
use crate::syntax::Tree;
use crate::text::{FileId, Files};
use crate::units::Known;

/// What was found, and in which declaration, whose acceptances cover it.
#[derive(Clone, Debug)]
pub struct Finding<F> {
    /// What was found.
    pub kept: F,
    /// The declaration it was found in.
    pub owner: DeclId,
}

/// A recipe as the rules see it.
#[derive(Clone, Copy, Debug)]
pub struct RecipeView<'a> {
    /// The recipe.
    pub recipe: &'a Recipe,
    /// Its plan, where it has one.
    pub plan: Option<&'a RecipePlan>,
    /// The window of each bend, where there is one.
    pub windows: &'a [Option<Thermal>],
    /// What the heater of each bend draws, where it can be computed; there can be a figure without a plan.
    pub electric: &'a [Option<Electric>],
    /// Why there is no order, where one was to be found.
    pub no_order: Option<&'a NoOrder>,
}

impl RecipeView<'_> {
    /// The flat blank: that of the plan, else as far as radii are known without one.
    pub fn blank(&self) -> Option<Blank> {
        if let Some(plan) = self.plan {
            return Some(plan.blank.clone());
        }
        let part = &self.recipe.part;
        let radius = |(index, bend): (usize, &Bend)| match bend.radius {
            Radius::Formed(radius) => Some(radius),
            Radius::Free => Some(self.windows.get(index)?.as_ref()?.radius),
        };
        let radii: Option<Vec<f64>> = part.bends.iter().enumerate().map(radius).collect();
        blank(part, &radii?).ok()
    }
}

/// The room in which a bench is judged, K: 20 degC, give or take 10 K (our own choice; recipes narrow it).
const ROOM: Known = Known { nominal: 293.15, low: 283.15, high: 303.15 };

/// A bench as the rules see it.
#[derive(Clone, Copy, Debug)]
pub struct BenchUse<'a> {
    /// The bench.
    pub bench: &'a Bench,
    /// Its heaters, each once, hot and steady at full power; those that cannot be computed are left out.
    pub used: &'a [UsedHeater<'a>],
    /// The room, K.
    pub room: Known,
}

impl<'a> BenchUse<'a> {
    /// The heaters of the bench, each once.
    pub fn heaters(&self) -> impl Iterator<Item = &'a Heater> {
        let arms = &self.bench.arms;
        let first = |(index, arm): &(usize, &Arm)| !arms[..*index].iter().any(|other| other.heater.id == arm.heater.id);
        arms.iter().enumerate().filter(first).map(|(_, arm)| &arm.heater)
    }
}

/// A heater of a bench, hot and steady.
#[derive(Clone, Debug)]
pub struct UsedHeater<'a> {
    /// The heater.
    pub heater: &'a Heater,
    /// What it draws.
    pub electric: Electric,
    /// Its wires, one for each line; none where the alloy lacks a curve.
    pub wires: Vec<Option<HotWire>>,
}

impl UsedHeater<'_> {
    /// Its lines with their hot wires.
    pub fn lines(&self) -> impl Iterator<Item = (&Line, &HotWire)> {
        self.heater.lines.iter().zip(&self.wires).filter_map(|(line, wire)| Some((line, wire.as_ref()?)))
    }
}

/// All that was loaded, as it is written.
#[derive(Clone, Copy, Debug)]
pub struct LibraryView<'a, 't> {
    /// The texts.
    pub files: &'a Files,
    /// The declarations, and what each file sees of them.
    pub names: &'a Names<'t>,
    /// The files with their trees.
    pub sources: &'a [Source<'t>],
    /// Files with an error: what it hides cannot be told, such as a name that is misspelt where it is used.
    pub broken: &'a BTreeSet<FileId>,
}

/// Runs every rule for recipes.
pub fn check_recipe(view: RecipeView<'_>) -> Vec<Diagnostic> {
    run(|check, report| {
        if let Check::Recipe(check) | Check::Both(_, check) = check {
            check(view, report);
        }
    })
}

/// Runs every rule for benches.
pub fn check_bench(bench: &Bench) -> Vec<Diagnostic> {
    let cold = BenchUse { bench, used: &[], room: ROOM };
    let used: Vec<UsedHeater<'_>> = cold.heaters().filter_map(used).collect();
    run(|check, report| {
        if let Check::Bench(check) | Check::Both(check, _) = check {
            check(BenchUse { used: &used, ..cold }, report);
        }
    })
}

fn used(heater: &Heater) -> Option<UsedHeater<'_>> {
    let electric = electric(heater, ROOM.nominal).ok()?;
    let wires = heater.lines.iter().zip(&electric.lines).map(|(line, hot)| hot_wire(heater, line, hot, ROOM)).collect();
    Some(UsedHeater { heater, electric, wires })
}

/// Runs every rule for batches; those for schedules where there is one.
pub fn check_batch(batch: &Batch, plan: Option<&BatchPlan>) -> Vec<Diagnostic> {
    run(|check, report| match (check, plan) {
        (Check::Batch(check), _) => check(batch, report),
        (Check::Schedule(check), Some(plan)) => check(plan, report),
        _ => {}
    })
}

/// Runs every rule that looks at all that was loaded; findings that belong to no declaration have no owner.
pub fn check_library(view: LibraryView<'_, '_>) -> Vec<(Option<DeclId>, Diagnostic)> {
    let mut found = Vec::new();
    for check in RULES.iter().filter(|rule| rule.runs()).map(|rule| &rule.check) {
        if let Check::Library(check) = check {
            check(view, &mut found);
        }
    }
    found
}

/// Runs every rule that looks at a declaration as it is written.
pub fn check_declaration(decl: &Decl<'_>) -> Vec<Diagnostic> {
    run(|check, report| {
        if let Check::Declaration(check) = check {
            check(decl, report);
        }
    })
}

/// Doc comments that stand above nothing.
pub fn idle_docs(tree: &Tree) -> Vec<Diagnostic> {
    let finding = |span: &crate::text::Span| {
        idle_doc::RULE
            .finding(*span, "this doc comment stands above nothing")
            .here("a doc comment belongs to the declaration or entry below it")
            .help("Move it, or make it a plain comment with one `#`.")
    };
    tree.idle_docs.iter().filter(|_| idle_doc::RULE.runs()).map(finding).collect()
}

fn run(mut each: impl FnMut(&Check, &mut Vec<Diagnostic>)) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    for check in RULES.iter().filter(|rule| rule.runs()).map(|rule| &rule.check) {
        each(check, &mut found);
    }
    found
}
