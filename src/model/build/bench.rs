use std::sync::Arc;

use crate::model::build::{Builder, Slots, wording};
use crate::model::{Arm, Base, Bench, Clamp, Fence, Given, Handling, InputRole, Surface};
use crate::names::{DeclId, nearest};
use crate::types::{CheckedBlock, CheckedEntry};
use crate::units::Bounded;

impl<'t> Builder<'_, 't> {
    pub(super) fn build_bench(&mut self, id: DeclId) -> Option<Arc<Bench>> {
        let block = self.sound_block(id)?;
        let name = self.checker.names.decl(id).name.clone();
        let inner = |word: &str| block.entry(word).and_then(|entry| entry.block.as_ref());
        let base = base(inner("base")?)?;
        let arms: Option<Vec<Arm>> = block.entries_of("arm").map(|entry| self.arm(entry, base.surface)).collect();
        let arms = arms?;
        let controller = match block.entry("controller") {
            Some(entry) => Some(self.controller(entry.reference("controller")?.0)?),
            None => None,
        };
        let names: Vec<String> = arms.iter().map(|arm| arm.name.clone()).collect();
        let mut sound = true;
        for input in controller.iter().flat_map(|controller| &controller.inputs) {
            if let InputRole::Down(arm) | InputRole::Home(arm) = &input.role
                && !names.contains(arm)
            {
                let near = nearest(arm, names.iter().map(String::as_str));
                let controller = controller.as_ref().map_or("", |controller| &controller.name);
                self.checker.faults.push(wording::arm_not_on_bench(input.span, controller, arm, &name, &names, near));
                sound = false;
            }
        }
        let (fence, clamp) = (inner("fence")?, inner("clamp")?);
        let given = |word: &str| -> Option<Given<Bounded>> {
            fence.quantity(word, word).map(|given| Given { value: given.value.value, span: given.span })
        };
        let fence = Fence {
            reach: fence.bounds("reach")?,
            reads: fence.exact("reads")?,
            height: given("height"),
            thickness: given("thickness"),
        };
        let clamp = Clamp {
            height: clamp.bounded("height")?,
            depth: clamp.bounded("depth")?,
            inset: clamp.bounded("inset")?,
            grip: clamp.bounded("grip")?,
        };
        let handling = handling(inner("handling")?)?;
        let operators = block.entry("operators").and_then(|entry| entry.count("operators")).map_or(1, |count| count.0);
        let bench = Bench { id, name, base, arms, fence, clamp, handling, operators, controller };
        sound.then(|| Arc::new(bench))
    }

    fn arm(&mut self, entry: &CheckedEntry<'t>, base: Surface) -> Option<Arm> {
        let block = entry.block.as_ref()?;
        let (name, span) = entry.name("name")?;
        let hinge = block.quantity("hinge", "height");
        Some(Arm {
            name: name.to_string(),
            span,
            heater: self.heater(block.entry("heater")?.reference("heater")?.0)?,
            depth: block.bounded("depth")?,
            thickness: block.bounded("thickness")?,
            swings: block.bounds("swings")?,
            place: block.bounds("place")?,
            surface: block.entry("surface").and_then(|entry| surface(entry.word("surface")?.0)).unwrap_or(base),
            hinge: hinge.map(|given| Given { value: given.value.value, span: given.span }),
        })
    }
}

fn base(block: &CheckedBlock<'_>) -> Option<Base> {
    Some(Base {
        depth: block.bounded("depth")?,
        width: block.bounded("width")?,
        thickness: block.bounded("thickness")?,
        surface: surface(block.entry("surface")?.word("surface")?.0)?,
    })
}

fn surface(word: &str) -> Option<Surface> {
    match word {
        "wood" => Some(Surface::Wood),
        "metal" => Some(Surface::Metal),
        "cloth" => Some(Surface::Cloth),
        "air" => Some(Surface::Air),
        _ => None,
    }
}

fn handling(block: &CheckedBlock<'_>) -> Option<Handling> {
    let or = |word: &str, otherwise: f64| block.exact(word).map_or(otherwise, |given| given.value);
    Some(Handling {
        load: block.exact("load")?.value,
        reposition: block.exact("reposition")?.value,
        unload: block.exact("unload")?.value,
        turn_over: or("turn_over", 5.0),
        swing_change: or("swing_change", 20.0),
        fence_change: or("fence_change", 10.0),
    })
}
