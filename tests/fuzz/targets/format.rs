//! The formatter takes any text: nothing is refused, and what it made it leaves as it is.
#![no_main]

use libfuzzer_sys::fuzz_target;
use withy::library::formatted;

fuzz_target!(|text: &str| {
    let once = formatted("fuzzed.withy", text);
    let once = once.text.unwrap_or_else(|| panic!("something would be lost: {:?}", once.findings));
    let twice = formatted("fuzzed.withy", &once).text.expect("a formatted text can be formatted");
    assert_eq!(once, twice, "formatting twice is not formatting once");
});
