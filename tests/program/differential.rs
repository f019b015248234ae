//! The interpreter against the C: the same programs, the same inputs, the same events to the millisecond; and what must
//! never happen does not, whatever goes wrong.

use withy::program::{EventKind, verify};

use crate::bench::{self, Run, TROUBLES, Trouble};
use crate::deep;
use crate::random::{self, Dice};
use crate::runtime::{self, Case};

const BATCH: usize = 100;

struct Made {
    machine: withy::program::Machine,
    image: Vec<u8>,
    refusal: Option<(u8, u16)>,
    run: Run,
    troubled: bool,
}

fn make(seed: u64, troubles: [Trouble; 2]) -> Made {
    let mut dice = Dice(seed);
    let machine = random::machine(&mut dice);
    let image = random::image(&mut dice, &machine).encode();
    let refusal = verify(&image, Some(&machine)).err().map(|refusal| (refusal.reason.number(), refusal.offset));
    let run = if refusal.is_none() {
        // Some runs are long enough for the sum of heat to fill.
        let ticks = if seed.is_multiple_of(50) { 2500 } else { 700 };
        bench::run(&machine, &image, dice.bits(), ticks, troubles)
    } else {
        Run { script: Vec::new(), answers: Vec::new(), violation: None }
    };
    let troubled = troubles != [Trouble::None; 2];
    Made { machine, image, refusal, run, troubled }
}

#[test]
fn both_interpreters_give_the_same_events_and_nothing_burns() {
    let count = if deep() { 150_000 } else { 1_500 };
    let mut kinds = std::collections::BTreeMap::<EventKind, usize>::new();
    let mut faults = std::collections::BTreeMap::<u16, usize>::new();
    let mut refused = 0;
    let mut troubled = 0;
    for batch in 0..count / BATCH {
        let made: Vec<Made> = (0..BATCH)
            .map(|index| {
                let seed = batch * BATCH + index;
                // Each trouble alone, and then with every other.
                let second = if seed.is_multiple_of(3) { seed / TROUBLES.len() % TROUBLES.len() } else { 0 };
                make(u64::try_from(seed).unwrap(), [TROUBLES[seed % TROUBLES.len()], TROUBLES[second]])
            })
            .collect();
        let cases: Vec<Case<'_>> = made
            .iter()
            .map(|made| Case { machine: &made.machine, image: &made.image, script: &made.run.script })
            .collect();
        let answer = runtime::run(&cases);
        let mut at = 0;
        for (index, made) in made.iter().enumerate() {
            let seed = batch * BATCH + index;
            assert_eq!(made.run.violation, None, "seed {seed}");
            let expected = runtime::expected(made.refusal, &made.run.answers);
            let got = answer.get(at..at + expected.len()).unwrap_or(&answer[at..]);
            if got != expected {
                let place = got.iter().zip(&expected).position(|(a, b)| a != b);
                panic!("seed {seed}: the C differs at byte {place:?} of its answer; refusal {:?}", made.refusal);
            }
            at += expected.len();
            refused += usize::from(made.refusal.is_some());
            troubled += usize::from(made.refusal.is_none() && made.troubled);
            for event in made.run.answers.iter().flat_map(|answer| &answer.events) {
                *kinds.entry(event.kind).or_default() += 1;
                if event.kind == EventKind::Fault {
                    *faults.entry(event.detail).or_default() += 1;
                }
            }
        }
        assert_eq!(at, answer.len());
    }
    println!("{count} runs, {refused} refused, {troubled} with troubles, events {kinds:?}, faults {faults:?}");
    // A comparison of nothing proves nothing: everything must have happened, and every fault.
    for kind in EventKind::ALL {
        assert!(kinds.contains_key(&kind), "no run shows {kind:?}");
    }
    for code in [1, 2, 3, 6, 7, 8, 9, 11] {
        assert!(faults.contains_key(&code), "no run shows fault {code}: {faults:?}");
    }
    assert!(refused * 2 < count, "{refused} of {count} were refused");
    assert!(!deep() || troubled >= 100_000, "only {troubled} runs with troubles");
    // A program's own faults have codes from 128 on, whatever has become of its bytes.
    assert!(faults.keys().all(|code| (1..=12).contains(code) || *code >= 128), "{faults:?}");
}
