//! One file for each rule, with its page beside it.

mod better;
pub mod collision;
pub mod continuous_overload;
pub mod fence_out_of_reach;
pub mod fire_heat;
pub mod heat_beyond_limit;
pub mod hot_stack;
pub mod idle_acceptance;
pub mod idle_doc;
pub mod leg_too_short;
pub mod missing_fuse;
pub mod missing_heat_limit;
pub mod missing_heat_time;
pub mod missing_set_time;
pub mod missing_shield;
pub mod missing_stop_button;
pub mod needless_swing_change;
pub mod needless_turn_over;
pub mod no_heat_window;
pub mod no_order;
pub mod not_extra_low_voltage;
pub mod outside_allowance;
pub mod overlong_heat;
pub mod short_heat;
pub mod short_set;
pub mod stale_acceptance;
pub mod stop_not_hardwired;
pub mod supply_overload;
pub mod uncalibrated_heater;
pub mod undocumented_part;
pub mod unproved_window;
mod window;
pub mod wire_too_hot;

use crate::lint::run::{BenchUse, RecipeView};
use crate::names::Decl;
use crate::report::Diagnostic;

/// How a rule is run.
#[derive(Debug)]
pub enum Check {
    /// On each recipe.
    Recipe(fn(RecipeView<'_>, &mut Vec<Diagnostic>)),
    /// On each bench.
    Bench(fn(BenchUse<'_>, &mut Vec<Diagnostic>)),
    /// On each declaration as it is written.
    Declaration(fn(&Decl<'_>, &mut Vec<Diagnostic>)),
    /// With the acceptances themselves.
    Acceptance,
    /// With the tree of each file.
    Tree,
}
