use crate::model::build::{Builder, Slots, wording};
use crate::model::{
    Batch, Bench, BendSettings, Direction, FenceSide, Given, Heat, Level, Order, Part, Recipe, Run, SetTime, Switch,
};
use crate::names::{DeclId, nearest};
use crate::text::Span;
use crate::types::{CheckedBlock, LocalName};

/// The transfer that holds where none is given, s.
const USUAL_TRANSFER: f64 = 3.0;

impl<'t> Builder<'_, 't> {
    pub(super) fn build_recipe(&mut self, id: DeclId) -> Option<Recipe> {
        let decl = self.checker.names.decl(id);
        let header = self.checker.recipe_header(decl);
        let block = self.sound_block(id);
        let header = header?;
        let part = self.part(header.part, &header.parameters, header.sheet);
        let bench = self.bench(header.bench);
        let (block, part, bench) = (block?, part?, bench?);
        let found = self.checker.faults.len();
        let bends = self.bends(&block, &part, &bench, decl.name_span);
        // Without the arms of all bends, which of them share an arm is not known.
        let with_arms = if bends.len() == part.bends.len() { bends.as_slice() } else { &[] };
        let order = self.order(&block, &part, with_arms, &bench, decl.name_span);
        if self.checker.faults.len() > found {
            return None;
        }
        Some(Recipe {
            id,
            name: decl.name.clone(),
            span: decl.name_span,
            part,
            bench,
            ambient: block.bounded("ambient")?,
            bends,
            order: order?,
            film_left: block
                .entry("film")
                .and_then(|entry| entry.word("film"))
                .and_then(|(word, span)| (word == "left").then_some(span)),
        })
    }

    fn bends(&mut self, block: &CheckedBlock<'t>, part: &Part, bench: &Bench, place: Span) -> Vec<BendSettings> {
        let every = block.entry("every");
        let mut own: Vec<Option<(&CheckedBlock<'t>, Span)>> = vec![None; part.bends.len()];
        for entry in block.entries_of("bend") {
            let (Some((name, span)), Some(inner)) = (entry.name("bend"), entry.block.as_ref()) else { continue };
            let Some(index) = self.bend_index(part, name, span) else { continue };
            if let Some((_, first)) = own[index] {
                self.checker.faults.push(wording::same_bend_twice(entry.span, &name.to_string(), first));
            } else {
                own[index] = Some((inner, entry.span));
            }
        }
        let every_block = every.and_then(|entry| entry.block.as_ref());
        let mut without_arm: Vec<(usize, Span)> = Vec::new();
        let settings = own
            .iter()
            .enumerate()
            .filter_map(|(index, own)| {
                let layers: Vec<&CheckedBlock<'t>> = own.iter().map(|own| own.0).chain(every_block).collect();
                let span = own.map(|own| own.1).or(every.map(|entry| entry.span)).unwrap_or(place);
                if bench.arms.len() > 1 && !layers.iter().any(|block| block.entry("on").is_some()) {
                    without_arm.push((index, span));
                    return None;
                }
                self.settings(&layers, part, index, bench, span)
            })
            .collect();
        self.report_without_arm(&without_arm, part, bench, every_block.and_then(|block| block.span));
        settings
    }

    /// One message for all bends that no `on` gives an arm.
    fn report_without_arm(&mut self, bends: &[(usize, Span)], part: &Part, bench: &Bench, every: Option<Span>) {
        let Some((_, place)) = bends.first() else { return };
        let labels: Vec<String> = bends.iter().map(|(index, _)| part.bend_label(*index)).collect();
        let arms: Vec<String> = bench.arms.iter().map(|arm| arm.name.clone()).collect();
        let inside = every.and_then(|block| {
            let text = self.checker.files.slice(block).strip_prefix('{')?;
            let blanks = text.get(..text.find(|c: char| !c.is_whitespace())?)?;
            Some((Span::new(block.file, block.start + 1, block.start + 1), blanks))
        });
        let fault = wording::arm_needed(*place, &labels, &bench.name, &arms, inside);
        self.checker.faults.push(fault);
    }

    /// The number of a bend in the profile; a fault is reported.
    fn bend_index(&mut self, part: &Part, name: &LocalName, span: Span) -> Option<usize> {
        let found = match name {
            LocalName::Number(number) => {
                usize::try_from(*number).ok()?.checked_sub(1).filter(|index| *index < part.bends.len())
            }
            LocalName::Name(name) => part.bends.iter().position(|bend| bend.name.as_ref() == Some(name)),
        };
        if found.is_none() {
            let labels: Vec<String> = (0..part.bends.len()).map(|index| part.bend_label(index)).collect();
            let shown = name.to_string();
            let near = nearest(&shown, labels.iter().map(String::as_str)).map(str::to_owned);
            self.checker.faults.push(wording::unknown_bend(span, &shown, &labels, &part.name, near.as_deref()));
        }
        found
    }

    /// The settings of one bend: its own block first, then `every bend`.
    fn settings(
        &mut self,
        layers: &[&CheckedBlock<'t>],
        part: &Part,
        index: usize,
        bench: &Bench,
        span: Span,
    ) -> Option<BendSettings> {
        let block = layers.first().and_then(|block| block.span);
        let entry = |word: &str| layers.iter().find_map(|block| block.entry(word));
        let arm = self.arm_index(entry("on").and_then(|entry| entry.name("arm")), bench)?;
        let heat = match entry("heat") {
            None => Heat::Missing,
            Some(entry) => match (entry.computed("stages"), entry.stages("stages")) {
                (Some(span), _) => Heat::Computed(span),
                (None, Some(stages)) => {
                    let levels = stages
                        .iter()
                        .map(|stage| Level { time: stage.time.value.nominal(), share: stage.level })
                        .collect();
                    Heat::Stages(Given { value: levels, span: entry.span })
                }
                (None, None) => Heat::Missing,
            },
        };
        if let Heat::Stages(stages) = &heat {
            self.check_stages(stages, &bench.arms[arm].heater);
        }
        let set = match entry("set") {
            None => SetTime::Missing,
            Some(entry) => match entry.quantity("set") {
                Some((time, span)) => SetTime::Given(Given { value: time.value.nominal(), span }),
                None => SetTime::Computed(entry.span),
            },
        };
        let bend = &part.bends[index];
        if let Some((face, span)) = entry("face").and_then(|entry| entry.word("face")) {
            // With the profile as drawn its lower face lies on the base; arms only swing up.
            let up = bend.direction == Direction::Up;
            let (fits, other) = if up { ("down", "down") } else { ("up", "up") };
            if face != fits {
                self.checker.faults.push(wording::face_against_direction(span, face, other, up));
            }
        }
        Some(BendSettings {
            arm,
            heat,
            transfer: entry("transfer")
                .and_then(|entry| entry.quantity("transfer"))
                .map_or(USUAL_TRANSFER, |(time, _)| time.value.nominal()),
            set,
            swing: entry("swing")
                .and_then(|entry| entry.quantity("swing"))
                .map(|(angle, span)| Given { value: angle.value.nominal(), span }),
            fence: entry("fence").and_then(|entry| entry.word("fence")).map(|(side, span)| Given {
                value: if side == "front" { FenceSide::Front } else { FenceSide::Back },
                span,
            }),
            span,
            inside: block.map(|block| Span::new(block.file, block.start + 1, block.start + 1)),
        })
    }

    fn check_stages(&mut self, stages: &Given<Vec<Level>>, heater: &crate::model::Heater) {
        let heats = |level: &Level| level.time > 0.0 && level.share > 0.0;
        if !stages.value.iter().any(heats) {
            self.checker.faults.push(wording::no_heat_at_all(stages.span));
        }
        let part_power = |level: &Level| level.share > 0.0 && level.share < 1.0;
        if heater.switch == Switch::Relay && stages.value.iter().any(part_power) {
            let place = self.checker.names.decl(heater.id).name_span;
            self.checker.faults.push(wording::relay_takes_no_part_power(stages.span, &heater.name, place));
        }
    }

    /// The arm that `on` names; without it, the only one.
    fn arm_index(&mut self, named: Option<(&LocalName, Span)>, bench: &Bench) -> Option<usize> {
        let names: Vec<String> = bench.arms.iter().map(|arm| arm.name.clone()).collect();
        let Some((name, name_span)) = named else { return (bench.arms.len() == 1).then_some(0) };
        let shown = name.to_string();
        let found = names.iter().position(|known| *known == shown);
        if found.is_none() {
            let near = nearest(&shown, names.iter().map(String::as_str));
            self.checker.faults.push(wording::unknown_arm(name_span, &shown, &names, &bench.name, near));
        }
        found
    }

    fn order(
        &mut self,
        block: &CheckedBlock<'t>,
        part: &Part,
        bends: &[BendSettings],
        bench: &Bench,
        place: Span,
    ) -> Option<Order> {
        let labels: Vec<String> = (0..part.bends.len()).map(|index| part.bend_label(index)).collect();
        let Some(entry) = block.entry("order") else {
            if part.bends.len() > 1 {
                self.checker.faults.push(wording::order_needed(place, &labels));
                return None;
            }
            let only = if part.bends.is_empty() { Vec::new() } else { vec![vec![0]] };
            return Some(Order::Given(Given { value: only, span: place }));
        };
        if let Some(span) = entry.computed("order") {
            return Some(Order::Computed(span));
        }
        let mut seen: Vec<(usize, Span)> = Vec::new();
        let mut groups = Vec::new();
        let mut sound = true;
        for names in entry.order("order")? {
            let mut group: Vec<usize> = Vec::new();
            for (name, span) in names {
                let Some(index) = self.bend_index(part, name, *span) else {
                    sound = false;
                    continue;
                };
                if let Some((_, first)) = seen.iter().find(|(known, _)| *known == index) {
                    self.checker.faults.push(wording::twice_in_order(*span, &labels[index], *first));
                    sound = false;
                }
                let arm = |index: usize| bends.get(index).map(|bend| bend.arm);
                if let Some(other) = group.iter().find(|other| arm(**other).is_some() && arm(**other) == arm(index)) {
                    let pair = [labels[*other].clone(), labels[index].clone()];
                    let arm = arm(index).map_or("", |arm| bench.arms[arm].name.as_str());
                    let before = group.last().filter(|last| *last == other).and(seen.last()).map(|seen| seen.1);
                    self.checker.faults.push(wording::together_on_one_arm(*span, &pair, arm, before));
                    sound = false;
                }
                seen.push((index, *span));
                group.push(index);
            }
            groups.push(group);
        }
        let missing: Vec<String> = (0..part.bends.len())
            .filter(|index| !seen.iter().any(|(known, _)| known == index))
            .map(|index| labels[index].clone())
            .collect();
        if sound && !missing.is_empty() {
            self.checker.faults.push(wording::order_incomplete(entry.span, &missing));
            return None;
        }
        sound.then_some(Order::Given(Given { value: groups, span: entry.span }))
    }

    /// A batch; none if something it runs is broken.
    pub fn batch(&mut self, id: DeclId) -> Option<Batch> {
        let block = self.sound_block(id)?;
        let decl = self.checker.names.decl(id);
        let mut runs = Vec::new();
        for entry in block.entries_of("run") {
            let recipe = self.recipe(entry.reference("recipe")?.0)?;
            let lot = match entry.reference("lot") {
                Some((lot, span)) => {
                    let lot = self.lot(lot)?;
                    if lot.sheet != recipe.part.sheet.id {
                        let lot_sheet = self.checker.names.decl(lot.sheet).name.clone();
                        let fault = wording::lot_is_other_sheet(
                            span,
                            &lot.name,
                            &lot_sheet,
                            &recipe.name,
                            &recipe.part.sheet.name,
                        );
                        self.checker.faults.push(fault);
                        return None;
                    }
                    Some(lot)
                }
                None => None,
            };
            let times = entry.count("times")?.0;
            let spare = entry.count("spare").map_or(0, |count| count.0);
            runs.push(Run { recipe, times, spare, lot, span: entry.span });
        }
        Some(Batch { id, name: decl.name.clone(), span: decl.name_span, runs })
    }
}
