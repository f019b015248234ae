//! What comes out: step tables for people, spreadsheets and programs.
//!
//! Owns rendering of plans. It decides nothing.

mod calls;
mod csv;
mod json;
mod shown;
mod table;

pub use csv::{batch_csv, recipe_csv};
pub use json::{SCHEMA, batch_json, recipe_json};
pub use shown::Units;
pub use table::{batch_table, recipe_table};
