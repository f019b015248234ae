//! Damaged images: both verifiers agree on each, and what they let pass is harmless by an independent checker.

use withy::program::{Event, EventKind, close, verify};

use crate::bench::{self, Trouble};
use crate::deep;
use crate::oracle;
use crate::random::{self, Dice};
use crate::runtime::{self, Case};
use crate::vectors;

/// Changes an image in one of several ways, and repairs its length and check sum in most cases.
fn mutate(dice: &mut Dice, image: &[u8], other: &[u8]) -> Vec<u8> {
    let mut body = image[..image.len() - 4].to_vec();
    let place = |dice: &mut Dice, length: usize| usize::try_from(dice.below(u32::try_from(length).unwrap())).unwrap();
    // Most of the time the code is hit, not the tables before it.
    let from = if dice.once_in(4) { 0 } else { body.len() * 2 / 3 };
    for _ in 0..dice.between(1, 2) {
        let at = from + place(dice, body.len() - from);
        match dice.below(6) {
            0 | 1 => body[at] ^= 1 << dice.below(8),
            2 => body[at] = dice.byte(0, 255),
            3 => {
                let instruction = random::any(dice).encode();
                for (byte, new) in body.iter_mut().skip(at).zip(instruction) {
                    *byte = new;
                }
            }
            4 => {
                // Bytes of one place come to another, of the same length: the lanes stay where they are.
                let count = place(dice, 12).min(body.len() - at);
                let source = place(dice, body.len() - count);
                let bytes = body[source..source + count].to_vec();
                body[at..at + count].copy_from_slice(&bytes);
            }
            _ => match dice.below(4) {
                0 => body.truncate(at.max(8)),
                1 if other.len() > at + 4 => {
                    body.truncate(at);
                    body.extend_from_slice(&other[at..other.len() - 4]);
                }
                _ => body[at] = body[at].wrapping_add(1),
            },
        }
        if body.len() <= from + 1 {
            break;
        }
    }
    if dice.once_in(20) {
        body.extend_from_slice(&image[image.len() - 4..]);
        return body;
    }
    close(body)
}

/// The checker can say no: it finds the harm in each vector whose code is refused for what it would do.
#[test]
fn the_independent_checker_sees_harm() {
    let mut harmful = 0;
    for (name, image) in vectors::vectors() {
        let number: u8 = name[..2].parse().unwrap();
        // The bytes before the code are another's to refuse; what they say about the bench is looked at here, too. A wiring number alone does nothing.
        let harms = matches!(number, 12 | 14..=32);
        if number == 0 || harms {
            let harm = oracle::harm(&image, &vectors::machine());
            assert_eq!(harm.is_some(), harms, "{name}: {harm:?}");
            harmful += usize::from(harms);
        }
    }
    assert_eq!(harmful, 20);
}

#[test]
fn what_both_verifiers_let_pass_is_harmless() {
    let count = if deep() { 1_000_000 } else { 20_000 };
    let batch = 1000;
    let mut accepted = 0;
    let mut reasons = std::collections::BTreeSet::new();
    for number in 0..count / batch {
        let mut dice = Dice(0xabcd_0000 + number);
        let mut made = Vec::new();
        while made.len() < usize::try_from(batch).unwrap() {
            let machine = random::machine(&mut dice);
            let image = random::image(&mut dice, &machine).encode();
            let other = random::image(&mut dice, &machine).encode();
            for _ in 0..20 {
                made.push((machine.clone(), mutate(&mut dice, &image, &other)));
            }
        }
        let cases: Vec<Case<'_>> = made.iter().map(|(machine, image)| Case { machine, image, script: &[] }).collect();
        let answer = runtime::run(&cases);
        assert_eq!(answer.len(), 3 * made.len());
        let mut runs = Vec::new();
        for ((machine, image), theirs) in made.iter().zip(answer.chunks_exact(3)) {
            let ours = verify(image, Some(machine));
            let theirs = (theirs[0], u16::from_le_bytes([theirs[1], theirs[2]]));
            let same = match &ours {
                Ok(_) => theirs.0 == 0,
                Err(refusal) => theirs == (refusal.reason.number(), refusal.offset),
            };
            assert!(same, "the verifiers differ: {ours:?} and {theirs:?} on {image:02x?}");
            match ours {
                Ok(_) => {
                    accepted += 1;
                    let harm = oracle::harm(image, machine);
                    assert_eq!(harm, None, "accepted, but not safe: {image:02x?}");
                    let run = bench::run(machine, image, dice.bits(), 200, [Trouble::None; 2]);
                    assert_eq!(run.violation, None, "{image:02x?}");
                    let senseless = |event: &Event| event.kind == EventKind::Fault && event.detail == 10;
                    let mut events = run.answers.iter().flat_map(|answer| &answer.events);
                    assert!(!events.any(senseless), "accepted, and makes no sense: {image:02x?}");
                    runs.push((machine, image, run));
                }
                Err(refusal) => drop(reasons.insert(refusal.reason)),
            }
        }
        // What is accepted does the same in both, too.
        let cases: Vec<Case<'_>> =
            runs.iter().map(|(machine, image, run)| Case { machine, image, script: &run.script }).collect();
        let expected: Vec<u8> = runs.iter().flat_map(|(_, _, run)| runtime::expected(None, &run.answers)).collect();
        assert!(runtime::run(&cases) == expected, "the interpreters differ in batch {number}");
    }
    println!("{count} mutants, {accepted} accepted, refused for {} reasons: {reasons:?}", reasons.len());
    assert!(accepted * 50 > count, "only {accepted} of {count} were accepted");
    assert!(reasons.len() >= 25, "only {} reasons: {reasons:?}", reasons.len());
}
