use crate::model::build::{Builder, Slots, curve, wording};
use crate::model::{
    Alloy, CONTINUOUS, Calibration, CurrentKind, Given, Heater, Leads, Line, LinePlace, Metal, Shield, Spring, Supply,
    Switch, Wire, WireMeasurement, Wiring,
};
use crate::names::DeclId;
use crate::types::{CheckedBlock, CheckedEntry, Env};
use crate::units::Bounded;

impl<'t> Builder<'_, 't> {
    fn alloy(&mut self, id: DeclId) -> Option<Alloy> {
        let block = self.sound_block(id)?;
        Some(Alloy {
            name: self.checker.names.decl(id).name.clone(),
            resistivity: block.bounded("resistivity")?,
            hot_factor: curve(block.entries_of("hot_factor")),
            density: block.bounded("density")?,
            specific_heat: curve(block.entries_of("specific_heat")),
            mean_expansion: curve(block.entries_of("mean_expansion")),
            limit: block.bounded("limit")?,
            emissivity: block.bounded("emissivity")?,
        })
    }

    fn metal(&mut self, id: DeclId) -> Option<Metal> {
        let block = self.sound_block(id)?;
        Some(Metal {
            name: self.checker.names.decl(id).name.clone(),
            resistivity: block.bounded("resistivity")?.value,
            temperature_coefficient: block.bounded("temperature_coefficient").map(|given| given.value),
            density: block.bounded("density")?.value,
            specific_heat: block.bounded("specific_heat")?.value,
        })
    }

    pub(super) fn build_wire(&mut self, id: DeclId) -> Option<Wire> {
        let block = self.sound_block(id)?;
        let decl = self.checker.names.decl(id);
        let diameter = match block.entry("size") {
            Some(entry) => Given { value: Bounded::exact(entry.gauge("size")?.diameter()).ok()?, span: entry.span },
            None => block.bounded("diameter")?,
        };
        // What is known of the alloy's resistivity is one unknown for each wire: another spool, another value.
        let mut alloy = self.alloy(block.entry("alloy")?.reference("alloy")?.0)?;
        let source = self.checker.source(Env::of(decl), block.entry("alloy")?.span);
        let resistivity = &alloy.resistivity.value;
        if !resistivity.is_exact() {
            alloy.resistivity.value =
                Bounded::known(resistivity.nominal(), resistivity.low(), resistivity.high(), source).ok()?;
        }
        let measured = block.entry("measured").and_then(|entry| {
            let value = |slot: &str| entry.quantity(slot).map(|found| found.0.value.clone());
            Some(WireMeasurement {
                resistance: value("resistance")?,
                temperature: value("temperature")?,
                length: value("length")?,
            })
        });
        Some(Wire { id, name: decl.name.clone(), alloy, diameter, measured })
    }

    pub(super) fn build_supply(&mut self, id: DeclId) -> Option<Supply> {
        let block = self.sound_block(id)?;
        let kind = match block.entry("kind")?.word("kind")?.0 {
            "dc" => CurrentKind::Direct,
            _ => CurrentKind::Alternating,
        };
        let at = block.entry("voltage")?.word("at").map(|word| word.0);
        Some(Supply {
            id,
            name: self.checker.names.decl(id).name.clone(),
            voltage: block.bounded("voltage")?,
            at_wire: at == Some("wire"),
            kind,
            rated: block.bounded("rated")?,
            continuous: block.exact("continuous").map_or(CONTINUOUS, |given| given.value),
            fuse: block.exact("fuse"),
        })
    }

    pub(super) fn build_heater(&mut self, id: DeclId) -> Option<Heater> {
        let block = self.sound_block(id)?;
        let decl = self.checker.names.decl(id);
        let lines: Option<Vec<Line>> = block.entries_of("line").map(|entry| self.line(entry)).collect();
        let mut lines = lines?;
        lines.sort_by_key(|line| line.place);
        let wired = block.entry("wired").and_then(|entry| Some((entry.word("wired")?.0, entry.span)));
        let wiring = match (lines.len(), wired) {
            // That there is no line at all was reported.
            (0, _) => return None,
            (1, None) => Wiring::Single,
            (1, Some((_, span))) => {
                self.checker.faults.push(wording::wiring_without_two_lines(span));
                return None;
            }
            (_, None) => {
                self.checker.faults.push(wording::two_lines_need_wiring(decl.name_span));
                return None;
            }
            (_, Some(("parallel", _))) => Wiring::Parallel,
            _ => Wiring::Series,
        };
        let shield = match block.entry("shield").and_then(|entry| entry.block.as_ref()) {
            Some(inner) => Some(Shield { metal: self.metal_of(inner)?, mass: inner.bounded("mass")? }),
            None => None,
        };
        let switch = match block.entry("switch")?.word("switch")?.0 {
            "relay" => Switch::Relay,
            _ => Switch::SolidState,
        };
        let spring = block.entry("spring").and_then(|entry| entry.block.as_ref()).and_then(|inner| {
            Some(Spring {
                rate: inner.bounded("rate")?,
                preload: inner.bounded("preload")?,
                travel: inner.bounded("travel")?,
            })
        });
        let calibration = block.entry("calibrated").and_then(|entry| entry.block.as_ref()).and_then(calibration);
        let leads = self.leads(block.entry("leads")?.block.as_ref()?)?;
        let supply = self.supply(block.entry("supply")?.reference("supply")?.0)?;
        Some(Heater {
            id,
            name: decl.name.clone(),
            lines,
            wiring,
            length: block.bounded("length")?,
            channel: block.bounded("channel")?,
            shield,
            supply,
            switch,
            fuse: block.exact("fuse"),
            leads,
            spring,
            warm_up: block.exact("warm_up"),
            calibration,
        })
    }

    fn line(&mut self, entry: &CheckedEntry<'t>) -> Option<Line> {
        let block = entry.block.as_ref()?;
        let place = match entry.word("place")?.0 {
            "above" => LinePlace::Above,
            _ => LinePlace::Below,
        };
        let wire = self.wire(block.entry("wire")?.reference("wire")?.0)?;
        Some(Line { place, wire, gap: block.bounded("gap")? })
    }

    fn metal_of(&mut self, block: &CheckedBlock<'t>) -> Option<Metal> {
        let id = block.entry("metal")?.reference("metal")?.0;
        self.metal(id)
    }

    fn leads(&mut self, block: &CheckedBlock<'t>) -> Option<Leads> {
        let area = match block.entry("size") {
            Some(entry) => Given { value: Bounded::exact(entry.gauge("size")?.area()).ok()?, span: entry.span },
            None => block.bounded("area")?,
        };
        Some(Leads { metal: self.metal_of(block)?, area, length: block.bounded("length")? })
    }
}

fn calibration(block: &CheckedBlock<'_>) -> Option<Calibration> {
    Some(Calibration {
        factor: block.bounded("factor")?,
        sheet: block.entry("sheet")?.reference("sheet")?.0,
        on: block.entry("on")?.date("on")?.0,
        trials: block.entry("trials")?.count("trials")?.0,
    })
}
