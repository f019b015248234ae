//! Offers a `use` for a name that another file of the library declares.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::library::io::Io;
use crate::library::load::{Loaded, plain, relative};
use crate::names::{declared, use_lines};
use crate::report::{Change, Diagnostic, Edit};
use crate::syntax::{Parsed, parse};
use crate::text::{FileId, Span};
use crate::types::MissingName;

/// Larger files are not read for the sake of a message.
const LARGEST_READ: usize = 1024 * 1024;

/// More files than this for one name are no help.
const MOST_OFFERS: usize = 3;

/// Adds to the fault of each unknown name the `use` of the files that declare it. The library is walked once, and only
/// where a name is missing.
pub(super) fn offer_uses(io: &dyn Io, loaded: &Loaded, unknown: &[MissingName], faults: &mut [Diagnostic]) {
    if unknown.is_empty() {
        return;
    }
    let shelf = Shelf::new(io, loaded, unknown);
    for missing in unknown {
        let offers = shelf.offers(missing);
        let Some(first) = missing.spans.first().filter(|_| !offers.is_empty()) else { continue };
        let Some(finding) = faults.iter_mut().find(|fault| fault.primary() == *first) else { continue };
        // The very name is better than a similar one.
        finding.edits.clear();
        finding.helps.clear();
        for path in offers {
            let shown = path.strip_prefix(&loaded.root).unwrap_or(path).display().to_string().replace('\\', "/");
            finding.notes.push(format!("`{shown}` declares it, but this file does not use that one."));
            finding.edits.extend(edit(loaded, missing.file, path));
        }
    }
}

/// The files that may declare what is missing.
struct Shelf<'a> {
    loaded: &'a Loaded,
    files: BTreeMap<PathBuf, (Parsed, String)>,
}

impl<'a> Shelf<'a> {
    fn new(io: &dyn Io, loaded: &'a Loaded, missing: &[MissingName]) -> Self {
        let mentions = |text: &str| missing.iter().any(|missing| text.contains(&missing.name));
        let known = loaded.paths.values().cloned();
        let paths: BTreeSet<PathBuf> = io.some_recipe_files(&loaded.root).into_iter().chain(known).collect();
        let files = paths.into_iter().filter_map(|path| {
            let text = String::from_utf8(io.read(&path).ok()?).ok()?;
            // What a file uses counts too, so all that hold a `use` are kept.
            let useful = text.len() <= LARGEST_READ && (mentions(&text) || text.contains("use"));
            // The spans of these trees are read against their own text only.
            useful.then(|| (path, (parse(FileId(0), &text), text)))
        });
        Self { loaded, files: files.collect() }
    }

    /// The files whose `use` would bring in the name and break nothing; those that other files use already, if
    /// there are such.
    fn offers(&self, missing: &MissingName) -> Vec<&Path> {
        let own = self.loaded.paths.get(&missing.file);
        let seen: BTreeSet<&str> =
            own.map_or_else(Vec::new, |own| self.used(own)).iter().flat_map(|path| self.declares(path)).collect();
        let fits = |(parsed, text): &(Parsed, String)| {
            declared(&parsed.tree, text).any(|(kind, name)| name == missing.name && missing.kinds.contains(&kind))
        };
        let mut offers: Vec<&Path> =
            self.files.iter().filter(|file| fits(file.1)).map(|file| file.0.as_path()).collect();
        offers.retain(|path| own.is_none_or(|own| !self.leads_to(path, own)));
        offers.retain(|path| !self.declares(path).iter().any(|name| seen.contains(name)));
        let used: BTreeSet<PathBuf> = self.files.keys().flat_map(|path| self.used(path)).collect();
        if offers.iter().any(|path| used.contains(*path)) {
            offers.retain(|path| used.contains(*path));
        }
        offers.truncate(MOST_OFFERS);
        offers
    }

    fn declares(&self, path: &Path) -> Vec<&str> {
        let file = self.files.get(path);
        file.map_or_else(Vec::new, |(parsed, text)| declared(&parsed.tree, text).map(|found| found.1).collect())
    }

    /// The files that a file uses without a prefix.
    fn used(&self, path: &Path) -> Vec<PathBuf> {
        let (Some((parsed, text)), Some(folder)) = (self.files.get(path), path.parent()) else { return Vec::new() };
        let (lines, _) = use_lines(&parsed.tree, text);
        lines.iter().filter(|line| line.alias.is_none()).map(|line| plain(&folder.join(&line.path))).collect()
    }

    /// Whether a file uses another, by whatever detour: then the other way round would be a circle.
    fn leads_to(&self, from: &Path, to: &Path) -> bool {
        let mut done: BTreeSet<PathBuf> = BTreeSet::new();
        let mut open = vec![from.to_owned()];
        while let Some(path) = open.pop() {
            if path == to {
                return true;
            }
            if done.insert(path.clone()) {
                open.extend(self.used(&path));
            }
        }
        false
    }
}

/// Inserts `use "…"` after the last `use`, after `language`, or at the file's top.
fn edit(loaded: &Loaded, file: FileId, path: &Path) -> Option<Edit> {
    let text = loaded.files.get(file).text();
    let line = format!("use \"{}\"", relative(loaded.folder(file), path));
    let tree = &loaded.parsed.get(file.0 as usize)?.tree;
    let last_of = |word: &str| {
        let mut entries = tree.entries.iter().rev();
        entries.find(|entry| entry.head().is_some_and(|head| loaded.files.slice(head) == word))
    };
    let (at, inserted) = match last_of("use").or_else(|| last_of("language")) {
        Some(entry) => {
            let end = entry.span().end as usize;
            let rest = text.get(end..)?;
            match rest.split_once('\n') {
                Some((line_rest, _)) => {
                    let ending = if line_rest.ends_with('\r') { "\r\n" } else { "\n" };
                    (end + line_rest.len() + 1, format!("{line}{ending}"))
                }
                None => (text.len(), format!("\n{line}")),
            }
        }
        None => (if text.starts_with('\u{feff}') { 3 } else { 0 }, format!("{line}\n\n")),
    };
    let at = u32::try_from(at).ok()?;
    let change = Change { span: Span::new(file, at, at), text: inserted };
    Some(Edit { title: format!("write `{line}`"), changes_control: false, changes: vec![change] })
}
