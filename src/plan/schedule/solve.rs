use crate::plan::schedule::beam::beam;
use crate::plan::schedule::bound::bound;
use crate::plan::schedule::exact::exact;
use crate::plan::schedule::pair::pair;
use crate::plan::schedule::place::{chain_by_chain, holds};
use crate::plan::schedule::problem::{Problem, Starts};

/// How much work a search may do. It is counted in steps, never in seconds, so that every machine finds the same.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Units placed on trial while a schedule is built, for each weight.
    pub placements: usize,
    /// Decisions tried while one is proved.
    pub decisions: u64,
}

/// A schedule, and how good it can be at the best.
#[derive(Clone, Debug)]
pub struct Solved {
    /// When each unit starts.
    pub starts: Starts,
    /// When the last one ends.
    pub end: i64,
    /// No schedule ends before this.
    pub bound: i64,
}

/// At most so many schedules are built side by side.
const WIDEST: usize = 128;

/// How much the end counts for beside the waiting while a schedule is built; which of these is best hangs on the batch.
const WEIGHTS: [i64; 3] = [1, 8, 64];

/// More units than these are not searched for a proof, and their chains are not placed one by one: it would take long.
const MOST_PROVED: usize = 80;
const MOST_BY_CHAIN: usize = 20_000;

/// Chains are placed one by one in so many orders at most: those of four lanes.
const MOST_BY_CHAIN_ORDERS: usize = 24;

/// The best schedule that can be found with so much effort. One that does not end before `known` is of no use, and need
/// not be looked for; the bound may then be `known`.
pub fn solve(problem: &Problem, known: Option<i64>, effort: &mut Effort) -> Solved {
    let mut least = bound(problem, &problem.heads(), &problem.tails());
    let chains = problem.chains.len();
    let mut found: Vec<Starts> = Vec::new();
    if problem.size() <= MOST_BY_CHAIN {
        found.extend(orders(chains, MOST_BY_CHAIN_ORDERS).iter().map(|order| chain_by_chain(problem, order)));
    }
    let shortest = |found: &[Starts]| found.iter().map(|starts| problem.end(starts)).min();
    if shortest(&found).is_none_or(|end| end > least) {
        let width = (effort.placements / (problem.size() * chains).max(1)).clamp(1, WIDEST);
        found.extend(WEIGHTS.map(|weight| beam(problem, width, weight)));
    }
    let known = known.into_iter().chain(shortest(&found)).min();
    if let Some(end) = known.filter(|end| *end > least) {
        let (better, shown) = two_by_two(problem, end, effort.placements);
        least = least.max(shown);
        found.extend(better.filter(|starts| holds(problem, starts)));
    }
    let best = found.into_iter().map(|starts| (problem.end(&starts), starts)).min_by_key(|(end, _)| *end);
    let (mut end, mut starts) = best.unwrap_or_default();
    let target = known.map_or(end, |known| known.min(end));
    if target > least && problem.size() <= MOST_PROVED {
        let shown = exact(problem, target, effort.decisions);
        effort.decisions = shown.steps;
        let better = shown.better.map(|better| (problem.end(&better), better));
        let reached = better.as_ref().map_or(target, |(end, _)| *end);
        if let Some(better) = better {
            (end, starts) = better;
        }
        if shown.complete {
            least = reached;
        }
    }
    Solved { starts, end, bound: least }
}

/// What any two chains say about all of them, and a better schedule if there are no others.
fn two_by_two(problem: &Problem, known: i64, most: usize) -> (Option<Starts>, i64) {
    let count = problem.chains.len();
    let pairs = || (0..count).flat_map(|second| (0..second).map(move |first| [first, second]));
    let share = most / pairs().count().max(1);
    let (mut better, mut bound) = (None, 0);
    for chains in pairs() {
        let chains = chains.iter().filter_map(|chain| problem.chains.get(*chain)).cloned().collect();
        let two = Problem { chains, capacities: problem.capacities.clone() };
        let Some(paired) = pair(&two, known, share) else { continue };
        bound = bound.max(paired.bound);
        better = paired.better.filter(|_| count == 2);
    }
    (better, bound)
}

/// Every order of so many things, `most` of them at most, beginning with the given one.
pub fn orders(count: usize, most: usize) -> Vec<Vec<usize>> {
    let mut orders = vec![Vec::new()];
    for thing in 0..count {
        let longer = orders.iter().flat_map(|order: &Vec<usize>| {
            (0..=order.len()).rev().map(|place| {
                let mut longer = order.clone();
                longer.insert(place, thing);
                longer
            })
        });
        orders = longer.take(most).collect();
    }
    orders
}
