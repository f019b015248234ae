use std::collections::{BTreeMap, BTreeSet};

use crate::report::Diagnostic;
use crate::syntax::{Arg, Tree, path_without_quotes};
use crate::text::{FileId, Files, Span};

/// A `use` as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UseLine {
    /// The path, without its quotes.
    pub path: String,
    /// The path with its quotes.
    pub span: Span,
    /// The name after `as`.
    pub alias: Option<Span>,
}

/// A `use` and the file it was found to mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UseTarget {
    /// The `use` itself.
    pub line: UseLine,
    /// The file; none where it could not be had, which was reported.
    pub file: Option<FileId>,
}

/// The `use` lines of a file, and those that are malformed.
pub fn use_lines(tree: &Tree, text: &str) -> (Vec<UseLine>, Vec<Diagnostic>) {
    let mut lines = Vec::new();
    let mut faults = Vec::new();
    for entry in &tree.entries {
        let is_use = entry.head().is_some_and(|head| &text[head.range()] == "use");
        if !is_use || entry.broken() {
            continue;
        }
        let alias = match entry.args() {
            [Arg::Text(_)] => Some(None),
            [Arg::Text(_), Arg::Word(word), Arg::Expr(name)] if &text[word.range()] == "as" => {
                name.path().and_then(|path| path.single()).map(Some)
            }
            _ => None,
        };
        match (entry.args().first(), alias, entry.block()) {
            (Some(Arg::Text(span)), Some(alias), None) => {
                let inner = &text[span.range()];
                let path = inner.trim_matches('"').replace("\\\"", "\"").replace("\\\\", "\\");
                lines.push(UseLine { path, span: *span, alias });
            }
            (Some(Arg::Expr(path)), ..) => {
                faults.push(path_without_quotes(path.span(), text.get(path.span().range()).unwrap_or("")));
            }
            _ => faults.push(
                Diagnostic::error("malformed-use", entry.line(), "`use` takes the path of a file in quotes")
                    .here("something else follows it")
                    .help("For example: `use \"../stock/acrylic.withy\"`, or `use \"north.withy\" as north`."),
            ),
        }
    }
    (lines, faults)
}

/// One error for each circle of files that use each other, with the whole way round.
pub fn cycles(uses: &BTreeMap<FileId, Vec<UseTarget>>, files: &Files) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut done: BTreeSet<FileId> = BTreeSet::new();
    for start in uses.keys() {
        let mut path: Vec<(FileId, usize)> = vec![(*start, 0)];
        while let Some((file, next)) = path.last_mut() {
            let file = *file;
            let targets = uses.get(&file).map_or(&[][..], Vec::as_slice);
            let Some(target) = targets.get(*next).filter(|_| !done.contains(&file)) else {
                done.insert(file);
                path.pop();
                continue;
            };
            *next += 1;
            let Some(to) = target.file else { continue };
            if let Some(from) = path.iter().position(|step| step.0 == to) {
                faults.push(circle(&path[from..], uses, files));
            } else if !done.contains(&to) {
                path.push((to, 0));
            }
        }
    }
    faults
}

/// Each step of the way holds the number of the `use` just taken, plus one.
fn circle(path: &[(FileId, usize)], uses: &BTreeMap<FileId, Vec<UseTarget>>, files: &Files) -> Diagnostic {
    let lines: Vec<&UseLine> =
        path.iter().filter_map(|(file, next)| Some(&uses.get(file)?.get(next - 1)?.line)).collect();
    let names: Vec<&str> = path.iter().map(|(file, _)| files.get(*file).path()).collect();
    let round = format!("{} → {}", names.join(" → "), names.first().unwrap_or(&""));
    let first = lines.first().map_or_else(|| Span::new(path[0].0, 0, 0), |line| line.span);
    let fault = Diagnostic::error("circular-use", first, format!("files use each other in a circle: {round}"))
        .here(if lines.len() == 1 { "the file uses itself" } else { "the circle begins here" })
        .help("Move what both need into a file of its own, and use that from both.");
    lines.iter().skip(1).fold(fault, |fault, line| fault.also(line.span, "and goes on here"))
}
