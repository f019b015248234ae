//! What a recipe means: plain structures in SI units with bounds, each value with the place it comes from.
//!
//! Owns the structures and how they are built from checked blocks. It knows no syntax and computes nothing
//! beyond defaults.

mod bench;
mod build;
mod heater;
mod part;
mod recipe;
mod stock;

pub use bench::{Arm, Base, Bench, Clamp, Controller, Fence, Handling, Input, InputRole, Output, OutputRole, Surface};
pub use build::Builder;
pub use heater::{
    Alloy, CONTINUOUS, Calibration, CurrentKind, Heater, Leads, Line, LinePlace, Metal, Shield, Spring, Supply, Switch,
    Wire, WireMeasurement, Wiring,
};
pub use part::{Bend, Direction, Leg, MeasuredTo, Part, Radius};
pub use recipe::{Acceptance, Batch, BendSettings, FenceSide, Given, Heat, Level, Order, Reach, Recipe, Run, SetTime};
pub use stock::{Colour, Curve, Lot, Material, Sheet, Storage, ThicknessTolerance};
