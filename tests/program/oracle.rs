//! A slow checker that shares no code with the verifier: it follows every path an image can take, one state after the
//! other, and says what harm it finds. It is written from the rules of `grammar/program-format.md`.

use std::collections::{BTreeMap, BTreeSet};

use withy::program::Machine;

use crate::runtime::machine_bytes;

#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Path {
    at: usize,
    loops: Vec<usize>,
    /// Time that each heater has been on in this heat.
    on: [Option<u64>; 8],
    used: u8,
    /// supply, amount, from, lasts
    claim: Option<(u8, u64, u64, u64)>,
    /// A `begin` stands before, with only marks and calls between.
    fresh: bool,
    shortest: u64,
    longest: u64,
    transfer: u64,
    /// Arms that must be seen down before anything else.
    due: u8,
    /// A bend was missed: only `scrap` or `fault` may follow.
    missed: bool,
}

struct Parts<'a> {
    image: &'a [u8],
    outputs: usize,
    output_count: usize,
    inputs: usize,
    input_count: usize,
    supplies: usize,
    supply_count: usize,
    tables: Vec<Vec<u64>>,
    calls: u64,
    steps: u64,
    /// Of the lane that is looked at.
    loops: BTreeMap<usize, usize>,
}

fn number(bytes: &[u8], at: usize, count: usize) -> u64 {
    (0..count).map(|index| u64::from(bytes[at + index]) << (8 * index)).sum()
}

impl Parts<'_> {
    fn is_heater(&self, output: u8) -> bool {
        usize::from(output) < self.output_count && self.image[self.outputs + 8 * usize::from(output) + 1] == 1
    }

    fn output(&self, output: usize, field: usize) -> u64 {
        number(self.image, self.outputs + 8 * output + field, 2)
    }

    fn supply(&self, output: u8) -> u8 {
        self.image[self.outputs + 8 * usize::from(output) + 3]
    }

    fn arm_of(&self, input: u8) -> Option<u8> {
        let at = self.inputs + 5 * usize::from(input);
        (usize::from(input) < self.input_count && matches!(self.image[at + 1], 3 | 4)).then(|| self.image[at + 2])
    }

    fn down_of(&self, input: u8) -> Option<u8> {
        let at = self.inputs + 5 * usize::from(input);
        (usize::from(input) < self.input_count && self.image[at + 1] == 3).then(|| self.image[at + 2])
    }
}

/// Whether the tables of an image are those of a machine, but for times that may be shorter.
fn foreign(image: &[u8], machine: &Machine) -> Option<String> {
    let own = machine_bytes(machine);
    let at = 43 + usize::from(image[42]);
    let is = |offset: usize, bytes: &[u8]| image.get(offset..offset + bytes.len()) == Some(bytes);
    if !is(24, &machine.bench.to_le_bytes()) || !is(33, &own[..4]) {
        return Some("is for another bench".to_owned());
    }
    let outputs = 8 * machine.outputs.len();
    for (index, output) in machine.outputs.iter().enumerate() {
        let here = at + 8 * index;
        let bytes = &own[4 + 8 * index..12 + 8 * index];
        if !is(here, &bytes[..4]) || !is(here + 6, &bytes[6..]) {
            return Some(format!("output {index} is another"));
        }
        if number(image, here + 4, 2) > u64::from(output.longest) {
            return Some(format!("output {index} may be on for longer than here"));
        }
    }
    (!is(at + outputs, &own[4 + outputs..])).then(|| "inputs or supplies are others".to_owned())
}

/// What harm an image whose parts are where they should be could do on a machine.
pub fn harm(image: &[u8], machine: &Machine) -> Option<String> {
    if let Some(what) = foreign(image, machine) {
        return Some(what);
    }
    let count = |at: usize| usize::from(image[at]);
    let mut at = 43 + count(42);
    let outputs = at;
    let inputs = outputs + 8 * count(34);
    let supplies = inputs + 5 * count(35);
    at = supplies + 2 * count(36);
    for _ in 0..count(37) {
        at += 1 + count(at);
    }
    let mut tables = Vec::new();
    for _ in 0..count(38) {
        let rows = count(at);
        tables.push((0..rows).map(|row| number(image, at + 1 + 5 * row + 2, 3)).collect());
        at += 1 + 5 * rows;
    }
    let mut parts = Parts {
        image,
        outputs,
        output_count: count(34),
        inputs,
        input_count: count(35),
        supplies,
        supply_count: count(36),
        tables,
        calls: u64::from(image[37]),
        steps: number(image, 40, 2),
        loops: BTreeMap::new(),
    };
    let mut all = 0;
    for lane in 0..count(39) {
        let length = usize::try_from(number(image, at, 2)).unwrap();
        let code = &image[at + 2..at + 2 + length];
        at += 2 + length;
        parts.loops = loops_of(code);
        match explore(&parts, code) {
            Ok(switched) if switched & all == 0 => all |= switched,
            Ok(_) => return Some(format!("lane {lane} shares a heater")),
            Err(what) => return Some(format!("lane {lane}: {what}")),
        }
    }
    None
}

/// Where each `again` goes back to: the loop that it closes by the order of the bytes.
fn loops_of(code: &[u8]) -> BTreeMap<usize, usize> {
    let (mut at, mut open, mut closes) = (0, Vec::new(), BTreeMap::new());
    while let Some(size) = code.get(at).and_then(|operation| size_of(*operation)) {
        match code[at] {
            0x30 => open.push(at + size),
            0x31 => drop(open.pop().map(|back| closes.insert(at, back))),
            _ => {}
        }
        at += size;
    }
    closes
}

fn size_of(operation: u8) -> Option<usize> {
    Some(match operation {
        0x00 | 0x31 | 0x41 => 1,
        0x02 | 0x11 | 0x22 | 0x42 => 2,
        0x01 | 0x10 | 0x30 | 0x32 | 0x40 => 3,
        0x20 => 4,
        0x21 => 8,
        0x12 => 10,
        _ => return None,
    })
}

/// Follows every path; gives the heaters that some path switches on.
fn explore(parts: &Parts<'_>, code: &[u8]) -> Result<u8, String> {
    let start = Path {
        at: 0,
        loops: Vec::new(),
        on: [None; 8],
        used: 0,
        claim: None,
        fresh: false,
        shortest: 0,
        longest: 0,
        transfer: 0,
        due: 0,
        missed: false,
    };
    let mut seen = BTreeSet::new();
    let mut open = vec![start];
    let mut switched = 0;
    while let Some(path) = open.pop() {
        if !seen.insert(path.clone()) {
            continue;
        }
        assert!(seen.len() < 200_000, "too many states to follow");
        let next = follow(parts, code, path)?;
        for path in &next {
            switched |= path.used;
        }
        open.extend(next);
    }
    Ok(switched)
}

/// The states that may come after one.
#[expect(clippy::too_many_lines, reason = "one rule after the other, as they stand in the format")]
fn follow(parts: &Parts<'_>, code: &[u8], mut path: Path) -> Result<Vec<Path>, String> {
    let here = path.at;
    let wrong = |what: &str| Err(format!("at {here}: {what}"));
    let byte = |offset: usize| code.get(here + offset).copied().unwrap_or(0);
    let value = |offset: usize, count: usize| {
        (0..count).map(|index| u64::from(byte(offset + index)) << (8 * index)).sum::<u64>()
    };
    let Some(operation) = code.get(here).copied() else { return wrong("runs off the end") };
    let Some(size) = size_of(operation) else { return wrong("no instruction") };
    if here + size > code.len() {
        return wrong("cut short");
    }
    path.at = here + size;
    let hot = path.on.iter().any(Option::is_some);
    let marks = matches!(operation, 0x01 | 0x02);
    if path.missed && !marks && !matches!(operation, 0x41 | 0x42) {
        return wrong("goes on after a missed bend as if bent");
    }
    if path.due != 0 && !marks && operation != 0x21 && !path.missed {
        return wrong("does not await a bend");
    }
    if hot && !marks && !matches!(operation, 0x10 | 0x11 | 0x20 | 0x22) {
        return wrong("does something other than waiting while a heater is on");
    }
    if path.fresh && !hot && !marks && operation != 0x10 {
        return wrong("a press was taken, and nothing heats");
    }
    match operation {
        0x01 if value(1, 2) == 0 || value(1, 2) > parts.steps => return wrong("no such row"),
        0x02 if u64::from(byte(1)) >= parts.calls => return wrong("no such call"),
        0x42 if byte(1) < 128 => return wrong("takes a fault of the controller's own"),
        0x00 if !path.loops.is_empty() => return wrong("ends in a loop"),
        0x00 if path.at != code.len() => return wrong("ends before its end"),
        0x10 => {
            let heater = byte(1);
            if !parts.is_heater(heater) {
                return wrong("switches on what is no heater");
            }
            let relay = parts.image[parts.outputs + 8 * usize::from(heater) + 2] == 2;
            if relay && byte(2) != 0 && byte(2) != 255 {
                return wrong("gives a relay part power");
            }
            let Some((supply, amount, _, _)) = path.claim else { return wrong("heats without a claim") };
            if !hot && !path.fresh {
                return wrong("heats without a press");
            }
            let place = usize::from(heater);
            if path.on[place].is_none() {
                if path.used & (1 << heater) != 0 {
                    return wrong("heats twice in one heat");
                }
                path.on[place] = Some(0);
                path.used |= 1 << heater;
            }
            let lit = |output: &usize| path.on[*output].is_some();
            let draws: u64 = (0..parts.output_count).filter(lit).map(|output| parts.output(output, 6)).sum();
            if draws > amount || parts.supply(heater) != supply {
                return wrong("draws more than it claims");
            }
            path.fresh = false;
        }
        0x11 => {
            if !parts.is_heater(byte(1)) || path.on[usize::from(byte(1))].take().is_none() {
                return wrong("switches off what is not on");
            }
            if path.on.iter().all(Option::is_none) {
                let Some((_, _, from, lasts)) = path.claim.take() else { return wrong("no claim") };
                let stays = from == 0 && lasts >= path.longest;
                if !stays {
                    if from > path.shortest {
                        return wrong("the operator comes after the end of the heat");
                    }
                    path.due = path.used;
                    path.claim = Some((0, 0, from, lasts));
                }
                if stays {
                    path.used = 0;
                    path.shortest = 0;
                    path.longest = 0;
                }
            }
        }
        0x12 => {
            let supply = byte(1);
            let amount = value(2, 2);
            if usize::from(supply) >= parts.supply_count
                || amount > number(parts.image, parts.supplies + 2 * usize::from(supply), 2)
            {
                return wrong("claims what no supply can give");
            }
            path.claim = Some((supply, amount, value(4, 3), value(7, 3)));
            path.fresh = true;
            path.used = 0;
            path.shortest = 0;
            path.longest = 0;
            path.transfer = 0;
        }
        0x20 | 0x22 => {
            let (low, high) = if operation == 0x20 {
                (value(1, 3), value(1, 3))
            } else {
                let Some(rows) = parts.tables.get(usize::from(byte(1))) else { return wrong("no such table") };
                (rows.iter().copied().min().unwrap_or(0), rows.iter().copied().max().unwrap_or(0))
            };
            if hot {
                path.shortest += low;
                path.longest += high;
            }
            for heater in 0..8 {
                if let Some(on) = &mut path.on[heater] {
                    *on += high;
                    if *on > parts.output(heater, 4) * 100 {
                        return wrong("a heater is on beyond its limit");
                    }
                }
            }
        }
        0x21 => {
            if parts.arm_of(byte(1)).is_none() || byte(2) > 1 {
                return wrong("awaits what is no arm");
            }
            let mut late = path.clone();
            late.at = usize::try_from(value(6, 2)).unwrap();
            if late.at < here + size {
                return wrong("goes back");
            }
            if path.due != 0 {
                let Some(of) = parts.down_of(byte(1)) else { return wrong("awaits something else than a bend") };
                if path.due & (1 << of) == 0 || byte(2) != 1 {
                    return wrong("awaits another bend");
                }
                path.due &= !(1 << of);
                path.transfer = path.transfer.max(value(3, 3));
                late.missed = true;
                if path.due == 0 {
                    let Some((_, _, from, lasts)) = path.claim.take() else { return wrong("no reservation") };
                    if from + lasts < path.longest + path.transfer {
                        return wrong("the operator leaves before the bend is made");
                    }
                    path.used = 0;
                    path.shortest = 0;
                    path.longest = 0;
                    path.transfer = 0;
                }
            }
            return Ok(vec![path, late]);
        }
        0x30 => {
            if path.loops.len() >= 2 || value(1, 2) == 0 {
                return wrong("a loop too many");
            }
            path.loops.push(path.at);
        }
        0x31 => {
            let Some(back) = path.loops.last().copied() else { return wrong("ends a loop that it is not in") };
            if parts.loops.get(&here) != Some(&back) {
                return wrong("ends a loop that it was not begun in");
            }
            let mut again = path.clone();
            again.at = back;
            path.loops.pop();
            return Ok(vec![path, again]);
        }
        0x32 => {
            let mut leaves = path.clone();
            if code.get(path.at) != Some(&0x31) || value(1, 2) == 0 || path.loops.len() != 1 {
                return wrong("leaves a loop that it is not in");
            }
            let _ = leaves.loops.pop();
            leaves.at += 1;
            return Ok(vec![path, leaves]);
        }
        0x40 => {
            let target = usize::try_from(value(1, 2)).unwrap();
            if target < path.at {
                return wrong("goes back");
            }
            path.at = target;
        }
        0x41 => {
            path.missed = false;
            path.due = 0;
            path.claim = None;
            path.used = 0;
            path.shortest = 0;
            path.longest = 0;
            path.transfer = 0;
        }
        0x00 | 0x42 => return Ok(Vec::new()),
        _ => {}
    }
    Ok(vec![path])
}
