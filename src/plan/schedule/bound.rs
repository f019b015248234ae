use std::collections::BinaryHeap;

use crate::plan::schedule::problem::{Problem, Starts};

/// A need for one resource with what must lie before and after it.
struct Need {
    head: i64,
    lasts: i64,
    tail: i64,
    amount: i64,
}

/// No schedule in which each unit starts no earlier than `heads` ends before this.
///
/// The largest of: each chain by itself; for each resource, its needs in the best order if those that exclude each
/// other could be interrupted (Jackson's preemptive schedule; Carlier 1982), and all its needs spread evenly.
pub fn bound(problem: &Problem, heads: &Starts, tails: &[Vec<i64>]) -> i64 {
    let chains = heads.iter().zip(tails).flat_map(|(heads, tails)| heads.iter().zip(tails).map(|(a, b)| a + b));
    let mut most = chains.max().unwrap_or(0);
    for (resource, capacity) in problem.capacities.iter().enumerate() {
        let needs = needs(problem, heads, tails, resource);
        most = most.max(spread(&needs, *capacity));
        // Any two of these need more than there is.
        let exclusive = needs.into_iter().filter(|need| 2 * need.amount > *capacity).collect();
        most = most.max(preemptive(exclusive));
    }
    most
}

fn needs(problem: &Problem, heads: &Starts, tails: &[Vec<i64>], resource: usize) -> Vec<Need> {
    let mut needs = Vec::new();
    for ((chain, heads), tails) in problem.chains.iter().zip(heads).zip(tails) {
        for ((unit, head), tail) in chain.iter().zip(heads).zip(tails) {
            for piece in unit.pieces.iter().filter(|piece| piece.resource == resource) {
                needs.push(Need {
                    head: head + piece.from,
                    lasts: piece.until - piece.from,
                    tail: tail - piece.until,
                    amount: piece.amount,
                });
            }
        }
    }
    needs
}

/// All needs between the earliest head and the shortest tail, at the full capacity.
fn spread(needs: &[Need], capacity: i64) -> i64 {
    let (mut head, mut tail, mut work) = (i64::MAX, i64::MAX, 0);
    for need in needs {
        (head, tail) = (head.min(need.head), tail.min(need.tail));
        work += need.lasts * need.amount;
    }
    let capacity = capacity.max(1);
    if work == 0 { 0 } else { head + tail + (work + capacity - 1).div_euclid(capacity) }
}

/// The end of the best interruptible schedule of needs that exclude each other: always the one with the longest tail.
fn preemptive(mut needs: Vec<Need>) -> i64 {
    needs.sort_by_key(|need| need.head);
    let mut waiting: BinaryHeap<(i64, i64)> = BinaryHeap::new();
    let (mut clock, mut end) = (0, 0);
    let mut next = needs.iter().peekable();
    while next.peek().is_some() || !waiting.is_empty() {
        if waiting.is_empty() {
            clock = next.peek().map_or(clock, |need| need.head.max(clock));
        }
        while let Some(need) = next.next_if(|need| need.head <= clock) {
            waiting.push((need.tail, need.lasts));
        }
        let Some((tail, left)) = waiting.pop() else { continue };
        let until = next.peek().map_or(i64::MAX, |need| need.head);
        let worked = left.min(until - clock);
        clock += worked;
        if worked < left {
            waiting.push((tail, left - worked));
        } else {
            end = end.max(clock + tail);
        }
    }
    end
}

#[cfg(test)]
mod tests {
    use super::{Need, preemptive, spread};

    fn needs(rows: &[(i64, i64, i64)]) -> Vec<Need> {
        rows.iter().map(|(head, lasts, tail)| Need { head: *head, lasts: *lasts, tail: *tail, amount: 1 }).collect()
    }

    /// Its end is the largest, over all sets of needs, of the earliest head, all of their work and the shortest tail
    /// (Carlier 1982, on the seven jobs of his example, from memory).
    #[test]
    fn the_preemptive_schedule_is_as_long_as_its_worst_set() {
        let rows = [(10, 5, 7), (13, 6, 26), (11, 7, 24), (20, 4, 21), (30, 3, 8), (0, 6, 17), (30, 2, 0)];
        let mut worst = 0;
        for set in 1..1_u32 << rows.len() {
            let of = || rows.iter().enumerate().filter(|(index, _)| set >> index & 1 == 1).map(|(_, row)| row);
            let head = of().map(|row| row.0).min().unwrap_or(0);
            let tail = of().map(|row| row.2).min().unwrap_or(0);
            worst = worst.max(head + of().map(|row| row.1).sum::<i64>() + tail);
        }
        assert_eq!(preemptive(needs(&rows)), worst);
        assert_eq!(worst, 49);
    }

    #[test]
    fn needs_spread_over_the_capacity() {
        assert_eq!(spread(&needs(&[(3, 10, 4), (5, 9, 2)]), 2), 3 + 2 + 10);
        assert_eq!(preemptive(Vec::new()), 0);
    }
}
