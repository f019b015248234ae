//! Random machines and programs: most are right, so that they run; some are not.

use withy::program::{
    Assembler, HeatRow, Image, Input, InputRole, Instruction, Machine, Output, OutputRole, SwitchKind, Verdict,
};

/// Numbers that repeat on every machine (splitmix64).
#[derive(Clone)]
pub struct Dice(pub u64);

impl Dice {
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        bits ^ (bits >> 31)
    }

    /// A number below `end`, which is not 0.
    pub fn below(&mut self, end: u32) -> u32 {
        u32::try_from(self.bits() % u64::from(end)).unwrap()
    }

    pub fn between(&mut self, low: u32, high: u32) -> u32 {
        low + self.below(high - low + 1)
    }

    /// Whether something happens that happens once in `times`.
    pub fn once_in(&mut self, times: u32) -> bool {
        self.below(times) == 0
    }

    pub fn byte(&mut self, low: u8, high: u8) -> u8 {
        u8::try_from(self.between(u32::from(low), u32::from(high))).unwrap()
    }

    pub fn short(&mut self, low: u16, high: u16) -> u16 {
        u16::try_from(self.between(u32::from(low), u32::from(high))).unwrap()
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(u32::try_from(from.len()).unwrap())).unwrap()]
    }
}

/// One to four heaters on one or two supplies, with whatever else a builder may wire.
pub fn machine(dice: &mut Dice) -> Machine {
    let supplies: Vec<u16> = (0..dice.between(1, 2)).map(|_| dice.short(800, 3000)).collect();
    let supply_count = u8::try_from(supplies.len()).unwrap();
    let heaters = dice.byte(1, 4);
    let mut outputs = Vec::new();
    for pin in 0..heaters {
        outputs.push(Output {
            pin,
            role: OutputRole::Heater,
            switch: if dice.once_in(4) { SwitchKind::Relay } else { SwitchKind::SolidState },
            supply: dice.byte(0, supply_count - 1),
            // Only long heats fill the sum of heat so far that the next one must wait for it.
            longest: match dice.below(12) {
                0 => dice.short(300, 600),
                1..=4 => dice.short(80, 300),
                _ => dice.short(5, 80),
            },
            draw: dice.short(100, 800),
        });
    }
    let other = |pin, role, supply| Output { pin, role, switch: SwitchKind::None, supply, longest: 0, draw: 0 };
    for supply in 0..supply_count {
        if !dice.once_in(3) {
            outputs.push(other(10 + supply, OutputRole::Isolator, supply));
        }
    }
    if !dice.once_in(5) {
        outputs.push(other(20, OutputRole::Lamp, 0));
    }
    if !dice.once_in(5) && outputs.len() < 8 {
        outputs.push(other(21, OutputRole::Buzzer, 0));
    }
    let mut roles = vec![InputRole::Start, InputRole::Stop];
    for heater in 0..heaters {
        roles.push(InputRole::Down(heater));
        if !dice.once_in(3) {
            roles.push(InputRole::Home(heater));
        }
        if !dice.once_in(3) {
            roles.push(InputRole::HeaterCurrent(heater));
        }
    }
    for supply in 0..supply_count {
        if dice.once_in(3) {
            roles.push(InputRole::SupplyCurrent(supply));
        }
    }
    if dice.once_in(2) {
        roles.push(InputRole::Row);
    }
    if dice.once_in(3) {
        roles.push(InputRole::Guard);
    }
    roles.truncate(16);
    let inputs = roles.into_iter().enumerate().map(|(pin, role)| Input {
        pin: u8::try_from(pin).unwrap(),
        role,
        normally_closed: dice.once_in(2),
        debounce: dice.byte(1, 60),
    });
    let inputs = inputs.collect();
    Machine { bench: 0x1234_5678, operators: dice.byte(1, 2), space: 2048, outputs, inputs, supplies }
}

/// Tables of heat times.
fn tables(dice: &mut Dice) -> Vec<Vec<HeatRow>> {
    let rows = dice.between(1, 4);
    (0..dice.below(3))
        .map(|_| {
            (0..rows)
                .map(|_| HeatRow { thickness: dice.short(150, 400), time: dice.between(50, 900) })
                .collect::<Vec<_>>()
        })
        .collect()
}

/// A program for a machine; one in a few is not as it should be.
pub fn image(dice: &mut Dice, machine: &Machine) -> Image {
    let tables = tables(dice);
    let heaters: Vec<u8> = (0..8).filter(|output| machine.heater(*output).is_some()).collect();
    let lanes = dice.byte(1, 4).min(u8::try_from(heaters.len()).unwrap());
    let calls = vec!["lay in".to_owned(), "swing".to_owned(), "take out".to_owned()];
    let lanes = (0..lanes)
        .map(|lane| {
            let own: Vec<u8> = heaters.iter().copied().filter(|heater| heater % lanes == lane).collect();
            lane_code(dice, machine, &own, &tables)
        })
        .collect();
    let mut digest = [0; 16];
    digest.fill(dice.byte(0, 255));
    let mut limits = machine.clone();
    for output in &mut limits.outputs {
        if output.longest > 1 && dice.once_in(4) {
            output.longest -= 1;
        }
    }
    let verdict = if dice.once_in(2) { Verdict::Proved } else { Verdict::Nominal };
    Image { digest, verdict, name: "random".to_owned(), steps: 40, machine: limits, calls, tables, lanes }
}

fn lane_code(dice: &mut Dice, machine: &Machine, own: &[u8], tables: &[Vec<HeatRow>]) -> Vec<Instruction> {
    let mut code = Assembler::default();
    let loops = dice.below(3);
    let mut enough = None;
    if loops > 0 {
        let times = dice.short(1, 4);
        code.push(Instruction::Repeat(times));
        enough = (!dice.once_in(3)).then(|| dice.short(1, 3));
    }
    if dice.once_in(3) {
        warm_up(dice, machine, own, &mut code);
    }
    // A jump over a whole loop.
    let over = (loops == 2 && dice.once_in(6)).then(|| code.label());
    if let Some(over) = over {
        code.skip(over);
    }
    if loops == 2 {
        code.push(Instruction::Repeat(dice.short(1, 3)));
    }
    for _ in 0..dice.between(1, 2) {
        heat(dice, machine, own, tables, &mut code);
    }
    if loops == 2 {
        code.push(Instruction::Again);
    }
    if let Some(over) = over {
        code.place(over);
    }
    if let Some(enough) = enough {
        code.push(Instruction::Enough(enough));
    }
    if loops > 0 {
        code.push(Instruction::Again);
    }
    if dice.once_in(40) {
        code.push(Instruction::Fault(dice.byte(120, 255)));
    }
    code.push(Instruction::End);
    let mut code = code.finish();
    if dice.once_in(12) {
        let at = usize::try_from(dice.below(u32::try_from(code.len()).unwrap())).unwrap();
        code[at] = any(dice);
    }
    code
}

/// Any instruction at all.
pub fn any(dice: &mut Dice) -> Instruction {
    match dice.below(15) {
        0 => Instruction::End,
        1 => Instruction::Step(dice.short(0, 45)),
        2 => Instruction::Call(dice.byte(0, 4)),
        3 => Instruction::On { output: dice.byte(0, 8), level: dice.pick(&[0, 1, 100, 204, 205, 255]) },
        4 => Instruction::Off(dice.byte(0, 8)),
        5 => Instruction::Begin {
            supply: dice.byte(0, 3),
            amount: dice.short(0, 3200),
            from: dice.below(2000),
            lasts: dice.below(9000),
        },
        6 => Instruction::Wait(dice.below(3000)),
        7 => Instruction::Await {
            input: dice.byte(0, 16),
            level: dice.byte(0, 2),
            limit: dice.below(3000),
            target: dice.short(0, 200),
        },
        8 => Instruction::WaitRow(dice.byte(0, 4)),
        9 => Instruction::Repeat(dice.short(0, 4)),
        10 => Instruction::Again,
        11 => Instruction::Enough(dice.short(0, 4)),
        12 => Instruction::Skip(dice.short(0, 200)),
        13 => Instruction::Scrap,
        _ => Instruction::Fault(dice.byte(0, 255)),
    }
}

fn level(dice: &mut Dice, machine: &Machine, output: u8) -> u8 {
    let relay = machine.heater(output).is_some_and(|output| output.switch == SwitchKind::Relay);
    if relay { dice.pick(&[0, 255, 255]) } else { dice.pick(&[0, 1, 64, 128, 204, 205, 255, 255, 255]) }
}

fn warm_up(dice: &mut Dice, machine: &Machine, own: &[u8], code: &mut Assembler) {
    let output = dice.pick(own);
    let Some(heater) = machine.heater(output) else { return };
    let lasts = dice.between(50, u32::from(heater.longest) * 100);
    let amount = heater.draw;
    code.push(Instruction::Begin { supply: heater.supply, amount, from: 0, lasts: lasts + dice.below(100) });
    code.push(Instruction::On { output, level: 255 });
    code.push(Instruction::Wait(lasts));
    code.push(Instruction::Off(output));
}

fn heat(dice: &mut Dice, machine: &Machine, own: &[u8], tables: &[Vec<HeatRow>], code: &mut Assembler) {
    let first = dice.pick(own);
    let Some(supply) = machine.heater(first).map(|heater| heater.supply) else { return };
    let mates: Vec<u8> = own
        .iter()
        .copied()
        .filter(|other| *other != first && machine.heater(*other).is_some_and(|heater| heater.supply == supply))
        .collect();
    let second = (!mates.is_empty() && dice.once_in(2)).then(|| dice.pick(&mates));
    let used: Vec<u8> = [Some(first), second].into_iter().flatten().collect();
    let draw: u16 = used.iter().filter_map(|output| machine.heater(*output)).map(|heater| heater.draw).sum();
    let mut stages = Vec::new();
    let (mut shortest, mut longest) = (0, 0);
    let room = used.iter().filter_map(|output| machine.heater(*output)).map(|heater| heater.longest).min();
    let room = u32::from(room.unwrap_or(1)) * 100;
    for _ in 0..dice.between(1, 3) {
        let table =
            (!tables.is_empty() && dice.once_in(3)).then(|| dice.byte(0, u8::try_from(tables.len()).unwrap() - 1));
        let (low, high, wait) = if let Some(table) = table {
            let times = tables[usize::from(table)].iter().map(|row| row.time);
            (times.clone().min().unwrap(), times.max().unwrap(), Instruction::WaitRow(table))
        } else {
            let time = dice.between(1, room / 2);
            (time, time, Instruction::Wait(time))
        };
        if longest + high > room && !dice.once_in(60) {
            continue;
        }
        shortest += low;
        longest += high;
        stages.push(wait);
    }
    let transfer = dice.between(100, 2500);
    let from = dice.below(shortest + 1);
    let slack = if dice.once_in(60) { 0 } else { dice.below(500) };
    code.push(Instruction::Step(dice.short(1, 40)));
    if dice.once_in(2) {
        code.push(Instruction::Call(0));
    }
    code.push(Instruction::Begin {
        supply,
        amount: if dice.once_in(60) { draw - 1 } else { draw + dice.short(0, 20) },
        from,
        lasts: (longest + transfer + slack).saturating_sub(from),
    });
    for output in &used {
        code.push(Instruction::On { output: *output, level: level(dice, machine, *output) });
    }
    if dice.once_in(4) {
        code.push(Instruction::Call(1));
    }
    let mut lit = used.clone();
    for (index, wait) in stages.iter().enumerate() {
        code.push(*wait);
        if index + 1 < stages.len() {
            let output = dice.pick(&lit);
            if lit.len() > 1 && dice.once_in(3) {
                code.push(Instruction::Off(output));
                lit.retain(|other| *other != output);
            } else {
                code.push(Instruction::On { output, level: level(dice, machine, output) });
            }
        }
    }
    for output in &lit {
        code.push(Instruction::Off(*output));
    }
    if dice.once_in(2) {
        code.push(Instruction::Call(1));
    }
    let (missed, done) = (code.label(), code.label());
    for output in &used {
        if let Some(input) = machine.input(InputRole::Down(*output)) {
            code.wait_for(input, 1, transfer, missed);
        }
    }
    code.push(Instruction::Step(dice.short(1, 40)));
    code.push(Instruction::Wait(dice.between(0, 1500)));
    code.skip(done);
    code.place(missed);
    if dice.once_in(4) {
        code.push(Instruction::Fault(dice.byte(128, 255)));
    } else {
        code.push(Instruction::Scrap);
    }
    code.place(done);
    code.push(Instruction::Call(2));
}
