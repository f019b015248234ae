//! Gives the models a version: a digest of the source they are made of. Solved bends and orders that are kept between
//! runs carry it, so that none outlives the model that solved it.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// What a solved bend or order depends on besides its inputs: the models, the quantities they take, what is asked of
/// them, and the functions they call.
const SOURCES: [&str; 7] = [
    "src/physics",
    "src/units",
    "src/model/recipe.rs",
    "src/plan/memo.rs",
    "src/plan/order",
    "src/plan/thermal.rs",
    "Cargo.lock",
];

fn main() {
    let mut files = BTreeSet::new();
    for source in SOURCES {
        println!("cargo::rerun-if-changed={source}");
        gather(Path::new(source), &mut files);
    }
    let mut digest = Fnv::new();
    for file in files {
        // A file that is not there (a package may come without its lock file) counts as an empty one.
        digest.add(file.display().to_string().replace('\\', "/").as_bytes());
        digest.add(&std::fs::read(&file).unwrap_or_default());
    }
    println!("cargo::rustc-env=WITHY_MODEL={:032x}", digest.0);
}

fn gather(path: &Path, files: &mut BTreeSet<PathBuf>) {
    let Ok(entries) = std::fs::read_dir(path) else {
        files.insert(path.to_owned());
        return;
    };
    for entry in entries.flatten() {
        gather(&entry.path(), files);
    }
}

/// The digest FNV-1a of 128 bits (constants of its authors' published description). It tells versions of one source
/// apart; nobody gains by making two collide.
struct Fnv(u128);

impl Fnv {
    fn new() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }

    fn add(&mut self, bytes: &[u8]) {
        for byte in bytes.iter().chain(&[0]) {
            self.0 = (self.0 ^ u128::from(*byte)).wrapping_mul(0x0000_0000_0100_0000_0000_0000_0000_013b);
        }
    }
}
