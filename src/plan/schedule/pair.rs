use std::collections::{BTreeMap, BTreeSet};

use crate::plan::schedule::problem::{Problem, Starts, Unit};

/// What was found for two chains.
pub struct Paired {
    /// When each unit starts, if the last one ends before what was known.
    pub better: Option<Starts>,
    /// No schedule ends before this. It is the end of the better one, or what was known, where no state was left out.
    pub bound: i64,
}

/// A unit waited for the other chain. From its start on both chains go on, and the other one will not wait before.
#[derive(Clone, Copy)]
struct Wait {
    /// The chain that waited; none at the very beginning.
    chain: Option<usize>,
    /// The unit of each chain: the one that waited, and the one that is under way at its start.
    at: [usize; 2],
    starts: [i64; 2],
    before: Option<usize>,
}

/// Waits of which only the earliest need be followed: who waited, the units, and the time between their starts.
type Key = (Option<usize>, [usize; 2], i64);

/// Waits that are to be followed, by what can come of them at the best.
type Open = BTreeMap<(i64, Key), Wait>;

/// A schedule of two chains that ends before `known` and as early as any, if `most` states are enough for it.
///
/// Of two chains, two units at most run at one moment, so that a schedule is a path between obstacles in the plane of
/// the two chains (Akers 1956, for a shop with two jobs). Units are rigid here. Both chains go on without waiting until
/// two units cannot overlap as they would; then the one waits or the other. Who waits does so for a unit that is under
/// way or to come: if that one were put off, both would be, so that it never waits for what comes later. Therefore all
/// that comes after a wait depends on nothing but the units under way and the time between their starts. Waits with
/// the same number of units behind them are followed together; where they are too many, the least promising are left
/// out, and the bound says what that may have cost.
pub fn pair(problem: &Problem, known: i64, most: usize) -> Option<Paired> {
    let [first, second] = problem.chains.as_slice() else { return None };
    let chains = [first.as_slice(), second.as_slice()];
    let plane = Plane { problem, chains };
    let rest = Rest::new(problem, chains);
    let levels = (first.len() + second.len()).max(1);
    let width = (most / levels).max(2);
    let mut open: Vec<Open> = vec![Open::new(); levels];
    let root = Wait { chain: None, at: [0, 0], starts: [0, 0], before: None };
    if let Some(level) = open.first_mut() {
        level.insert((rest.least(&root), root.key()), root);
    }
    let mut waits: Vec<Wait> = Vec::new();
    let (mut end, mut last, mut bound) = (known, None, known);
    for level in 0..levels {
        let mut done: BTreeSet<Key> = BTreeSet::new();
        while let Some(((least, key), wait)) = open.get_mut(level).and_then(BTreeMap::pop_first) {
            if least >= end || done.len() == width {
                bound = bound.min(least);
                break;
            }
            if !done.insert(key) {
                continue;
            }
            let number = waits.len();
            waits.push(wait);
            match plane.go_on(&wait) {
                Ok(reached) if reached < end => (end, last) = (reached, Some(number)),
                Ok(_) => {}
                Err(clash) => {
                    for next in plane.ways(&wait, number, clash) {
                        if let Some(level) = open.get_mut(next.at[0] + next.at[1]) {
                            level.entry((rest.least(&next), next.key())).or_insert(next);
                        }
                    }
                }
            }
        }
        if let Some(level) = open.get_mut(level) {
            level.clear();
        }
    }
    Some(Paired { better: last.map(|last| starts(&waits, last, chains)), bound: bound.min(end) })
}

impl Wait {
    fn key(&self) -> Key {
        (self.chain, self.at, self.starts[0] - self.starts[1])
    }
}

/// Two units that cannot overlap as they would.
#[derive(Clone, Copy)]
struct Clash {
    at: [usize; 2],
    starts: [i64; 2],
}

struct Plane<'p> {
    problem: &'p Problem,
    chains: [&'p [Unit]; 2],
}

impl Plane<'_> {
    /// Both chains without waiting: when the later one ends, or the first two units that clash.
    fn go_on(&self, wait: &Wait) -> Result<i64, Clash> {
        let (mut at, mut starts) = (wait.at, wait.starts);
        loop {
            if self.earliest(0, at, starts) > starts[0] {
                return Err(Clash { at, starts });
            }
            let next = |chain: usize| {
                let last = at[chain] + 1 >= self.chains[chain].len();
                (!last).then_some((starts[chain] + self.lasts(chain, at[chain]), chain))
            };
            let Some((start, chain)) = next(0).into_iter().chain(next(1)).min() else {
                let ends = [0, 1].map(|chain| starts[chain] + self.lasts(chain, at[chain]));
                return Ok(ends[0].max(ends[1]));
            };
            at[chain] += 1;
            starts[chain] = start;
        }
    }

    /// The ways out of a clash: the one waits, or the other.
    fn ways(&self, wait: &Wait, number: usize, clash: Clash) -> Vec<Wait> {
        let may_wait = |chain: &usize| wait.chain.is_none_or(|own| own == *chain) || clash.at[*chain] > wait.at[*chain];
        let put_off = |chain: usize| {
            let other = 1 - chain;
            let Clash { mut at, mut starts } = clash;
            starts[chain] = self.earliest(chain, at, starts);
            // What the other one begins from then on may still wait.
            while at[other] > wait.at[other] && starts[other] >= starts[chain] {
                at[other] -= 1;
                starts[other] -= self.lasts(other, at[other]);
            }
            Wait { chain: Some(chain), at, starts, before: Some(number) }
        };
        [0, 1].into_iter().filter(may_wait).map(put_off).collect()
    }

    fn lasts(&self, chain: usize, unit: usize) -> i64 {
        self.chains[chain].get(unit).map_or(0, |unit| unit.lasts)
    }

    /// The earliest start of a unit, no earlier than it would, beside the other chain's unit.
    fn earliest(&self, chain: usize, at: [usize; 2], starts: [i64; 2]) -> i64 {
        let other = 1 - chain;
        match (self.chains[chain].get(at[chain]), self.chains[other].get(at[other])) {
            (Some(own), Some(beside)) => self.clear(own, beside, starts[chain] - starts[other]) + starts[other],
            _ => starts[chain],
        }
    }

    /// The first offset, no less than the given one, at which a unit may start after another one has started.
    fn clear(&self, own: &Unit, beside: &Unit, offset: i64) -> i64 {
        let mut offset = offset;
        loop {
            let mut later = offset;
            for piece in own.pieces.iter().filter(|piece| piece.until > piece.from) {
                for other in beside.pieces.iter().filter(|other| other.until > other.from) {
                    let room = self.problem.capacities.get(piece.resource).copied().unwrap_or(i64::MAX);
                    let exclude = piece.resource == other.resource && piece.amount + other.amount > room;
                    if exclude && piece.from + offset < other.until && other.from < piece.until + offset {
                        later = later.max(other.until - piece.from);
                    }
                }
            }
            if later == offset {
                return offset;
            }
            offset = later;
        }
    }
}

/// What is left to be done from each unit of each chain on.
struct Rest {
    /// The chain by itself.
    tails: [Vec<i64>; 2],
    /// For each resource that only one chain can use at a time, its use.
    work: Vec<[Vec<i64>; 2]>,
}

impl Rest {
    fn new(problem: &Problem, chains: [&[Unit]; 2]) -> Self {
        let summed = |of: &dyn Fn(&Unit) -> i64| {
            chains.map(|chain| {
                let mut left = 0;
                let sums = chain.iter().rev().map(|unit| {
                    left += of(unit);
                    left
                });
                let mut sums: Vec<i64> = sums.collect();
                sums.reverse();
                sums
            })
        };
        let mut work = Vec::new();
        for (resource, room) in problem.capacities.iter().enumerate() {
            let pieces = || chains.into_iter().flatten().flat_map(|unit| &unit.pieces);
            if pieces().filter(|piece| piece.resource == resource).all(|piece| 2 * piece.amount > *room) {
                work.push(summed(&|unit| {
                    let own = unit.pieces.iter().filter(|piece| piece.resource == resource);
                    own.map(|piece| piece.until - piece.from).sum()
                }));
            }
        }
        Self { tails: summed(&|unit| unit.lasts), work }
    }

    /// No schedule that goes on from here ends before this.
    fn least(&self, wait: &Wait) -> i64 {
        let of = |sums: &[Vec<i64>; 2], chain: usize| sums[chain].get(wait.at[chain]).copied().unwrap_or(0);
        let alone = [0, 1].map(|chain| wait.starts[chain] + of(&self.tails, chain));
        let from = wait.starts[0].min(wait.starts[1]);
        let shared = self.work.iter().map(|sums| from + of(sums, 0) + of(sums, 1)).max();
        alone[0].max(alone[1]).max(shared.unwrap_or(0))
    }
}

/// The starts of all units, from the last wait back.
fn starts(waits: &[Wait], last: usize, chains: [&[Unit]; 2]) -> Starts {
    let mut starts: Starts = chains.iter().map(|chain| vec![0; chain.len()]).collect();
    let mut until = chains.map(<[Unit]>::len);
    let mut number = Some(last);
    while let Some(wait) = number.and_then(|number| waits.get(number)) {
        for (chain, units) in chains.iter().enumerate() {
            let mut at = wait.starts[chain];
            for index in wait.at[chain]..until[chain] {
                if let (Some(start), Some(unit)) = (starts[chain].get_mut(index), units.get(index)) {
                    *start = at;
                    at += unit.lasts;
                }
            }
            until[chain] = wait.at[chain];
        }
        number = wait.before;
    }
    starts
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{ProptestConfig, Strategy, prop, prop_assert, prop_assert_eq, prop_oneof, proptest};

    use super::pair;
    use crate::plan::schedule::exact::exact;
    use crate::plan::schedule::place::{chain_by_chain, holds};
    use crate::plan::schedule::problem::{Piece, Problem, Unit};

    const HANDS: usize = 0;
    const SUPPLY: usize = 1;

    /// Hands at work, or a press with its heat, bend and set; `much` is what is drawn of 10.
    fn unit() -> impl Strategy<Value = Unit> {
        let by_hand = |from, until| Piece { from, until, resource: HANDS, amount: 1 };
        let handled = (0..30_i64).prop_map(move |lasts| Unit { lasts, pieces: vec![by_hand(0, lasts)] });
        let bend = (1..60_i64, 0..6_i64, 0..40_i64, 3..9_i64).prop_map(move |(heat, transfer, set, much)| {
            let (off, bent) = (2 + heat, 2 + heat + transfer);
            let heated = Piece { from: 2, until: off, resource: SUPPLY, amount: much };
            Unit { lasts: bent + set, pieces: vec![by_hand(0, 2), by_hand(off, bent), heated] }
        });
        prop_oneof![2 => handled, 3 => bend]
    }

    fn problem(longest: usize) -> impl Strategy<Value = Problem> {
        let chain = || prop::collection::vec(unit(), 1..longest);
        (chain(), chain(), 1..3_i64)
            .prop_map(|(first, second, people)| Problem { chains: vec![first, second], capacities: vec![people, 10] })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        /// The other search tries every order of any two needs that stand in each other's way.
        #[test]
        fn two_chains_end_as_early_as_they_can(problem in problem(5)) {
            let known = problem.end(&chain_by_chain(&problem, &[0, 1])) + 1;
            let found = pair(&problem, known, 1_000_000).unwrap();
            let starts = found.better.unwrap();
            prop_assert!(holds(&problem, &starts));
            prop_assert_eq!(problem.end(&starts), found.bound);
            let shown = exact(&problem, known, 200_000);
            if shown.complete {
                prop_assert_eq!(Some(found.bound), shown.better.map(|starts| problem.end(&starts)));
            }
        }

        /// With hardly any states it still finds a schedule, and says no more than is true.
        #[test]
        fn few_states_give_a_true_bound(problem in problem(12)) {
            let known = problem.end(&chain_by_chain(&problem, &[0, 1])) + 1;
            let whole = pair(&problem, known, 1_000_000).unwrap();
            let few = pair(&problem, known, 1).unwrap();
            prop_assert!(holds(&problem, &whole.better.unwrap()));
            prop_assert!(few.bound <= whole.bound);
            if let Some(starts) = few.better {
                prop_assert!(holds(&problem, &starts));
                prop_assert!(problem.end(&starts) >= whole.bound);
            }
        }
    }
}
