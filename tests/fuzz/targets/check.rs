//! Lexer, parser and checker take any text: no panic, findings that point into the text, and reports of them.
#![no_main]

mod library;

use libfuzzer_sys::fuzz_target;
use withy::library::Depth;
use withy::report::edit::apply;
use withy::report::terminal::Colour;
use withy::report::{json, short, terminal};

fuzz_target!(|text: &[u8]| {
    let Some((loaded, checked)) = library::checked(text, Depth::Types) else { return };
    let files = &loaded.files;
    for finding in &checked.findings {
        for label in &finding.labels {
            let file = files.get(label.span.file).text();
            assert!(file.get(label.span.range()).is_some(), "{finding:?} points beside a character");
        }
        // Whatever a finding offers to write can be written.
        for edit in &finding.edits {
            for change in &edit.changes {
                let file = change.span.file;
                apply(file, files.get(file).text(), std::slice::from_ref(edit)).expect("an edit can be made");
            }
        }
    }
    terminal::render(&checked.findings, files, Colour::Off);
    short::render(&checked.findings, files);
    json::render(&checked.findings, files);
});
