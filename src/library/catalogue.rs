//! The catalogue that ships with the compiler, checked like any source.

use std::path::{Path, PathBuf};

use crate::emit::{
    CatalogueEntry, CatalogueItem, CatalogueValue, Sources, catalogue_item, catalogue_json, catalogue_list, plain_doc,
};
use crate::library::figures::FigureReport;
use crate::library::io::Memory;
use crate::library::load::{Loaded, Places, load};
use crate::names::{Decl, DeclKind, nearest, resolve};
use crate::types::{CheckedEntry, Checker, Slot};
use crate::units::{Kind, Quantity, Unit, in_unit, preferred_unit, show_rounded, show_rounded_range};

/// The catalogue, or the item of a name, in both forms; else a sentence that says there is none.
pub fn catalogue_report(name: Option<&str>, width: u16) -> Result<FigureReport, String> {
    let mut items = catalogue();
    let Some(name) = name else {
        return Ok(FigureReport { text: catalogue_list(&items, width), json: catalogue_json(&items) });
    };
    let near = nearest(name, items.iter().map(|item| item.name.as_str()));
    let near = near.map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
    items.retain(|item| item.name == name);
    let Some(item) = items.first() else { return Err(format!("the catalogue has no `{name}`{near}")) };
    Ok(FigureReport { text: catalogue_item(item, width), json: catalogue_json(&items) })
}

/// Every material, alloy and metal of the catalogue, in the order of its files.
fn catalogue() -> Vec<CatalogueItem> {
    let here = Places { root: PathBuf::from("/"), shown_from: PathBuf::from("/") };
    let nothing: [(&Path, &str); 0] = [];
    let (loaded, _) = load(&Memory::new(nothing), &here, &[], None);
    let files = &loaded.files;
    let sources = loaded.sources();
    let (names, _) = resolve(&sources, files);
    let mut checker = Checker::new(files, &names);
    let lookup = sources_of(&loaded);
    let wanted = [DeclKind::Material, DeclKind::Alloy, DeclKind::Metal];
    let decls = names.decls().iter().filter(|decl| wanted.contains(&decl.kind));
    decls.filter_map(|decl| item(decl, &mut checker, &lookup)).collect()
}

/// Where the sources of figures are looked up.
pub(super) fn sources_of(loaded: &Loaded) -> Sources<'_> {
    Sources {
        files: &loaded.files,
        trees: loaded.parsed.iter().map(|parsed| &parsed.tree).collect(),
        catalogue: loaded.catalogue,
    }
}

fn item(decl: &Decl<'_>, checker: &mut Checker<'_, '_>, lookup: &Sources<'_>) -> Option<CatalogueItem> {
    let files = checker.files;
    let block = checker.declaration(decl.id, &[])?;
    let copied = decl.entry.args().iter().skip_while(|arg| files.slice(arg.span()) != "from").nth(1);
    Some(CatalogueItem {
        kind: decl.kind.word(),
        name: decl.name.clone(),
        about: decl.entry.doc().map(|doc| plain_doc(files.slice(doc))).unwrap_or_default(),
        copies: copied.map(|arg| files.slice(arg.span()).to_owned()),
        entries: block.entries.iter().map(|entry| described(entry, lookup)).collect(),
    })
}

fn described(entry: &CheckedEntry<'_>, lookup: &Sources<'_>) -> CatalogueEntry {
    let mut values = Vec::new();
    let mut words: Vec<String> = Vec::new();
    let mut shown: Vec<String> = Vec::new();
    for (name, slot) in &entry.slots {
        match slot {
            Slot::Quantity(quantity, _) => {
                let Some(unit) = unit(quantity) else { continue };
                let at = |value: f64| in_unit(value, &unit);
                let value = &quantity.value;
                values.push(CatalogueValue {
                    name,
                    nominal: at(value.nominal()),
                    low: at(value.low()),
                    high: at(value.high()),
                    unit: unit.to_string(),
                });
                let nominal = show_rounded(value.nominal(), &unit, 4);
                shown.push(if value.is_exact() {
                    nominal
                } else {
                    format!("{nominal} ({})", show_rounded_range(value.low(), value.high(), &unit, 4))
                });
            }
            Slot::Word(word, _) => {
                words.push((*word).to_owned());
                shown.push((*word).to_owned());
            }
            _ => {}
        }
    }
    CatalogueEntry {
        entry: entry.schema.word,
        meaning: entry.schema.meaning,
        shown: shown.join(" "),
        values,
        words,
        source: lookup.of(&crate::plan::Origin::Place(entry.span)),
    }
}

/// The unit in which the trade says a quantity.
fn unit(quantity: &Quantity) -> Option<Unit> {
    let kind = if quantity.point { Kind::Temperature } else { Kind::of_dimension(quantity.dimension)? };
    match kind {
        Kind::Ratio if !quantity.percent => Some(Unit::one()),
        Kind::Resistivity => Unit::parse("ohm*mm2/m").ok(),
        _ => preferred_unit(kind, false),
    }
}
