use crate::plan::schedule::bound::bound;
use crate::plan::schedule::problem::{Piece, Problem, Starts};

/// A unit by its chain and its number in it.
type Node = (usize, usize);

/// A piece of a unit.
type Part = (Node, Piece);

/// Branch and bound over who comes first where units stand in each other's way.
///
/// Every unit starts as early as its chain and the decisions made so far allow. The earliest moment at which more is
/// used than there is has some two needs that cannot overlap: each order of each such two is tried (branching on
/// minimal forbidden sets: Igelmund & Radermacher 1983; with rigid units as by De Reyck & Herroelen 1998). No schedule
/// is lost: where none of the two orders held for any two of them, all would overlap at one moment.
pub struct Exact<'p> {
    problem: &'p Problem,
    tails: Vec<Vec<i64>>,
    pieces: Vec<Vec<Part>>,
    /// Decisions so far: the first unit, the second, and the least time from start to start.
    decisions: Vec<(Node, Node, i64)>,
    /// The best schedule so far, if one is better than what was known.
    best: Option<Starts>,
    /// What has to be beaten.
    end: i64,
    /// Steps that are left.
    steps: u64,
}

/// What a search has shown.
pub struct Shown {
    /// A schedule that ends before what was known, if one was found.
    pub better: Option<Starts>,
    /// Whether no other one ends earlier still.
    pub complete: bool,
    /// Steps that are left.
    pub steps: u64,
}

/// Looks for schedules that end before `end`, in so many steps.
pub fn exact(problem: &Problem, end: i64, steps: u64) -> Shown {
    let mut pieces = vec![Vec::new(); problem.capacities.len()];
    for (chain, units) in problem.chains.iter().enumerate() {
        for (index, unit) in units.iter().enumerate() {
            for piece in unit.pieces.iter().filter(|piece| piece.until > piece.from && piece.amount > 0) {
                if let Some(pieces) = pieces.get_mut(piece.resource) {
                    pieces.push(((chain, index), *piece));
                }
            }
        }
    }
    let mut search = Exact { problem, tails: problem.tails(), pieces, decisions: Vec::new(), best: None, end, steps };
    let complete = search.branch(&problem.heads());
    Shown { better: search.best, complete, steps: search.steps }
}

impl Exact<'_> {
    /// Whether everything below was searched.
    fn branch(&mut self, starts: &Starts) -> bool {
        let Some(conflict) = self.conflict(starts) else {
            let end = self.problem.end(starts);
            if end < self.end {
                self.end = end;
                self.best = Some(starts.clone());
            }
            return true;
        };
        let mut children = Vec::new();
        for first in &conflict {
            for second in conflict.iter().filter(|second| second.0 != first.0) {
                if self.steps == 0 {
                    return false;
                }
                self.steps -= 1;
                let decision = (first.0, second.0, first.1.until - second.1.from);
                if let Some(starts) = self.decide(starts, decision) {
                    let least = bound(self.problem, &starts, &self.tails);
                    if least < self.end {
                        children.push((least, starts, decision));
                    }
                }
            }
        }
        children.sort_by_key(|child| child.0);
        for (least, starts, decision) in children {
            if least >= self.end {
                continue;
            }
            self.decisions.push(decision);
            let complete = self.branch(&starts);
            self.decisions.pop();
            if !complete {
                return false;
            }
        }
        true
    }

    /// The earliest starts with one decision more; none where decisions contradict each other or end too late.
    fn decide(&self, starts: &Starts, decision: (Node, Node, i64)) -> Option<Starts> {
        let (first, second, lag) = decision;
        let mut starts = starts.clone();
        let wanted = starts[first.0][first.1] + lag;
        if wanted <= starts[second.0][second.1] {
            return Some(starts);
        }
        starts[second.0][second.1] = wanted;
        let mut moved = vec![second];
        while let Some(node) = moved.pop() {
            // What pushes the first unit itself would push it for ever.
            if node == first {
                return None;
            }
            let start = starts[node.0][node.1];
            if start + self.tails[node.0][node.1] >= self.end {
                return None;
            }
            let mut push = |next: Node, lag: i64| {
                if let Some(at) = starts[next.0].get_mut(next.1)
                    && *at < start + lag
                {
                    *at = start + lag;
                    moved.push(next);
                }
            };
            push((node.0, node.1 + 1), self.problem.chains[node.0][node.1].lasts);
            for (from, to, lag) in self.decisions.iter().filter(|decision| decision.0 == node) {
                debug_assert_eq!(*from, node);
                push(*to, *lag);
            }
        }
        Some(starts)
    }

    /// The earliest needs that are more than there is; as few of them as show it.
    fn conflict(&self, starts: &Starts) -> Option<Vec<Part>> {
        let mut earliest: Option<(i64, Vec<Part>)> = None;
        for (pieces, capacity) in self.pieces.iter().zip(&self.problem.capacities) {
            let mut placed: Vec<(i64, i64, Part)> = pieces
                .iter()
                .map(|part| {
                    let start = starts[part.0.0][part.0.1];
                    (start + part.1.from, start + part.1.until, *part)
                })
                .collect();
            placed.sort_by_key(|piece| (piece.0, piece.2.0));
            let mut active: Vec<(i64, i64, Part)> = Vec::new();
            for piece in placed {
                if earliest.as_ref().is_some_and(|(at, _)| *at <= piece.0) {
                    break;
                }
                active.retain(|other| other.1 > piece.0);
                active.push(piece);
                if active.iter().map(|piece| piece.2.1.amount).sum::<i64>() > *capacity {
                    earliest = Some((piece.0, fewest(&active, *capacity)));
                    break;
                }
            }
        }
        earliest.map(|(_, parts)| parts)
    }
}

/// The largest needs, as many as are too much together.
fn fewest(active: &[(i64, i64, Part)], capacity: i64) -> Vec<Part> {
    let mut parts: Vec<Part> = active.iter().map(|piece| piece.2).collect();
    parts.sort_by_key(|part| (-part.1.amount, part.0));
    let mut sum = 0;
    let enough = parts.iter().take_while(|part| {
        let fits = sum <= capacity;
        sum += part.1.amount;
        fits
    });
    let count = enough.count();
    parts.truncate(count);
    parts
}
