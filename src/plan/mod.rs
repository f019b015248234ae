//! From a recipe to timed steps: blank, electric figures, poses, order and schedule.
//!
//! Owns what is done when and with which settings, and the figures that `expect` reads. It renders nothing.

mod blank;
mod electric;
mod expect;
mod figures;
mod pose;
mod recipe;
mod steps;
mod thermal;
mod wording;

pub use blank::{BendLine, Blank};
pub use electric::{Electric, LineElectric};
pub use expect::{expectations, expectations_by_kind};
pub use figures::PlanFigures;
pub use pose::Extent;
pub use recipe::{BatchPlan, BendPlan, Planned, RecipePlan, RunPlan, plan_batch, plan_recipe};
pub use steps::{Action, Step};
pub use thermal::{HORIZON, Thermal, ThermalProblem, Thermals};
