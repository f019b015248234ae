//! A rehearsal as text, as JSON and as a chart.

mod chart;
mod json;
mod text;

pub use chart::rehearsal_svg;
pub use json::{REHEARSAL_SCHEMA, rehearsal_json};
pub use text::rehearsal_text;

/// K in °C.
fn celsius(kelvin: f64) -> f64 {
    kelvin - 273.15
}
