//! Answers that outlive a run: solved bends, and orders held against shapes.
//!
//! What is kept stands beside everything it was computed from, and is only believed if that is the same to the bit, for
//! the same version of the models.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::{Mutex, MutexGuard, PoisonError};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// Where answers are kept between runs. It may forget, and give back anything at all: what it gives is held
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

#[derive(Serialize, Deserialize)]
struct Kept<T> {
    model: String,
    kind: String,
    inputs: Vec<u8>,
    answer: T,
}

/// How many bytes of a digest stand at the end of what is kept.
const DIGEST: usize = 32;

/// The answer of one `kind` to these inputs: what was kept for them, else what is computed, and kept.
pub(super) fn recall<T: Serialize + DeserializeOwned>(
    store: &dyn Store,
    kind: &str,
    inputs: &impl Serialize,
    compute: impl FnOnce() -> T,
) -> T {
    // What cannot be written down is not kept.
    let Ok(inputs) = postcard::to_stdvec(inputs) else { return compute() };
    let name = name(kind, &inputs);
    if let Some(answer) = store.find(&name).and_then(|bytes| unpack(&bytes, kind, &inputs)) {
        return answer;
    }
    let kept = Kept { model: MODEL.to_owned(), kind: kind.to_owned(), inputs, answer: compute() };
    if let Some(bytes) = pack(&kept) {
        store.keep(&name, &bytes);
    }
    kept.answer
}

/// The name under which the answer to these inputs is kept.
fn name(kind: &str, inputs: &[u8]) -> String {
    let digest = Sha256::new_with_prefix(MODEL).chain_update(kind).chain_update([0]).chain_update(inputs);
    let mut name = String::with_capacity(2 * DIGEST);
    for byte in digest.finalize() {
        // Writing to memory cannot fail.
        let _ = write!(name, "{byte:02x}");
    }
    name
}

/// What is kept; none if it cannot be written down.
fn pack<T: Serialize>(kept: &Kept<T>) -> Option<Vec<u8>> {
    let mut bytes = postcard::to_stdvec(kept).ok()?;
    let digest = Sha256::digest(&bytes);
    bytes.extend_from_slice(&digest);
    Some(bytes)
}

/// The answer, if the bytes are whole and were kept for exactly these inputs and models.
fn unpack<T: DeserializeOwned>(bytes: &[u8], kind: &str, inputs: &[u8]) -> Option<T> {
    let (body, digest) = bytes.split_at_checked(bytes.len().checked_sub(DIGEST)?)?;
    if Sha256::digest(body).as_slice() != digest {
        return None;
    }
    let (kept, rest): (Kept<T>, &[u8]) = postcard::take_from_bytes(body).ok()?;
    let same = kept.model == MODEL && kept.kind == kind && kept.inputs == inputs;
    (rest.is_empty() && same).then_some(kept.answer)
}

/// Keeps everything in memory as well, in front of another store: what two threads ask for is found once.
pub struct Recent<'s> {
    known: Mutex<BTreeMap<String, Vec<u8>>>,
    behind: &'s dyn Store,
}

impl<'s> Recent<'s> {
    /// Nothing yet, in front of a store.
    pub fn before(behind: &'s dyn Store) -> Self {
        Self { known: Mutex::default(), behind }
    }

    fn known(&self) -> MutexGuard<'_, BTreeMap<String, Vec<u8>>> {
        // Whoever gave up left nothing half done.
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Store for Recent<'_> {
    fn find(&self, name: &str) -> Option<Vec<u8>> {
        if let Some(known) = self.known().get(name) {
            return Some(known.clone());
        }
        let found = self.behind.find(name)?;
        self.known().insert(name.to_owned(), found.clone());
        Some(found)
    }

    fn keep(&self, name: &str, bytes: &[u8]) {
        self.known().insert(name.to_owned(), bytes.to_vec());
        self.behind.keep(name, bytes);
    }
}

#[cfg(test)]
mod tests {
    use super::{Kept, MODEL, NoStore, Recent, Store, name, pack, recall, unpack};
    use crate::physics::window::{Span, Verdict, Window};
    use crate::physics::{Fault, Input};
    use crate::plan::thermal::{Solved, Thermal};

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

    fn packed(inputs: &[u8], answer: Solved) -> Vec<u8> {
        let kept = Kept { model: MODEL.to_owned(), kind: "bend".to_owned(), inputs: inputs.to_vec(), answer };
        pack(&kept).unwrap_or_default()
    }

    #[test]
    fn what_is_kept_comes_back_to_the_bit() {
        for solved in [Ok(solved()), Err(Fault::OutOfRange(Input::Gap)), Err(Fault::WireMelts)] {
            let bytes = packed(&[1, 2, 255], solved.clone());
            let back: Option<Solved> = unpack(&bytes, "bend", &[1, 2, 255]);
            assert_eq!(format!("{back:?}"), format!("{:?}", Some(solved)));
        }
    }

    #[test]
    fn nothing_damaged_or_foreign_is_believed() {
        let inputs = [1, 2, 3];
        let bytes = packed(&inputs, Ok(solved()));
        let believed = |bytes: &[u8], kind: &str, inputs: &[u8]| unpack::<Solved>(bytes, kind, inputs).is_some();
        assert!(believed(&bytes, "bend", &inputs));
        assert!(!believed(&bytes, "order", &inputs));
        assert!(!believed(&bytes, "bend", &[1, 2, 4]));
        assert!(!believed(&bytes, "bend", &[1, 2]));
        for length in 0..bytes.len() {
            assert!(!believed(&bytes[..length], "bend", &inputs), "cut to {length}");
        }
        for place in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[place] ^= 4;
            assert!(!believed(&damaged, "bend", &inputs), "damaged at {place}");
        }
    }

    #[test]
    fn inputs_kinds_and_models_have_names_of_their_own() {
        assert_eq!(name("bend", &[1, 2]).len(), 64);
        assert_ne!(name("bend", &[1, 2]), name("bend", &[2, 1]));
        assert_ne!(name("bend", &[1, 2]), name("order", &[1, 2]));
        assert_eq!(MODEL.len(), 32);
    }

    #[test]
    fn what_was_asked_once_is_not_computed_again() {
        let recent = Recent::before(&NoStore);
        let ask = |inputs: &[f64], answer: u8| recall(&recent, "sum", &inputs, || answer);
        assert_eq!(ask(&[0.0, 1.0], 1), 1);
        assert_eq!(ask(&[0.0, 1.0], 2), 1);
        // Equal is not enough: the models may tell the two zeros apart.
        assert_eq!(ask(&[-0.0, 1.0], 3), 3);
        let behind = Recent::before(&recent);
        assert_eq!(recall(&behind, "sum", &[0.0, 1.0].as_slice(), || 4_u8), 1);
        assert!(behind.find("nothing of the kind").is_none());
    }
}
