use crate::lint::registry::RULES;
use crate::lint::rules::{Check, idle_doc};
use crate::model::{Bench, Recipe};
use crate::names::{Decl, DeclId};
use crate::plan::{Electric, NoOrder, RecipePlan, Thermal};
use crate::report::Diagnostic;
use crate::syntax::Tree;

/// A finding and the declarations whose acceptance covers it.
#[derive(Clone, Debug)]
pub struct Finding {
    /// What was found.
    pub diagnostic: Diagnostic,
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

/// A bench as the rules see it.
#[derive(Clone, Copy, Debug)]
pub struct BenchUse<'a> {
    /// The bench.
    pub bench: &'a Bench,
}

/// Runs every rule for recipes.
pub fn check_recipe(view: RecipeView<'_>) -> Vec<Finding> {
    run(view.recipe.id, |check, report| {
        if let Check::Recipe(check) = check {
            check(view, report);
        }
    })
}

/// Runs every rule for benches.
pub fn check_bench(id: DeclId, bench: &Bench) -> Vec<Finding> {
    run(id, |check, report| {
        if let Check::Bench(check) = check {
            check(BenchUse { bench }, report);
        }
    })
}

/// Runs every rule that looks at a declaration as it is written.
pub fn check_declaration(decl: &Decl<'_>) -> Vec<Finding> {
    run(decl.id, |check, report| {
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

fn run(owner: DeclId, mut each: impl FnMut(&Check, &mut Vec<Diagnostic>)) -> Vec<Finding> {
    let mut found = Vec::new();
    for check in RULES.iter().filter(|rule| rule.runs()).filter_map(|rule| rule.check.as_ref()) {
        each(check, &mut found);
    }
    found.into_iter().map(|diagnostic| Finding { diagnostic, owner }).collect()
}
