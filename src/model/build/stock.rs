use std::sync::Arc;

use crate::model::build::{Builder, Slots, curve, wording};
use crate::model::{Colour, Given, Lot, Material, Sheet, Storage, ThicknessTolerance};
use crate::names::DeclId;
use crate::types::{CheckedEntry, Env};
use crate::units::Bounded;

impl Builder<'_, '_> {
    pub(super) fn build_material(&mut self, id: DeclId) -> Option<Material> {
        let block = self.sound_block(id)?;
        Some(Material {
            name: self.checker.names.decl(id).name.clone(),
            density: block.bounded("density")?,
            conductivity: block.bounded("conductivity"),
            specific_heat: curve(block.entries_of("specific_heat")),
            softened: block.bounded("softened"),
            forming: block.bounded("forming"),
            ceiling: block.bounded("ceiling"),
            release: block.bounded("release"),
            decomposes: block.bounded("decomposes"),
            emissivity: block.bounded("emissivity"),
            thickness_tolerance: block.entry("thickness_tolerance").and_then(tolerance),
            neutral_line: match block.bounded("neutral_line") {
                Some(given) => given.value,
                None => Bounded::exact(0.5).ok()?,
            },
            least_radius: block.bounded("least_radius"),
            heated_width: block.bounded("heated_width"),
            one_face_up_to: block.bounded("one_face_up_to"),
            computed_times: block
                .entry("computed_times")
                .is_none_or(|entry| entry.word("computed_times").is_some_and(|word| word.0 == "yes")),
            corrosive_fumes: block
                .entry("fumes")
                .is_some_and(|entry| entry.word("fumes").is_some_and(|word| word.0 == "corrosive")),
        })
    }

    pub(super) fn build_sheet(&mut self, id: DeclId) -> Option<Arc<Sheet>> {
        let block = self.sound_block(id)?;
        let decl = self.checker.names.decl(id);
        let material = self.material(block.entry("material")?.reference("material")?.0)?;
        let given = block.bounded("thickness")?;
        let by_standard = given.value.is_exact();
        let thickness = if by_standard {
            let Some(tolerance) = material.thickness_tolerance else {
                self.checker.faults.push(wording::thickness_needs_tolerance(given.span, &material.name));
                return None;
            };
            let nominal = given.value.nominal();
            let half = tolerance.half(nominal);
            let source = self.checker.source(Env::of(decl), given.span);
            Given { value: Bounded::known(nominal, nominal - half, nominal + half, source).ok()?, span: given.span }
        } else {
            given
        };
        let size = block.entry("size").and_then(|entry| match entry.quantities("size")? {
            [width, length] => Some([width.0.value.nominal(), length.0.value.nominal()]),
            _ => None,
        });
        let colour = match block.entry("colour")?.word("colour")?.0 {
            "clear" => Colour::Clear,
            "white" => Colour::White,
            "black" => Colour::Black,
            _ => Colour::Other,
        };
        Some(Arc::new(Sheet { id, name: decl.name.clone(), material, thickness, by_standard, colour, size }))
    }

    pub(super) fn build_lot(&mut self, id: DeclId) -> Option<Lot> {
        let block = self.sound_block(id)?;
        let measured = block.entry("measured")?.quantities("measured")?;
        Some(Lot {
            name: self.checker.names.decl(id).name.clone(),
            sheet: block.entry("sheet")?.reference("sheet")?.0,
            measured: measured.iter().map(|(value, span)| Given { value: value.value.clone(), span: *span }).collect(),
            stored: block.entry("stored").and_then(|entry| match entry.word("stored")?.0 {
                "dry" => Some(Storage::Dry),
                _ => Some(Storage::Damp),
            }),
        })
    }
}

fn tolerance(entry: &CheckedEntry<'_>) -> Option<ThicknessTolerance> {
    let value = |slot: &str| entry.quantity(slot).map(|found| found.0.value.nominal());
    match value("fixed") {
        Some(fixed) => Some(ThicknessTolerance::FixedPlusShare(fixed, value("share")?)),
        None => {
            Some(ThicknessTolerance::Shares { limit: value("limit")?, thin: value("thin")?, thick: value("thick")? })
        }
    }
}
