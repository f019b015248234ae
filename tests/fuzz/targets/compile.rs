//! The whole compile of small texts, physics and all: no panic, no endless loop, no number that is none.
#![no_main]

mod library;

use libfuzzer_sys::fuzz_target;
use withy::library::{Depth, compile};

fuzz_target!(|text: &[u8]| {
    if text.len() > 4096 {
        return;
    }
    let Some((loaded, checked)) = library::checked(text, Depth::Full) else { return };
    let (compiled, _) = compile(&loaded, &checked, 100);
    for output in compiled.iter().flat_map(|one| &one.outputs) {
        // The image of a timing program is no text.
        let Ok(text) = str::from_utf8(&output.bytes) else { continue };
        let odd = text.split(|c: char| !c.is_alphanumeric()).any(|word| word == "NaN");
        assert!(!odd, "{}: {text}", output.name);
    }
});
