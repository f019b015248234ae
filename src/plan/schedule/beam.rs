use crate::plan::schedule::place::Profiles;
use crate::plan::schedule::problem::{Problem, Starts};

/// A schedule of the first units of each chain.
#[derive(Clone)]
struct Partial {
    /// How the last unit was placed, by its number among the choices.
    choice: Option<usize>,
    /// How many units of each chain are placed.
    placed: Vec<usize>,
    /// When the next unit of each chain can start at the earliest; of a chain with none left, its end.
    next: Vec<i64>,
    /// What is used.
    profiles: Profiles,
    /// Less is better.
    rank: (i64, i64),
}

/// A unit that was placed, and the choice before it.
struct Choice {
    before: Option<usize>,
    chain: usize,
    start: i64,
}

/// What is known of the chains before anything is placed: where each unit would start if its chain had everything to
/// itself, and how long it is from there to the chain's end. Both have one more entry, for the end.
struct Alone {
    heads: Starts,
    tails: Vec<Vec<i64>>,
}

/// The best of a few good schedules that are built unit by unit, `width` of them side by side.
///
/// Each step places the next unit of one chain at its earliest; only units that can start before another one could be
/// finished compete (Giffler & Thompson 1960). Kept are those with the least `weight` × end + waiting, where the end is
/// the latest of all chains if none of them had to wait any more, and the waiting is that of all chains. The end alone
/// would put a chain with time to spare off until it has none left: then it is too late to put it in between.
pub fn beam(problem: &Problem, width: usize, weight: i64) -> Starts {
    let alone = Alone::new(problem);
    let chains = problem.chains.len();
    let mut choices: Vec<Choice> = Vec::new();
    let mut kept = vec![Partial {
        choice: None,
        placed: vec![0; chains],
        next: vec![0; chains],
        profiles: Profiles::new(problem),
        rank: (0, 0),
    }];
    for _ in 0..problem.size() {
        let mut grown: Vec<Partial> = Vec::new();
        for partial in &kept {
            for chain in competing(problem, partial) {
                choices.push(Choice { before: partial.choice, chain, start: partial.next[chain] });
                let mut longer = grow(problem, partial, chain);
                longer.choice = Some(choices.len() - 1);
                longer.rank = alone.rank(&longer, weight);
                grown.push(longer);
            }
        }
        grown.sort_by(|a, b| key(a).cmp(&key(b)));
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

impl Alone {
    fn new(problem: &Problem) -> Self {
        let mut own = Self { heads: problem.heads(), tails: problem.tails() };
        for (heads, tails) in own.heads.iter_mut().zip(&mut own.tails) {
            heads.push(tails.first().copied().unwrap_or(0));
            tails.push(0);
        }
        own
    }

    fn rank(&self, partial: &Partial, weight: i64) -> (i64, i64) {
        let (mut end, mut waited) = (0, 0);
        for (chain, next) in partial.next.iter().enumerate() {
            let placed = partial.placed[chain];
            end = end.max(next + self.tails[chain][placed]);
            waited += next - self.heads[chain][placed];
        }
        (weight * end + waited, end)
    }
}

/// The chains whose next unit may come now.
fn competing(problem: &Problem, partial: &Partial) -> Vec<usize> {
    let next = problem.chains.iter().zip(&partial.placed).zip(&partial.next).enumerate();
    let next = next.filter_map(|(chain, ((units, placed), start))| {
        let unit = units.get(*placed)?;
        Some((chain, *start, start + unit.lasts))
    });
    let next: Vec<_> = next.collect();
    let first_end = next.iter().map(|(_, _, end)| *end).min().unwrap_or(0);
    let may = next.iter().filter(|(_, start, end)| *start < first_end || *end == first_end);
    may.map(|(chain, _, _)| *chain).collect()
}

/// With the next unit of a chain at its earliest.
fn grow(problem: &Problem, partial: &Partial, chain: usize) -> Partial {
    let mut grown = partial.clone();
    if let Some(unit) = problem.chains[chain].get(partial.placed[chain]) {
        grown.profiles.take(unit, partial.next[chain]);
        grown.next[chain] += unit.lasts;
    }
    grown.placed[chain] += 1;
    let mut earliest = None;
    for (chain, units) in problem.chains.iter().enumerate() {
        let Some(unit) = units.get(grown.placed[chain]) else { continue };
        // What is used only grows, and so does the earliest start.
        grown.next[chain] = grown.profiles.earliest(unit, grown.next[chain]);
        earliest = Some(earliest.map_or(grown.next[chain], |least: i64| least.min(grown.next[chain])));
    }
    if let Some(earliest) = earliest {
        grown.profiles.forget(earliest);
    }
    grown
}

/// The last parts only make the order certain.
fn key(partial: &Partial) -> ((i64, i64), &[usize], &[i64]) {
    (partial.rank, &partial.placed, &partial.next)
}

fn same(a: &Partial, b: &Partial) -> bool {
    a.placed == b.placed && a.next == b.next && a.profiles == b.profiles
}
