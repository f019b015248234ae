//! What ships with the compiler, as text and as JSON.

use std::fmt::Write;

use comfy_table::{ContentArrangement, Table, presets};
use serde::Serialize;

use crate::emit::figures::Source;

/// The version of the shape that `grammar/catalogue.schema.json` describes; within a version fields are only added.
pub const CATALOGUE_SCHEMA: &str = "withy:catalogue:1";

/// A material, alloy or metal of the catalogue.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CatalogueItem {
    /// `material`, `alloy` or `metal`.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// What its doc comment says.
    pub about: String,
    /// What it is a copy of.
    pub copies: Option<String>,
    /// Its entries.
    pub entries: Vec<CatalogueEntry>,
}

/// One entry of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CatalogueEntry {
    /// The word at its head.
    pub entry: &'static str,
    /// What the entry is.
    pub meaning: &'static str,
    /// What it says, for people.
    pub shown: String,
    /// Its quantities.
    pub values: Vec<CatalogueValue>,
    /// Its words.
    pub words: Vec<String>,
    /// Where it comes from.
    pub source: Source,
}

/// One quantity of an entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CatalogueValue {
    /// What it is within the entry.
    pub name: &'static str,
    /// The nominal value.
    pub nominal: f64,
    /// The lowest it can be.
    pub low: f64,
    /// The highest it can be.
    pub high: f64,
    /// Their unit; empty for a plain number.
    pub unit: String,
}

#[derive(Serialize)]
struct Document<'a> {
    schema: &'static str,
    compiler: &'static str,
    items: &'a [CatalogueItem],
}

/// The catalogue, or a part of it, as JSON.
pub fn catalogue_json(items: &[CatalogueItem]) -> String {
    let document = Document { schema: CATALOGUE_SCHEMA, compiler: env!("CARGO_PKG_VERSION"), items };
    // A document of numbers and strings can always be written.
    let mut text = serde_json::to_string_pretty(&document).unwrap_or_default();
    text.push('\n');
    text
}

/// The names in the catalogue and what they stand for.
pub fn catalogue_list(items: &[CatalogueItem], width: u16) -> String {
    let mut table = plain_table(width, ["kind", "name", "what"]);
    for item in items {
        table.add_row([item.kind.to_owned(), item.name.clone(), item.about.clone()]);
    }
    format!("{}\n", table.trim_fmt())
}

/// One item with every figure, its source and kind.
pub fn catalogue_item(item: &CatalogueItem, width: u16) -> String {
    let mut text = format!("{} {}", item.kind, item.name);
    if let Some(copies) = &item.copies {
        let _ = write!(text, ", as {copies} but for what stands in its own lines");
    }
    let _ = write!(text, "\n{}\n\n", item.about);
    let mut table = plain_table(width, ["entry", "value", "kind", "source"]);
    let mut before: Option<&CatalogueEntry> = None;
    for entry in &item.entries {
        // The points of a curve share one source; it is said once.
        let same = before.is_some_and(|before| before.entry == entry.entry && before.source.text == entry.source.text);
        let word = if before.is_some_and(|before| before.entry == entry.entry) { "" } else { entry.entry };
        let (kind, source) = if same { ("", "") } else { (entry.source.kind, entry.source.text.as_str()) };
        table.add_row([word, &entry.shown, kind, source]);
        before = Some(entry);
    }
    let _ = writeln!(text, "{}", table.trim_fmt());
    text
}

fn plain_table<const N: usize>(width: u16, header: [&str; N]) -> Table {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(width);
    table.set_header(header);
    table
}
