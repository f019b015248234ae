//! What was found in one library, file by file: a file whose findings stay as they are shares them with what was sent of it
//! before, so that a keystroke costs what it touches.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::server::placed::{Placed, Replaced};
use crate::text::FileId;

/// The findings of each file that has some.
pub type ByFile = BTreeMap<FileId, Arc<Vec<Placed>>>;

/// What was found at once, and what was computed.
#[derive(Debug, Default)]
pub struct Findings {
    /// All of it if everything is computed, else what the fast stages find and what was found before.
    shown: Arc<ByFile>,
    /// What the fast stages found.
    quick: BTreeMap<FileId, Vec<Placed>>,
    /// What only the slow ones had found before, moved along with the texts.
    slow: ByFile,
}

impl Findings {
    /// All that is to be shown.
    pub fn shown(&self) -> &Arc<ByFile> {
        &self.shown
    }

    /// Takes in what the fast stages found; what was computed before is still shown beside it.
    pub fn take_quick(&mut self, found: impl Iterator<Item = Placed>) {
        self.quick = grouped(found);
        let mut shown = self.slow.clone();
        for (file, quick) in &self.quick {
            let group = shown.entry(*file).or_default();
            *group = Arc::new(quick.iter().chain(group.iter()).cloned().collect());
        }
        self.shown = Arc::new(shown);
    }

    /// Takes in everything that there is.
    pub fn take_all(&mut self, found: Vec<Placed>) {
        let of_quick: BTreeSet<_> = self.quick.values().flatten().map(Placed::fault).collect();
        let mut slow = ByFile::new();
        let mut shown = ByFile::new();
        for (file, all) in grouped(found.into_iter()) {
            let all = Arc::new(all);
            let others = all.iter().filter(|finding| !of_quick.contains(&finding.fault()));
            let group = if others.clone().count() == all.len() {
                Arc::clone(&all)
            } else {
                Arc::new(others.cloned().collect())
            };
            slow.insert(file, group);
            shown.insert(file, all);
        }
        (self.slow, self.shown) = (slow, Arc::new(shown));
    }

    /// Moves what was computed along with a text in which something was replaced.
    pub fn move_along(&mut self, file: FileId, replaced: &Replaced) {
        for group in self.slow.values_mut().filter(|group| group.iter().any(|finding| finding.concerns(file))) {
            Arc::make_mut(group).retain_mut(|finding| finding.move_along(file, replaced));
        }
    }

    /// Gives the files the numbers of another load.
    pub fn renumber(&mut self, numbers: &BTreeMap<FileId, FileId>) {
        let all = std::mem::take(&mut self.slow).into_values();
        let found = all.flat_map(|group| group.iter().cloned().collect::<Vec<_>>());
        let kept = found.filter_map(|mut finding| finding.renumber(numbers).then_some(finding));
        self.slow = grouped(kept).into_iter().map(|(file, group)| (file, Arc::new(group))).collect();
    }
}

/// Findings by the files they are in; what has no place any more is nowhere.
fn grouped(found: impl Iterator<Item = Placed>) -> BTreeMap<FileId, Vec<Placed>> {
    let mut files: BTreeMap<FileId, Vec<Placed>> = BTreeMap::new();
    for finding in found {
        if let Some(place) = finding.primary() {
            files.entry(place.file).or_default().push(finding);
        }
    }
    files
}
