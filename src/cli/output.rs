//! Findings on their way out.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write};

use crate::cli::arguments::Report;
use crate::cli::exit::Exit;
use crate::library::{Checked, Loaded};
use crate::lint::rule_infos;
use crate::report::terminal::Colour;
use crate::report::{Class, Diagnostic, json, junit, sarif, short, summary, terminal};

/// A person mends the first findings before reading more, and drawing thousands takes minutes.
const MOST_SHOWN: usize = 200;

/// The findings as a report.
pub fn report(loaded: &Loaded, checked: &Checked, kind: Report, fail_on: Class, terminal: bool) -> String {
    let files = &loaded.files;
    // People are shown what still needs mending; programs also get what is accepted or known.
    let open: Vec<Diagnostic> = checked.findings.iter().filter(|finding| finding.is_open()).cloned().collect();
    match kind {
        Report::Text => {
            let colour = if terminal && std::env::var_os("NO_COLOR").is_none() { Colour::On } else { Colour::Off };
            let shown = &open[..open.len().min(MOST_SHOWN)];
            let mut text = terminal::render(shown, files, colour);
            if shown.len() < open.len() {
                let _ = writeln!(text, "\n{} more: `--report short` lists them all", open.len() - shown.len());
            }
            if !text.is_empty() {
                text.push('\n');
            }
            text.push_str(&summary(&checked.findings, loaded.asked.len()));
            text.push('\n');
            text
        }
        Report::Short => short::render(&open, files),
        Report::Json => json::render(&checked.findings, files),
        Report::Sarif => sarif::render(&checked.findings, files, &rule_infos()),
        Report::Junit => junit::render(&checked.findings, files, &loaded.asked, fail_on),
    }
}

/// How a check ends.
pub fn outcome(checked: &Checked, fail_on: Class) -> Exit {
    let fails = |finding: &Diagnostic| finding.is_open() && finding.class().is_none_or(|class| class <= fail_on);
    if checked.findings.iter().any(fails) { Exit::Findings } else { Exit::Clean }
}

/// Writes to standard output; a reader that has gone away is no fault.
pub fn print(text: &str) -> Exit {
    match std::io::stdout().write_all(text.as_bytes()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            eprintln!("withy: cannot write: {error}");
            Exit::Unreadable
        }
        _ => Exit::Clean,
    }
}

/// Whether standard output is a terminal.
pub fn to_terminal() -> bool {
    std::io::stdout().is_terminal()
}
