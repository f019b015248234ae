use std::sync::Arc;

use crate::model::build::{Builder, Slots, is_sound, profile};
use crate::model::{MeasuredTo, Part, Sheet};
use crate::names::DeclId;
use crate::text::Span;
use crate::types::{CheckedBlock, Env, Parameter};
use crate::units::Bounded;

/// Springback that nobody has measured: 0, known to 0..5 deg (no published figure; our own wide guess).
const UNMEASURED_SPRINGBACK: f64 = 5.0 * std::f64::consts::PI / 180.0;

impl<'t> Builder<'_, 't> {
    /// A part with values for its parameters, and perhaps another sheet.
    pub fn part(&mut self, id: DeclId, parameters: &[Parameter], sheet: Option<(DeclId, Span)>) -> Option<Part> {
        let block = self.part_block(id, parameters)?;
        self.part_of_block(id, &block, sheet)
    }

    fn part_of_block(&mut self, id: DeclId, block: &CheckedBlock<'t>, sheet: Option<(DeclId, Span)>) -> Option<Part> {
        if !is_sound(block) {
            return None;
        }
        let decl = self.checker.names.decl(id);
        let sheet_id = match sheet {
            Some((sheet, _)) => sheet,
            None => block.entry("sheet")?.reference("sheet")?.0,
        };
        let sheet: Arc<Sheet> = self.sheet(sheet_id)?;
        let entry = block.entry("profile")?;
        let measured_to = match entry.word("measured")?.0 {
            "inside" => MeasuredTo::Inside,
            "neutral" => MeasuredTo::Neutral,
            _ => MeasuredTo::Outside,
        };
        let (legs, bends) = match profile::write_out(entry.block.as_ref()?, entry.head) {
            Ok(written) => written,
            Err(faults) => {
                self.checker.faults.extend(faults);
                return None;
            }
        };
        let springback = if let Some(given) = block.bounded("springback") {
            given.value
        } else {
            let source = self.checker.source(Env::of(decl), decl.name_span);
            Bounded::known(0.0, 0.0, UNMEASURED_SPRINGBACK, source).ok()?
        };
        Some(Part {
            name: decl.name.clone(),
            span: decl.name_span,
            sheet,
            width: block.exact("width")?,
            good: block.entry("good").and_then(|entry| entry.word("good")).map(|word| word.0),
            springback,
            springback_assumed: block.entry("springback").is_none(),
            measured_to,
            legs,
            bends,
        })
    }

    /// Checks a part by itself, with its defaults, or with stand-ins where it has none; its block, if it has one.
    pub fn check_part(&mut self, id: DeclId) -> Option<Arc<CheckedBlock<'t>>> {
        let decl = self.checker.names.decl(id);
        let parameters = self.checker.part_header(decl)?;
        let block = self.part_block(id, &parameters)?;
        if parameters.iter().all(|parameter| !parameter.open && parameter.value.is_some()) {
            self.part_of_block(id, &block, None);
        }
        Some(block)
    }
}
