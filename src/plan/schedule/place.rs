use crate::plan::schedule::problem::{Problem, Starts, Unit};

/// What is used of each resource over time.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Profiles(Vec<Profile>);

/// From each time on so much is used; nothing before the first.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Profile {
    capacity: i64,
    steps: Vec<(i64, i64)>,
}

impl Profiles {
    /// Nothing is used yet.
    pub fn new(problem: &Problem) -> Self {
        Self(problem.capacities.iter().map(|capacity| Profile { capacity: *capacity, steps: Vec::new() }).collect())
    }

    /// The earliest start of a unit at or after `ready` at which it has all it needs.
    ///
    /// Each of its needs must fit its capacity alone; else it would wait for ever, and is placed as if nothing were used.
    pub fn earliest(&self, unit: &Unit, ready: i64) -> i64 {
        let mut start = ready;
        loop {
            let later = unit.pieces.iter().filter_map(|piece| {
                let profile = self.0.get(piece.resource)?;
                let end = profile.clash(start + piece.from, start + piece.until, piece.amount)?;
                Some(end - piece.from)
            });
            match later.max() {
                Some(later) if later > start => start = later,
                _ => return start,
            }
        }
    }

    /// Uses what a unit needs.
    pub fn take(&mut self, unit: &Unit, start: i64) {
        for piece in &unit.pieces {
            if let Some(profile) = self.0.get_mut(piece.resource) {
                profile.add(start + piece.from, start + piece.until, piece.amount);
            }
        }
    }

    /// Forgets what lies before a time at or after which everything else will be placed.
    pub fn forget(&mut self, before: i64) {
        for profile in &mut self.0 {
            let past = profile.steps.partition_point(|step| step.0 <= before);
            if past > 1 {
                profile.steps.drain(..past - 1);
            }
            if let [first, ..] = profile.steps.as_mut_slice()
                && first.1 == 0
                && first.0 <= before
            {
                profile.steps.remove(0);
            }
        }
    }
}

impl Profile {
    /// The end of the last stretch within `from..until` that leaves no room for `amount`.
    fn clash(&self, from: i64, until: i64, amount: i64) -> Option<i64> {
        if until <= from {
            return None;
        }
        let first = self.steps.partition_point(|step| step.0 <= from).saturating_sub(1);
        let mut end = None;
        for (index, (at, used)) in self.steps.iter().enumerate().skip(first) {
            if *at >= until {
                break;
            }
            let next = self.steps.get(index + 1).map(|step| step.0);
            let reaches = next.is_none_or(|next| next > from);
            if reaches && *used > 0 && used + amount > self.capacity {
                end = next.or(end);
            }
        }
        end
    }

    fn add(&mut self, from: i64, until: i64, amount: i64) {
        if until <= from {
            return;
        }
        let first = self.split(from);
        let last = self.split(until);
        for step in &mut self.steps[first..last] {
            step.1 += amount;
        }
    }

    /// The number of the step that begins at a time; it is made if there is none.
    fn split(&mut self, at: i64) -> usize {
        let index = self.steps.partition_point(|step| step.0 < at);
        if self.steps.get(index).is_none_or(|step| step.0 != at) {
            let used = index.checked_sub(1).map_or(0, |before| self.steps[before].1);
            self.steps.insert(index, (at, used));
        }
        index
    }
}

/// Places whole chains, one after the other: the first as if it were alone, each further one into what is left.
pub fn chain_by_chain(problem: &Problem, order: &[usize]) -> Starts {
    let mut profiles = Profiles::new(problem);
    let mut starts: Starts = vec![Vec::new(); problem.chains.len()];
    for chain in order {
        let mut ready = 0;
        for unit in &problem.chains[*chain] {
            let start = profiles.earliest(unit, ready);
            profiles.take(unit, start);
            ready = start + unit.lasts;
            starts[*chain].push(start);
        }
    }
    starts
}

/// Whether units follow one another and have all they need.
pub fn holds(problem: &Problem, starts: &Starts) -> bool {
    let mut placed: Vec<(i64, &Unit)> = Vec::new();
    for (units, starts) in problem.chains.iter().zip(starts) {
        let mut ready = 0;
        for (unit, start) in units.iter().zip(starts) {
            if *start < ready {
                return false;
            }
            ready = start + unit.lasts;
            placed.push((*start, unit));
        }
    }
    placed.sort_by_key(|(start, _)| *start);
    let mut profiles = Profiles::new(problem);
    placed.len() == problem.size()
        && placed.into_iter().all(|(start, unit)| {
            profiles.forget(start);
            let fits = profiles.earliest(unit, start) == start;
            profiles.take(unit, start);
            fits
        })
}

#[cfg(test)]
mod tests {
    use super::{Profiles, chain_by_chain};
    use crate::plan::schedule::problem::{Piece, Problem, Unit};

    fn unit(lasts: i64, pieces: &[(i64, i64)]) -> Unit {
        let piece = |(from, until): &(i64, i64)| Piece { from: *from, until: *until, resource: 0, amount: 1 };
        Unit { lasts, pieces: pieces.iter().map(piece).collect() }
    }

    #[test]
    fn hands_fit_between_press_and_swing_or_wait() {
        let bend = unit(50, &[(0, 2), (22, 25)]);
        let problem = Problem { chains: vec![vec![bend]], capacities: vec![1] };
        let mut profiles = Profiles::new(&problem);
        profiles.take(&problem.chains[0][0], 10);
        assert_eq!(profiles.earliest(&unit(20, &[(0, 20)]), 11), 12);
        assert_eq!(profiles.earliest(&unit(20, &[(0, 20)]), 13), 35);
        assert_eq!(profiles.earliest(&unit(10, &[(0, 10)]), 0), 0);
        profiles.forget(33);
        assert_eq!(profiles.earliest(&unit(2, &[(0, 2)]), 33), 35);
        profiles.forget(40);
        assert_eq!(profiles, Profiles::new(&problem));
    }

    #[test]
    fn a_second_chain_takes_what_the_first_leaves() {
        let chain = |hands: i64| vec![unit(hands, &[(0, hands)]), unit(50, &[(0, 2), (22, 25)])];
        let problem = Problem { chains: vec![chain(20), chain(5)], capacities: vec![1] };
        assert_eq!(chain_by_chain(&problem, &[0, 1]), [[0, 20], [22, 27]]);
        assert_eq!(chain_by_chain(&problem, &[1, 0]), [[7, 30], [0, 5]]);
    }
}
