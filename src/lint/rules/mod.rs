//! One file for each rule, with its page beside it.

pub mod bends_too_close;
mod better;
pub mod blank_too_large;
pub mod cold_start;
pub mod collision;
pub mod continuous_overload;
pub mod duplicate_recipe;
pub mod early_unclamp;
pub mod fence_out_of_reach;
pub mod film_in_heat;
pub mod fire_heat;
pub mod fuse_too_large;
pub mod fuse_too_small;
pub mod gap_too_small;
pub mod heat_beyond_limit;
pub mod heated_inside;
pub mod hot_stack;
pub mod idle_acceptance;
pub mod idle_doc;
pub mod lead_drop;
pub mod lead_too_thin;
pub mod leg_too_short;
pub mod line_power_off_practice;
pub mod long_line_bow;
pub mod missing_arm_switch;
pub mod missing_fuse;
pub mod missing_heat_limit;
pub mod missing_heat_time;
pub mod missing_set_time;
pub mod missing_shield;
pub mod missing_stop_button;
pub mod mixed_unit_systems;
pub mod narrow_heated_zone;
pub mod near_flammable;
pub mod needless_swing_change;
pub mod needless_turn_over;
pub mod no_heat_window;
pub mod no_order;
pub mod no_second_cut_off;
pub mod not_extra_low_voltage;
pub mod one_face_too_thick;
pub mod outside_allowance;
pub mod over_precise;
pub mod overlong_heat;
pub mod pin_clash;
pub mod program_too_large;
pub mod relay_wear;
pub mod shadowed_name;
pub mod short_heat;
pub mod short_set;
mod shown;
pub mod slow_transfer;
pub mod spring_slack;
pub mod spring_too_short;
pub mod stale_acceptance;
pub mod stop_not_hardwired;
pub mod supply_overload;
pub mod thin_margin;
pub mod tight_radius;
pub mod unattended_heat;
pub mod uncalibrated_heater;
pub mod undocumented_part;
pub mod undried_sheet;
pub mod uneven_bends;
pub mod unproved_window;
pub mod unsourced_material;
pub mod unused_name;
mod springs;
mod unsaid;
mod walk;
mod window;
pub mod wire_sag;
pub mod wire_short_of_sheet;
pub mod wire_stress;
pub mod wire_too_hot;

use crate::lint::run::{BenchUse, LibraryView, RecipeView};
use crate::model::Batch;
use crate::names::{Decl, DeclId};
use crate::plan::BatchPlan;
use crate::report::Diagnostic;

/// Findings, each with the declaration it belongs to, if any.
pub type Owned = Vec<(Option<DeclId>, Diagnostic)>;

/// How a rule is run.
#[derive(Debug)]
pub enum Check {
    /// On each recipe.
    Recipe(fn(RecipeView<'_>, &mut Vec<Diagnostic>)),
    /// On each bench.
    Bench(fn(BenchUse<'_>, &mut Vec<Diagnostic>)),
    /// On each bench and on each recipe.
    Both(fn(BenchUse<'_>, &mut Vec<Diagnostic>), fn(RecipeView<'_>, &mut Vec<Diagnostic>)),
    /// On each batch.
    Batch(fn(&Batch, &mut Vec<Diagnostic>)),
    /// On the schedule of each batch.
    Schedule(fn(&BatchPlan, &mut Vec<Diagnostic>)),
    /// On all that was loaded, as it is written; each finding with the declaration it belongs to, if any.
    Library(fn(LibraryView<'_, '_>, &mut Owned)),
    /// On each declaration as it is written.
    Declaration(fn(&Decl<'_>, &mut Vec<Diagnostic>)),
    /// With the acceptances themselves.
    Acceptance,
    /// With the timing program of each recipe and batch.
    Program,
    /// With the tree of each file.
    Tree,
}
