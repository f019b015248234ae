//! Makes the edits that findings offer, and keeps those that make things better.
//!
//! Nothing is written here: texts are changed in memory, checked again, and handed back. An edit that changes a time, a
//! power, a temperature or a current is only made when its rule is named.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use crate::library::check::{Aid, Checked, Depth, check_with};
use crate::library::io::{Io, ReadProblem, Walked};
use crate::library::load::{Loaded, Places, load};
use crate::lint::rule;
use crate::report::edit::apply;
use crate::report::{Change, Diagnostic, Edit};
use crate::text::FileId;
use crate::types::Date;

/// Which edits are made.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Chosen {
    /// All those that leave times, powers, temperatures and currents alone.
    pub harmless: bool,
    /// All those of these rules and errors.
    pub names: BTreeSet<String>,
}

impl Chosen {
    fn takes(&self, finding: &Diagnostic, edit: &Edit) -> bool {
        (self.harmless && !edit.changes_control) || self.names.contains(finding.name())
    }
}

/// A text that edits have changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// Where it lies.
    pub path: PathBuf,
    /// The name in reports.
    pub name: String,
    /// As it was read.
    pub before: String,
    /// As it should be.
    pub after: String,
    /// How many edits were made.
    pub edits: usize,
}

/// What is checked.
#[derive(Clone, Copy)]
pub struct Task<'a> {
    /// Where the library lies.
    pub places: &'a Places,
    /// The files; only they are ever changed.
    pub files: &'a [PathBuf],
    /// The date acceptances are held against.
    pub today: Option<Date>,
}

/// What came of mending.
#[derive(Debug)]
pub struct MendOutcome {
    /// The texts that changed.
    pub mended: Vec<Mended>,
    /// Everything as it is with them.
    pub loaded: Loaded,
    /// What is found in that.
    pub checked: Checked,
    /// Chosen names that no rule and no finding has.
    pub unknown: Vec<String>,
}

/// Checks and edits in turn until there is nothing left to be edited. Each mended file was checked again as it is
/// handed back, with the files that were asked for.
pub fn mend(io: &dyn Io, task: Task<'_>, chosen: &Chosen, aid: &Aid<'_>) -> MendOutcome {
    let mut overlay = Overlay { io, texts: BTreeMap::new() };
    let mut made: BTreeMap<PathBuf, usize> = BTreeMap::new();
    let (mut loaded, mut checked) = look(&overlay, task, aid);
    let found = |name: &String| checked.findings.iter().any(|finding| finding.name() == name);
    let unknown = chosen.names.iter().filter(|name| rule(name).is_none() && !found(name)).cloned().collect();
    let mut refused: BTreeSet<String> = BTreeSet::new();
    loop {
        let edits = wanted(&loaded, &checked, chosen, &refused);
        let Some(first) = edits.first() else { break };
        // All at once, as far as they do not touch each other; where that makes nothing better, one at a time.
        let together = apart(&edits);
        let single = vec![first.clone()];
        let tries = if together.len() > 1 { vec![together, single] } else { vec![single] };
        let mut better = false;
        for attempt in &tries {
            let Some(next) = overlay.with(&loaded, attempt) else { continue };
            let (new_loaded, new_checked) = look(&next, task, aid);
            if badness(&new_checked) < badness(&checked) && readable(&new_loaded, &next) {
                for edit in attempt {
                    for file in edit.changes.iter().map(|change| change.span.file).collect::<BTreeSet<FileId>>() {
                        let path = loaded.paths.get(&file).cloned().unwrap_or_default();
                        *made.entry(path).or_default() += 1;
                    }
                }
                (overlay, loaded, checked, better) = (next, new_loaded, new_checked, true);
                break;
            }
        }
        if !better {
            refused.insert(signature(&loaded, first));
        }
    }
    let mended = overlay.texts.iter().filter_map(|(path, after)| {
        let before = String::from_utf8(io.read(path).ok()?).ok()?;
        let (id, _) = loaded.paths.iter().find(|known| known.1 == path)?;
        let edits = made.get(path).copied().unwrap_or(0);
        let name = loaded.files.get(*id).path().to_owned();
        (before != *after).then(|| Mended { path: path.clone(), name, before, after: after.clone(), edits })
    });
    let mended = mended.collect();
    MendOutcome { mended, loaded, checked, unknown }
}

fn look(io: &dyn Io, task: Task<'_>, aid: &Aid<'_>) -> (Loaded, Checked) {
    let (loaded, _) = load(io, task.places, task.files, None);
    let checked = check_with(&loaded, Depth::Full, task.today, &Aid { shelf: Some(io), ..*aid });
    (loaded, checked)
}

/// Errors count first: mending one can bring out findings that it has hidden.
fn badness(checked: &Checked) -> (usize, usize) {
    let open = checked.findings.iter().filter(|finding| finding.is_open());
    (open.clone().filter(|finding| finding.is_error()).count(), open.count())
}

/// Whether every changed text was among those that were checked.
fn readable(loaded: &Loaded, overlay: &Overlay<'_>) -> bool {
    let checked: BTreeSet<&PathBuf> = loaded.asked.iter().filter_map(|id| loaded.paths.get(id)).collect();
    overlay.texts.keys().all(|path| checked.contains(path))
}

/// The edits to be made: of findings that offer just one, since between several a person has to choose, in files that
/// were asked for.
fn wanted(loaded: &Loaded, checked: &Checked, chosen: &Chosen, refused: &BTreeSet<String>) -> Vec<Edit> {
    let asked = |id: &FileId| loaded.asked.contains(id) && loaded.paths.contains_key(id);
    let open = checked.findings.iter().filter(|finding| finding.is_open());
    let edits = open.filter_map(|finding| match finding.edits.as_slice() {
        [edit] if chosen.takes(finding, edit) => Some(edit),
        _ => None,
    });
    edits
        .filter(|edit| edit.changes.iter().all(|change| asked(&change.span.file)))
        .filter(|edit| !refused.contains(&signature(loaded, edit)))
        .cloned()
        .collect()
}

/// What an edit does, whatever else has changed in the meantime.
fn signature(loaded: &Loaded, edit: &Edit) -> String {
    let change = |change: &Change| {
        let path = loaded.files.get(change.span.file).path();
        format!("{path}\0{}\0{}", loaded.files.slice(change.span), change.text)
    };
    let changes: Vec<String> = edit.changes.iter().map(change).collect();
    format!("{}\0{}", edit.title, changes.join("\0"))
}

/// Edits of which no two touch each other, the first ones first. The same one is made once.
pub(super) fn apart(edits: &[Edit]) -> Vec<Edit> {
    let mut taken: Vec<&Change> = Vec::new();
    let mut chosen = Vec::new();
    for edit in edits {
        let clashes = |change: &&Change| {
            let touches = |other: &&Change| {
                other.span.file == change.span.file
                    && other.span.start <= change.span.end
                    && change.span.start <= other.span.end
            };
            taken.iter().any(touches)
        };
        if !edit.changes.iter().any(|change| clashes(&change)) {
            taken.extend(&edit.changes);
            chosen.push(edit.clone());
        }
    }
    chosen
}

/// Texts laid over the files that they replace.
struct Overlay<'a> {
    io: &'a dyn Io,
    texts: BTreeMap<PathBuf, String>,
}

impl<'a> Overlay<'a> {
    /// The same with edits made; none where they cannot be made.
    fn with(&self, loaded: &Loaded, edits: &[Edit]) -> Option<Overlay<'a>> {
        let mut texts = self.texts.clone();
        let files = edits.iter().flat_map(|edit| &edit.changes).map(|change| change.span.file);
        for file in files.collect::<BTreeSet<FileId>>() {
            let text = loaded.files.get(file).text();
            let edits: Vec<Edit> = edits.iter().map(|edit| with_line_ends_of(text, edit)).collect();
            texts.insert(loaded.paths.get(&file)?.clone(), apply(file, text, &edits).ok()?);
        }
        Some(Self { io: self.io, texts })
    }
}

/// The edit with the line ends of the text that it is made in.
pub(super) fn with_line_ends_of(text: &str, edit: &Edit) -> Edit {
    let mut edit = edit.clone();
    if text.contains("\r\n") {
        for change in &mut edit.changes {
            change.text = change.text.replace("\r\n", "\n").replace('\n', "\r\n");
        }
    }
    edit
}

impl Io for Overlay<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadProblem> {
        self.texts.get(path).map_or_else(|| self.io.read(path), |text| Ok(text.clone().into_bytes()))
    }

    fn has_exactly(&self, path: &Path) -> bool {
        self.io.has_exactly(path)
    }

    fn recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.io.recipe_files(folder)
    }

    fn is_folder(&self, path: &Path) -> bool {
        self.io.is_folder(path)
    }

    fn is_file(&self, path: &Path) -> bool {
        self.io.is_file(path)
    }

    fn walk(&self, folder: &Path) -> Walked {
        self.io.walk(folder)
    }

    fn some_recipe_files(&self, folder: &Path) -> Vec<PathBuf> {
        self.io.some_recipe_files(folder)
    }
}
