//! From a recipe to timed steps: blank, electric figures, poses, order and schedule.
//!
//! Owns what is done when and with which settings, and the figures that `expect` reads. It renders nothing.

mod account;
mod blank;
mod electric;
mod expect;
mod figures;
mod heat_rows;
mod hot_wire;
mod memo;
mod order;
mod recipe;
pub mod schedule;
mod steps;
mod study;
mod thermal;
mod thermals;
mod wording;

pub use account::{
    Account, Basis, Figure, Group, Holds, Input, Limit, LimitLines, Origin, account, unknown_kind, unknown_name,
};
pub use blank::{BendLine, Blank, BlankProblem, blank};
pub use electric::{Electric, LineElectric, electric, lead_drop};
pub use expect::{expectations, expectations_by_kind};
pub use figures::PlanFigures;
pub use heat_rows::{BendRows, HeatRows, heat_rows};
pub use hot_wire::{HotWire, Taut, hot_wire};
pub use memo::{MODEL, NoStore, Recent, Store};
pub use order::{
    BestOrder, Blocked, Choice, Counts, Dead, DeadEnd, Found, Handling, LaidIn, Lay, NoOrder, Obstacle, Outline, Rules,
    choice_words, choose, end_word, millimetres, search, touch_words,
};
pub use recipe::{BatchPlan, BendPlan, Planned, RecipePlan, RunPlan, plan_batch, plan_recipe};
pub use steps::{Action, Change, Step};
pub use study::{Ends, Studies, Study, Trace};
pub use thermal::{HORIZON, Modelled, Thermal, ThermalProblem, VOID_CELSIUS, unknown_entry, with_bend};
pub use thermals::{Progress, Thermals, Wanted};
