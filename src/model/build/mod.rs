//! From checked blocks to the model. What is missing or broken was reported where it was found; then there
//! is no model of it, and nothing that needs it is judged.

mod bench;
mod controller;
mod heater;
mod part;
mod profile;
mod recipe;
mod stock;
mod wording;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::model::{Bench, Controller, Curve, Given, Heater, Lot, Material, Recipe, Sheet, Supply, Wire};
use crate::names::DeclId;
use crate::types::{CheckedBlock, CheckedEntry, Checker, Parameter};
use crate::units::{Bounded, Quantity};

/// Builds models, each once. What is found wrong on the way is kept with the declaration it was found in.
pub struct Builder<'n, 't> {
    /// Checks blocks and collects what is wrong.
    pub checker: Checker<'n, 't>,
    blocks: BTreeMap<DeclId, Option<Arc<CheckedBlock<'t>>>>,
    materials: BTreeMap<DeclId, Option<Material>>,
    sheets: BTreeMap<DeclId, Option<Arc<Sheet>>>,
    lots: BTreeMap<DeclId, Option<Lot>>,
    wires: BTreeMap<DeclId, Option<Wire>>,
    supplies: BTreeMap<DeclId, Option<Supply>>,
    heaters: BTreeMap<DeclId, Option<Heater>>,
    controllers: BTreeMap<DeclId, Option<Controller>>,
    benches: BTreeMap<DeclId, Option<Arc<Bench>>>,
    recipes: BTreeMap<DeclId, Option<Recipe>>,
}

/// Gives each kind of model one method that builds it at most once.
macro_rules! built_once {
    ($($(#[$doc:meta])* $method:ident, $build:ident, $store:ident, $model:ty;)*) => {
        $($(#[$doc])*
        pub fn $method(&mut self, id: DeclId) -> Option<$model> {
            if let Some(known) = self.$store.get(&id) {
                return known.clone();
            }
            let before = self.checker.begin();
            let built = self.$build(id);
            self.checker.end(id, before);
            self.$store.insert(id, built.clone());
            built
        })*
    };
}

impl<'n, 't> Builder<'n, 't> {
    /// Nothing built yet.
    pub fn new(checker: Checker<'n, 't>) -> Self {
        Self {
            checker,
            blocks: BTreeMap::new(),
            materials: BTreeMap::new(),
            sheets: BTreeMap::new(),
            lots: BTreeMap::new(),
            wires: BTreeMap::new(),
            supplies: BTreeMap::new(),
            heaters: BTreeMap::new(),
            controllers: BTreeMap::new(),
            benches: BTreeMap::new(),
            recipes: BTreeMap::new(),
        }
    }

    built_once! {
        /// A material; none if it is broken.
        material, build_material, materials, Material;
        /// A sheet; none if it is broken.
        sheet, build_sheet, sheets, Arc<Sheet>;
        /// A lot; none if it is broken.
        lot, build_lot, lots, Lot;
        /// A wire; none if it is broken.
        wire, build_wire, wires, Wire;
        /// A supply; none if it is broken.
        supply, build_supply, supplies, Supply;
        /// A heater; none if it is broken.
        heater, build_heater, heaters, Heater;
        /// A controller; none if it is broken.
        controller, build_controller, controllers, Controller;
        /// A bench; none if it is broken.
        bench, build_bench, benches, Arc<Bench>;
        /// A recipe; none if it is broken.
        recipe, build_recipe, recipes, Recipe;
    }

    /// The checked block of a declaration without parameters, checked once.
    pub fn block(&mut self, id: DeclId) -> Option<Arc<CheckedBlock<'t>>> {
        if let Some(known) = self.blocks.get(&id) {
            return known.clone();
        }
        let before = self.checker.begin();
        let block = self.checker.declaration(id, &[]).map(Arc::new);
        self.checker.end(id, before);
        self.blocks.insert(id, block.clone());
        block
    }

    /// The same, but none where something in it is broken.
    fn sound_block(&mut self, id: DeclId) -> Option<Arc<CheckedBlock<'t>>> {
        self.block(id).filter(|block| is_sound(block))
    }

    /// The block of a part with values for its parameters, sound or not.
    fn part_block(&mut self, id: DeclId, parameters: &[Parameter]) -> Option<Arc<CheckedBlock<'t>>> {
        if parameters.is_empty() {
            return self.block(id);
        }
        self.checker.declaration(id, parameters).map(Arc::new)
    }
}

fn is_sound(block: &CheckedBlock<'_>) -> bool {
    !block.broken && block.entries.iter().all(|entry| entry.block.as_ref().is_none_or(is_sound))
}

/// Access to the slots of a block by entry; none where the entry or the slot is missing.
trait Slots<'t> {
    fn quantity(&self, entry: &str, slot: &str) -> Option<Given<Quantity>>;

    fn bounded(&self, entry: &str) -> Option<Given<Bounded>> {
        let found = self.quantity(entry, entry)?;
        Some(Given { value: found.value.value, span: found.span })
    }

    fn exact(&self, entry: &str) -> Option<Given<f64>> {
        let found = self.bounded(entry)?;
        Some(Given { value: found.value.nominal(), span: found.span })
    }

    fn bounds(&self, entry: &str) -> Option<Given<(f64, f64)>> {
        let found = self.bounded(entry)?;
        Some(Given { value: (found.value.low(), found.value.high()), span: found.span })
    }
}

impl<'t> Slots<'t> for CheckedBlock<'t> {
    fn quantity(&self, entry: &str, slot: &str) -> Option<Given<Quantity>> {
        let (value, span) = self.entry(entry)?.quantity(slot)?;
        Some(Given { value: value.clone(), span })
    }
}

/// A curve from its entries; without a temperature, a constant.
fn curve<'a, 't: 'a>(entries: impl Iterator<Item = &'a CheckedEntry<'t>>) -> Curve {
    let mut points: Vec<(f64, Bounded)> = entries
        .filter_map(|entry| {
            let value = entry.quantity("value")?.0.value.clone();
            Some((entry.quantity("at").map_or(0.0, |at| at.0.value.nominal()), value))
        })
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    Curve { points }
}
