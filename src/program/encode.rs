//! From what is to be done to the code of lanes.

use std::collections::BTreeMap;

use crate::program::assemble::Assembler;
use crate::program::image::Image;
use crate::program::instruction::Instruction;
use crate::program::layout::{HeatRow, LONGEST_CALL, LONGEST_NAME, Verdict};
use crate::program::machine::{InputRole, Machine};

/// How often a part without a number is made at most: the operator ends it sooner, with the stop button.
pub const MOST_PARTS: u16 = u16::MAX;

/// What a program shall do. Times are in ms.
#[derive(Clone, Debug)]
pub struct ProgramPlan {
    /// Digest of what was resolved.
    pub digest: [u8; 16],
    /// What its figures are worth.
    pub verdict: Verdict,
    /// Its name.
    pub name: String,
    /// Rows of the step table.
    pub steps: u16,
    /// The wiring and the controller's limits.
    pub machine: Machine,
    /// Places where one part is worked on at a time.
    pub lanes: Vec<LanePlan>,
}

/// What is done at one place.
#[derive(Clone, Debug, Default)]
pub struct LanePlan {
    /// Heats without a sheet, before the first part.
    pub warm_ups: Vec<WarmUp>,
    /// Counted loops, one after the other.
    pub loops: Vec<PartLoop>,
}

/// A heat without a sheet.
#[derive(Clone, Debug)]
pub struct WarmUp {
    /// The heater.
    pub output: u8,
    /// At full level.
    pub lasts: u32,
    /// What the operator is told.
    pub mark: Mark,
}

/// The same part again and again.
#[derive(Clone, Debug)]
pub struct PartLoop {
    /// Good parts asked for; none where the operator ends it.
    pub times: Option<u16>,
    /// How many more may be tried.
    pub spare: u16,
    /// What is done for each part.
    pub passes: Vec<Pass>,
    /// Taking the part out.
    pub unload: Mark,
    /// Where a bend was missed.
    pub spoilt: Mark,
}

impl PartLoop {
    /// How many good parts end it.
    pub fn asked(&self) -> u16 {
        self.times.unwrap_or(MOST_PARTS)
    }

    /// How many parts are begun at most, spoilt ones too.
    pub fn tries(&self) -> u16 {
        self.times.map_or(MOST_PARTS, |times| times.saturating_add(self.spare))
    }
}

/// A row of the step table, and what the operator is told.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mark {
    /// The row, from 1; none without a row.
    pub step: Option<u16>,
    /// What is shown.
    pub call: Option<String>,
    /// What stands in the listing: where in the source it comes from.
    pub place: String,
}

/// Bends that are made at once.
#[derive(Clone, Debug)]
pub struct Pass {
    /// Laying the sheet in.
    pub lay: Mark,
    /// The heat of each bend; they end together.
    pub heats: Vec<Heating>,
    /// Swinging the arms.
    pub bend: Mark,
    /// The longest time from heaters off to bends finished.
    pub transfer: u32,
    /// Holding.
    pub hold: Mark,
    /// For how long.
    pub set: u32,
    /// From when the operator is reserved, and for how long.
    pub reservation: (u32, u32),
}

/// The heat of one bend.
#[derive(Clone, Debug)]
pub struct Heating {
    /// The heater.
    pub output: u8,
    /// One after the other.
    pub stages: Vec<Stage>,
}

/// A stretch of heating.
#[derive(Clone, Debug)]
pub struct Stage {
    /// How long.
    pub time: StageTime,
    /// 255ths of full power; 0 is a soak.
    pub level: u8,
    /// Its row in the step table.
    pub mark: Mark,
}

/// How long a stretch of heating is.
#[derive(Clone, Debug)]
pub enum StageTime {
    /// ms
    Fixed(u32),
    /// By the measured thickness; all of a program have the same rows.
    Rows(Vec<HeatRow>),
}

impl StageTime {
    /// The longest it can be, ms.
    pub fn longest(&self) -> u32 {
        match self {
            Self::Fixed(time) => *time,
            Self::Rows(rows) => rows.iter().map(|row| row.time).max().unwrap_or(0),
        }
    }

    /// The shortest it can be, ms.
    pub fn shortest(&self) -> u32 {
        match self {
            Self::Fixed(time) => *time,
            Self::Rows(rows) => rows.iter().map(|row| row.time).min().unwrap_or(0),
        }
    }

    /// How long in a row, ms.
    pub fn at(&self, row: usize) -> u32 {
        match self {
            Self::Fixed(time) => *time,
            Self::Rows(rows) => rows.get(row).map_or(0, |row| row.time),
        }
    }
}

/// A time of a pass during which no heater is switched.
#[derive(Clone, Debug)]
pub struct Stretch<'a> {
    /// What is switched at its beginning: the heater and its stage.
    pub changes: Vec<(u8, &'a Stage)>,
    /// How long it is in each row, ms.
    pub lasts: Vec<u32>,
}

/// The heats of a pass one change after the other. They begin at different times, so that they end together.
///
/// Where the rows disagree about the order of two changes, a time is 0 in some rows: no table of an image holds that, so
/// the verifier refuses it.
pub fn stretches(heats: &[Heating]) -> Vec<Stretch<'_>> {
    let tables = heats.iter().flat_map(|heat| &heat.stages).filter_map(|stage| match &stage.time {
        StageTime::Rows(rows) => Some(rows.len()),
        StageTime::Fixed(_) => None,
    });
    let rows = tables.max().unwrap_or(1);
    let sum = |heat: &Heating, row: usize| heat.stages.iter().map(|stage| stage.time.at(row)).sum::<u32>();
    let ends: Vec<u32> = (0..rows).map(|row| heats.iter().map(|heat| sum(heat, row)).max().unwrap_or(0)).collect();
    let mut changes: Vec<(Vec<u32>, u8, &Stage)> = Vec::new();
    for heat in heats {
        let mut at: Vec<u32> = ends.iter().enumerate().map(|(row, end)| end - sum(heat, row)).collect();
        for stage in &heat.stages {
            changes.push((at.clone(), heat.output, stage));
            for (row, at) in at.iter_mut().enumerate() {
                *at += stage.time.at(row);
            }
        }
    }
    changes.sort_by(|one, other| one.0.cmp(&other.0));
    let mut all: Vec<Stretch<'_>> = Vec::new();
    for (index, (at, output, stage)) in changes.iter().enumerate() {
        let until = changes.get(index + 1).map_or(&ends, |next| &next.0);
        let lasts: Vec<u32> = at.iter().zip(until).map(|(at, until)| until.saturating_sub(*at)).collect();
        match all.last_mut().filter(|last| last.lasts.iter().all(|time| *time == 0)) {
            Some(last) => {
                last.changes.push((*output, stage));
                last.lasts = lasts;
            }
            None => all.push(Stretch { changes: vec![(*output, stage)], lasts }),
        }
    }
    all
}

/// An image, and where in it what begins.
#[derive(Clone, Debug)]
pub struct Encoded {
    /// Its bytes.
    pub image: Vec<u8>,
    /// What stands in the listing, by lane and offset in its code.
    pub notes: BTreeMap<(usize, usize), String>,
}

/// Encodes a plan. What cannot be said safely is refused by the verifier, not here.
pub fn encode(plan: &ProgramPlan) -> Encoded {
    let mut encoder = Encoder {
        machine: &plan.machine,
        thicknesses: thicknesses(plan),
        calls: Vec::new(),
        tables: Vec::new(),
        notes: BTreeMap::new(),
    };
    let lanes = plan.lanes.iter().enumerate().map(|(number, lane)| encoder.lane(number, lane)).collect();
    let mut machine = plan.machine.clone();
    let asked = longest(plan);
    for (output, asked) in machine.outputs.iter_mut().zip(asked) {
        // The image asks for no more than it needs; a heater that it never switches keeps the controller's limit.
        let tenths = u16::try_from(asked.div_ceil(100)).unwrap_or(u16::MAX);
        output.longest = if tenths == 0 { output.longest } else { tenths };
    }
    let image = Image {
        digest: plan.digest,
        verdict: plan.verdict,
        name: cut(&plan.name, LONGEST_NAME),
        steps: plan.steps,
        machine,
        calls: encoder.calls,
        tables: encoder.tables,
        lanes,
    };
    Encoded { image: image.encode(), notes: encoder.notes }
}

/// The longest heat of each output, ms.
fn longest(plan: &ProgramPlan) -> [u32; 8] {
    let mut all = [0; 8];
    let mut ask = |output: u8, time: u32| {
        if let Some(place) = all.get_mut(usize::from(output)) {
            *place = time.max(*place);
        }
    };
    for lane in &plan.lanes {
        for warm_up in &lane.warm_ups {
            ask(warm_up.output, warm_up.lasts);
        }
        for heat in lane.loops.iter().flat_map(|part| &part.passes).flat_map(|pass| &pass.heats) {
            ask(heat.output, heat.stages.iter().map(|stage| stage.time.longest()).sum());
        }
    }
    all
}

/// The measured thickness of each row, 0.01 mm; none where heat times do not hang on it.
pub fn thicknesses(plan: &ProgramPlan) -> Vec<u16> {
    let passes = plan.lanes.iter().flat_map(|lane| &lane.loops).flat_map(|part| &part.passes);
    let mut stages = passes.flat_map(|pass| &pass.heats).flat_map(|heat| &heat.stages);
    let rows = stages.find_map(|stage| match &stage.time {
        StageTime::Rows(rows) => Some(rows.iter().map(|row| row.thickness).collect()),
        StageTime::Fixed(_) => None,
    });
    rows.unwrap_or_default()
}

/// As much of a text as fits.
fn cut(text: &str, most: usize) -> String {
    let mut end = text.len().min(most);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    text.get(..end).unwrap_or("").to_owned()
}

struct Encoder<'a> {
    machine: &'a Machine,
    thicknesses: Vec<u16>,
    calls: Vec<String>,
    tables: Vec<Vec<HeatRow>>,
    notes: BTreeMap<(usize, usize), String>,
}

impl Encoder<'_> {
    fn lane(&mut self, number: usize, lane: &LanePlan) -> Vec<Instruction> {
        let mut code = Assembler::default();
        for warm_up in &lane.warm_ups {
            self.mark(number, &mut code, &warm_up.mark);
            let (supply, amount) = self.machine.claim(std::iter::once(warm_up.output));
            code.push(Instruction::Begin { supply, amount, from: 0, lasts: warm_up.lasts });
            code.push(Instruction::On { output: warm_up.output, level: u8::MAX });
            code.push(Instruction::Wait(warm_up.lasts));
            code.push(Instruction::Off(warm_up.output));
        }
        for part in &lane.loops {
            self.part(number, &mut code, part);
        }
        code.push(Instruction::End);
        code.finish()
    }

    fn part(&mut self, number: usize, code: &mut Assembler, part: &PartLoop) {
        code.push(Instruction::Repeat(part.tries()));
        let (missed, over) = (code.label(), code.label());
        for pass in &part.passes {
            self.pass(number, code, pass, missed);
        }
        self.mark(number, code, &part.unload);
        code.skip(over);
        code.place(missed);
        self.mark(number, code, &part.spoilt);
        code.push(Instruction::Scrap);
        code.place(over);
        code.push(Instruction::Enough(part.asked()));
        code.push(Instruction::Again);
    }

    fn pass(&mut self, number: usize, code: &mut Assembler, pass: &Pass, missed: crate::program::Label) {
        self.mark(number, code, &pass.lay);
        let (supply, amount) = self.machine.claim(pass.heats.iter().map(|heat| heat.output));
        let (from, lasts) = pass.reservation;
        code.push(Instruction::Begin { supply, amount, from, lasts });
        self.heat(number, code, pass);
        self.mark(number, code, &pass.bend);
        for heat in &pass.heats {
            // A missing `down` input leaves the await out: the verifier says so.
            if let Some(input) = self.machine.input(InputRole::Down(heat.output)) {
                code.wait_for(input, 1, pass.transfer, missed);
            }
        }
        self.mark(number, code, &pass.hold);
        code.push(Instruction::Wait(pass.set));
    }

    fn heat(&mut self, number: usize, code: &mut Assembler, pass: &Pass) {
        for stretch in stretches(&pass.heats) {
            for (output, stage) in &stretch.changes {
                self.mark(number, code, &stage.mark);
                code.push(Instruction::On { output: *output, level: stage.level });
            }
            let first = stretch.lasts.first().copied().unwrap_or(0);
            if stretch.lasts.iter().any(|time| *time != first) {
                let table = self.table(&stretch.lasts);
                code.push(Instruction::WaitRow(table));
            } else if first > 0 {
                code.push(Instruction::Wait(first));
            }
        }
        for heat in &pass.heats {
            code.push(Instruction::Off(heat.output));
        }
    }

    fn mark(&mut self, lane: usize, code: &mut Assembler, mark: &Mark) {
        if !mark.place.is_empty() {
            self.notes.insert((lane, code.offset()), mark.place.clone());
        }
        if let Some(step) = mark.step {
            code.push(Instruction::Step(step));
        }
        if let Some(call) = &mark.call {
            let number = self.call(call);
            code.push(Instruction::Call(number));
        }
    }

    fn call(&mut self, text: &str) -> u8 {
        let text = cut(text, LONGEST_CALL);
        let at = self.calls.iter().position(|call| *call == text).unwrap_or_else(|| {
            self.calls.push(text);
            self.calls.len() - 1
        });
        u8::try_from(at).unwrap_or(u8::MAX)
    }

    /// The table with these times; its thicknesses are those of the program.
    fn table(&mut self, times: &[u32]) -> u8 {
        let rows = times.iter().zip(&self.thicknesses);
        let rows: Vec<HeatRow> = rows.map(|(time, thickness)| HeatRow { thickness: *thickness, time: *time }).collect();
        let at = self.tables.iter().position(|table| *table == rows).unwrap_or_else(|| {
            self.tables.push(rows);
            self.tables.len() - 1
        });
        u8::try_from(at).unwrap_or(u8::MAX)
    }
}
