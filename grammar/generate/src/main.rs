//! Writes `grammar/tree-sitter-withy/src` from `grammar.js`. With `--check` it writes nothing and fails where what is
//! there is not what would be written. Needs Node, which runs `grammar.js`.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use tree_sitter_generate::{OptLevel, generate_parser_in_directory};

/// The form of the generated tables; 15 is the first that knows reserved words.
const ABI: usize = 15;

/// All that is generated; `scanner.c` and `words.h` beside it are not.
const WRITTEN: [&str; 6] = [
    "grammar.json",
    "node-types.json",
    "parser.c",
    "tree_sitter/alloc.h",
    "tree_sitter/array.h",
    "tree_sitter/parser.h",
];

fn main() -> ExitCode {
    let check = std::env::args().skip(1).any(|argument| argument == "--check");
    match run(check) {
        Ok(stale) if stale.is_empty() => ExitCode::SUCCESS,
        Ok(stale) => {
            let names: Vec<String> = stale.iter().map(|path| path.display().to_string()).collect();
            eprintln!("out of step with grammar.js: {}", names.join(", "));
            eprintln!("run `cargo run --manifest-path grammar/generate/Cargo.toml`");
            ExitCode::FAILURE
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

/// The files that were stale and, unless this is only a check, have been written.
fn run(check: bool) -> Result<Vec<PathBuf>, Box<dyn Error>> {
    let grammar = Path::new(env!("CARGO_MANIFEST_DIR")).with_file_name("tree-sitter-withy");
    let fresh = tempfile::tempdir()?;
    let mut remarks = Vec::new();
    generate_parser_in_directory(
        grammar.clone(),
        Some(fresh.path()),
        Some(grammar.join("grammar.js")),
        ABI,
        None,
        Some("node"),
        true,
        OptLevel::default(),
        &mut remarks,
    )?;
    for remark in remarks {
        eprintln!("{remark:?}");
    }
    let mut stale = Vec::new();
    for name in WRITTEN {
        let (from, to) = (fresh.path().join(name), grammar.join("src").join(name));
        let text = std::fs::read(&from)?;
        if std::fs::read(&to).ok().as_ref() == Some(&text) {
            continue;
        }
        if !check {
            std::fs::create_dir_all(to.parent().unwrap_or(&grammar))?;
            std::fs::write(&to, text)?;
        }
        stale.push(to);
    }
    Ok(if check { stale } else { Vec::new() })
}
