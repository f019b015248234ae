//! A timing program on a simulated bench: the interpreter, a person, wires, shields, sheet and supply, and what may go
//! wrong with them.
//!
//! Owns the simulation and what comes of it. It renders nothing, starts nothing real, and has no clock: the same scene
//! gives the same rehearsal to the bit.

mod bench;
mod fault;
mod follow;
mod judge;
mod outcome;
mod person;
mod plant;
mod run;
mod scene;
mod sheet;
mod track;
mod upset;

pub use fault::{Condition, FAULTS, Fault, FaultKind, Trouble, trouble};
pub use outcome::{
    Act, BendRecord, Finding, HeaterRecord, HeaterTrace, Moment, Rehearsal, SheetEnds, SheetTrace, SupplyRecord, Weight,
};
pub use run::rehearse;
pub use scene::{Deed, Hand, Scene, SceneBend, SceneHeater, SceneRow, TaskKey};
