//! From a recipe to timed steps: blank, electric figures, poses, order and schedule.
//!
//! Owns what is done when and with which settings, and the figures that `expect` reads. It renders nothing.

mod account;
mod blank;
mod electric;
mod expect;
mod figures;
mod hot_wire;
mod pose;
mod recipe;
mod steps;
mod study;
mod thermal;
mod wording;

pub use account::{
    Account, Basis, Figure, Group, Holds, Input, Limit, LimitLines, Origin, account, unknown_kind, unknown_name,
};
pub use blank::{BendLine, Blank, blank};
pub use electric::{Electric, LineElectric, electric, lead_drop};
pub use expect::{expectations, expectations_by_kind};
pub use figures::PlanFigures;
pub use hot_wire::{HotWire, Taut, hot_wire};
pub use pose::Extent;
pub use recipe::{BatchPlan, BendPlan, Planned, RecipePlan, RunPlan, plan_batch, plan_recipe};
pub use steps::{Action, Change, Step};
pub use study::{Ends, Studies, Study, Trace};
pub use thermal::{HORIZON, Thermal, ThermalProblem, Thermals, VOID_CELSIUS, unknown_entry, with_bend};
