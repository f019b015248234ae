//! What comes out: step tables for people, spreadsheets and programs.
//!
//! Owns rendering of plans. It decides nothing.

mod blank_svg;
mod calls;
mod compare;
mod csv;
mod json;
mod reference;
mod shown;
mod table;

pub use blank_svg::blank_svg;
pub use compare::{Difference, differences};
pub use csv::{batch_csv, recipe_csv};
pub use json::{SCHEMA, batch_json, recipe_json};
pub use reference::reference;
pub use shown::Units;
pub use table::{batch_table, recipe_table};
