//! Solved bends that outlive a run.
//!
//! What is kept stands beside everything it was computed from, and is only believed if that is the same to the bit, for
//! the same version of the models.

use std::fmt::Write;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::physics::Fault;
use crate::plan::thermal::Thermal;

/// Where solved bends are kept between runs. It may forget, and give back anything at all: what it gives is held
/// against what was asked for.
pub trait Store: Sync {
    /// What was kept under a name.
    fn find(&self, name: &str) -> Option<Vec<u8>>;
    /// Keeps something under a name, if it can.
    fn keep(&self, name: &str, bytes: &[u8]);
}

/// Keeps nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoStore;

impl Store for NoStore {
    fn find(&self, _name: &str) -> Option<Vec<u8>> {
        None
    }

    fn keep(&self, _name: &str, _bytes: &[u8]) {}
}

/// The version of the models: a digest of their source.
pub const MODEL: &str = env!("WITHY_MODEL");

/// What a bend was solved to.
pub(super) type Solved = Result<Thermal, Fault>;

#[derive(Serialize, Deserialize)]
struct Kept {
    model: String,
    inputs: Vec<u64>,
    solved: Solved,
}

/// How many bytes of a digest stand at the end of what is kept.
const DIGEST: usize = 32;

/// The name under which a bend with these inputs is kept.
pub(super) fn name(inputs: &[u64]) -> String {
    let mut digest = Sha256::new_with_prefix(MODEL);
    for input in inputs {
        digest.update(input.to_le_bytes());
    }
    let mut name = String::with_capacity(2 * DIGEST);
    for byte in digest.finalize() {
        // Writing to memory cannot fail.
        let _ = write!(name, "{byte:02x}");
    }
    name
}

/// What is kept for a solved bend; none if it cannot be written down.
pub(super) fn pack(inputs: &[u64], solved: &Solved) -> Option<Vec<u8>> {
    let kept = Kept { model: MODEL.to_owned(), inputs: inputs.to_vec(), solved: solved.clone() };
    let mut bytes = postcard::to_stdvec(&kept).ok()?;
    let digest = Sha256::digest(&bytes);
    bytes.extend_from_slice(&digest);
    Some(bytes)
}

/// The solution, if the bytes are whole and were kept for exactly these inputs and models.
pub(super) fn unpack(bytes: &[u8], inputs: &[u64]) -> Option<Solved> {
    let (body, digest) = bytes.split_at_checked(bytes.len().checked_sub(DIGEST)?)?;
    if Sha256::digest(body).as_slice() != digest {
        return None;
    }
    let (kept, rest): (Kept, &[u8]) = postcard::take_from_bytes(body).ok()?;
    (rest.is_empty() && kept.model == MODEL && kept.inputs == inputs).then_some(kept.solved)
}

#[cfg(test)]
mod tests {
    use super::{MODEL, name, pack, unpack};
    use crate::physics::window::{Span, Verdict, Window};
    use crate::physics::{Fault, Input};
    use crate::plan::thermal::Thermal;

    fn solved() -> Thermal {
        let span = Span { nominal: 0.1 + 0.2, low: 5e-324, high: f64::INFINITY };
        let window = Window {
            ready: span,
            over: span,
            set: Some(span),
            verdict: Verdict::Nominal,
            heat: Some(120.0),
            hold: None,
            void_after: Some(-0.0),
            run: None,
            closings: Vec::new(),
        };
        Thermal { window, heat: None, openings: Vec::new(), radius: 0.006, calibrated: false, from_memory: false }
    }

    #[test]
    fn what_is_kept_comes_back_to_the_bit() {
        for solved in [Ok(solved()), Err(Fault::OutOfRange(Input::Gap)), Err(Fault::WireMelts)] {
            let bytes = pack(&[1, 2, u64::MAX], &solved).unwrap_or_default();
            let back = unpack(&bytes, &[1, 2, u64::MAX]);
            assert_eq!(format!("{back:?}"), format!("{:?}", Some(solved)));
        }
    }

    #[test]
    fn nothing_damaged_or_foreign_is_believed() {
        let inputs = [1, 2, 3];
        let bytes = pack(&inputs, &Ok(solved())).unwrap_or_default();
        assert!(unpack(&bytes, &inputs).is_some());
        assert_eq!(unpack(&bytes, &[1, 2, 4]), None);
        assert_eq!(unpack(&bytes, &[1, 2]), None);
        for length in 0..bytes.len() {
            assert_eq!(unpack(&bytes[..length], &inputs), None, "cut to {length}");
        }
        for place in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[place] ^= 4;
            assert_eq!(unpack(&damaged, &inputs), None, "damaged at {place}");
        }
    }

    #[test]
    fn inputs_and_models_have_names_of_their_own() {
        assert_eq!(name(&[1, 2]).len(), 64);
        assert_ne!(name(&[1, 2]), name(&[2, 1]));
        assert_eq!(MODEL.len(), 32);
    }
}
