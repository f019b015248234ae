//! Findings and files on their way out.

use std::fmt::Write as _;
use std::io::{IsTerminal, Write};
use std::path::Path;

use crate::cli::arguments::{Report, ReportArguments};
use crate::cli::exit::Exit;
use crate::library::{Checked, Loaded};
use crate::lint::rule_infos;
use crate::report::terminal::Colour;
use crate::report::{Diagnostic, json, junit, sarif, short, summary, terminal};

/// A person mends the first findings before reading more, and drawing thousands takes minutes.
const MOST_SHOWN: usize = 200;

/// The findings as a report.
pub fn report(loaded: &Loaded, checked: &Checked, kind: Report, terminal: bool) -> String {
    let files = &loaded.files;
    // People are shown what still needs mending; programs also get what is accepted.
    let open: Vec<Diagnostic> = checked.findings.iter().filter(|finding| finding.accepted.is_none()).cloned().collect();
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
        Report::Junit => junit::render(&checked.findings, files, &loaded.asked),
    }
}

/// How a check ends.
pub fn outcome(checked: &Checked, arguments: &ReportArguments) -> Exit {
    let fails = |finding: &Diagnostic| {
        finding.accepted.is_none() && finding.class().is_none_or(|class| class <= arguments.fail_on)
    };
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

/// Replaces a file at once: whoever reads it sees the old content or the new.
pub fn replace(path: &Path, text: &str) -> Result<(), String> {
    let told = |error: std::io::Error| format!("`{}` cannot be written: {error}", path.display());
    let folder = path.parent().unwrap_or_else(|| Path::new("."));
    std::fs::create_dir_all(folder).map_err(told)?;
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        // As an ordinary file, subject to the user's mask, instead of a private one.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(told)?;
    file.write_all(text.as_bytes()).map_err(told)?;
    file.persist(path).map_err(|error| told(error.error))?;
    Ok(())
}
