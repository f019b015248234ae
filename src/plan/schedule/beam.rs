use crate::plan::schedule::place::Profiles;
use crate::plan::schedule::problem::{Problem, Starts};

/// A schedule of the first units of each chain.
#[derive(Clone)]
struct Partial {
    /// How the last unit was placed, by its number among the choices.
    choice: Option<usize>,
    /// How many units of each chain are placed.
    placed: Vec<usize>,
    /// When each chain goes on.
    ready: Vec<i64>,
    /// What is used.
    profiles: Profiles,
    /// No completion ends before this.
    end: i64,
    /// How long chains have waited, in all.
    waited: i64,
}

/// A unit that was placed, and the choice before it.
struct Choice {
    before: Option<usize>,
    chain: usize,
    start: i64,
}

/// The best of a few good schedules that are built unit by unit, `width` of them side by side.
///
/// Each step places the next unit of one chain at its earliest; only units that can start before another one could be
/// finished compete (Giffler & Thompson 1960). Kept are those with the least bound, then the least waiting.
pub fn beam(problem: &Problem, width: usize) -> Starts {
    let tails = problem.tails();
    let chains = problem.chains.len();
    let mut choices: Vec<Choice> = Vec::new();
    let mut kept = vec![Partial {
        choice: None,
        placed: vec![0; chains],
        ready: vec![0; chains],
        profiles: Profiles::new(problem),
        end: tails.iter().filter_map(|tails| tails.first()).copied().max().unwrap_or(0),
        waited: 0,
    }];
    for _ in 0..problem.size() {
        let mut grown: Vec<Partial> = Vec::new();
        for partial in &kept {
            for (chain, start) in competing(problem, partial) {
                grown.push(grow(problem, partial, (chain, start), &tails, &mut choices));
            }
        }
        grown.sort_by(|a, b| rank(a).cmp(&rank(b)));
        kept.clear();
        for partial in grown {
            if kept.len() == width {
                break;
            }
            if !kept.iter().any(|other| same(other, &partial)) {
                kept.push(partial);
            }
        }
    }
    let mut starts: Starts = vec![Vec::new(); chains];
    let mut last = kept.first().and_then(|partial| partial.choice);
    while let Some(choice) = last.and_then(|last| choices.get(last)) {
        starts[choice.chain].push(choice.start);
        last = choice.before;
    }
    for chain in &mut starts {
        chain.reverse();
    }
    starts
}

/// The chains whose next unit may come now, with its start.
fn competing(problem: &Problem, partial: &Partial) -> Vec<(usize, i64)> {
    let next = problem.chains.iter().enumerate().filter_map(|(chain, units)| {
        let unit = units.get(partial.placed[chain])?;
        let start = partial.profiles.earliest(unit, partial.ready[chain]);
        Some((chain, start, start + unit.lasts))
    });
    let next: Vec<_> = next.collect();
    let first_end = next.iter().map(|(_, _, end)| *end).min().unwrap_or(0);
    let may = next.iter().filter(|(_, start, end)| *start < first_end || *end == first_end);
    may.map(|(chain, start, _)| (*chain, *start)).collect()
}

fn grow(
    problem: &Problem,
    partial: &Partial,
    (chain, start): (usize, i64),
    tails: &[Vec<i64>],
    choices: &mut Vec<Choice>,
) -> Partial {
    let mut grown = partial.clone();
    let index = partial.placed[chain];
    if let Some(unit) = problem.chains[chain].get(index) {
        grown.profiles.take(unit, start);
        grown.waited += start - partial.ready[chain];
        grown.ready[chain] = start + unit.lasts;
        grown.end = grown.end.max(start + tails[chain][index]);
    }
    grown.placed[chain] += 1;
    let open = (0..grown.ready.len()).filter(|chain| grown.placed[*chain] < problem.chains[*chain].len());
    if let Some(earliest) = open.map(|chain| grown.ready[chain]).min() {
        grown.profiles.forget(earliest);
    }
    choices.push(Choice { before: partial.choice, chain, start });
    grown.choice = Some(choices.len() - 1);
    grown
}

/// Less is better; the last parts only make the order certain.
fn rank(partial: &Partial) -> (i64, i64, i64, &[usize], &[i64]) {
    let latest = partial.ready.iter().copied().max().unwrap_or(0);
    (partial.end, partial.waited, latest, &partial.placed, &partial.ready)
}

fn same(a: &Partial, b: &Partial) -> bool {
    a.placed == b.placed && a.ready == b.ready && a.profiles == b.profiles
}
