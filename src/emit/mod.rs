//! What comes out: step tables for people, spreadsheets and programs.
//!
//! Owns rendering of plans. It decides nothing.

mod blank_svg;
mod calls;
mod compare;
mod catalogue;
mod csv;
mod curve;
mod drawing;
mod figures;
mod json;
mod note;
mod program;
mod poses_svg;
mod reference;
mod rehearsal;
mod rules;
mod schedule;
mod shown;
mod table;

pub use blank_svg::blank_svg;
pub use calls::short_call;
pub use catalogue::{
    CATALOGUE_SCHEMA, CatalogueEntry, CatalogueItem, CatalogueValue, catalogue_item, catalogue_json, catalogue_list,
};
pub use compare::{Difference, differences};
pub use csv::{batch_csv, recipe_csv};
pub use curve::{curve_name, curve_svg};
pub use figures::{Accounted, FIGURES_SCHEMA, Source, Sources, figures_json, figures_text, plain_doc};
pub use json::{SCHEMA, batch_json, recipe_json};
pub use note::{BendNote, RecipeNote, recipe_note};
pub use poses_svg::{obstacles_svg, poses_svg};
pub use program::{c_array, intel_hex, machine_header, structured_text};
pub use reference::reference;
pub use rehearsal::{REHEARSAL_SCHEMA, rehearsal_json, rehearsal_svg, rehearsal_text};
pub use rules::{page_of, rule_list, rule_page};
pub use schedule::{Scheduled, chart_svg, figure_lines};
pub use shown::Units;
pub use table::{batch_table, recipe_table};
