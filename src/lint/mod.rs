//! Rules: what is unsafe, inconsistent or wasteful in a recipe that is otherwise sound.
//!
//! Owns the registry of all rules, one file for each rule that is built, and acceptance. Its findings are the
//! same [`Diagnostic`](crate::report::Diagnostic) as everybody's.

mod accept;
mod levels;
mod registry;
mod rules;
mod run;

pub use accept::{acceptances, apply, misnamed};
pub use levels::{Level, Levels, groups};
#[doc(hidden)]
pub use registry::without;
pub use registry::{RULES, Rule, rule, rule_infos};
pub use rules::Check;
pub use rules::program_too_large::check as check_program;
pub use run::{
    BenchUse, Finding, LibraryView, RecipeView, UsedHeater, check_batch, check_bench, check_declaration, check_library,
    check_recipe, idle_docs,
};
