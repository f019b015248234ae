//! A library that is being edited: what is not touched by an edit is neither read nor checked again.
//!
//! There is one way to check. A fresh check looks at every declaration; here those are left out whose text, and all
//! that they name, is as it was when they were last looked at. `tests/session.rs` holds the two against each other.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::library::io::{Io, Unreadable};
use crate::library::load::{Loaded, Places, load};
use crate::library::outcome::{Library, look_at_all};
use crate::library::renew::{Edited, LookNumber, Looks};
use crate::library::whole::errors_of_files;
use crate::library::{Depth, SETTINGS};
use crate::names::{self, Decl, DeclId, Names, Shape, UseTarget, resolve, use_lines};
use crate::report::{Diagnostic, sorted};
use crate::syntax::mentions;
use crate::text::{ChangedLines, FileId, Follows, SourceFile, Span};
use crate::types::{Common, Found, Missing};

/// The number of one state of one entry at the top of a file: it gets another whenever it is read anew.
type Stamp = u64;

/// A library that is open in an editor.
#[derive(Debug)]
pub struct Session {
    places: Places,
    asked: Vec<PathBuf>,
    loaded: Arc<Loaded>,
    ids: BTreeMap<PathBuf, FileId>,
    /// For each file, the stamps of its entries.
    stamps: Vec<Vec<Stamp>>,
    last_stamp: Stamp,
    /// What was found when a declaration was last looked at.
    kept: BTreeMap<Stamp, Kept>,
    /// Which names each file saw then.
    shapes: BTreeMap<FileId, Shape>,
    /// Whether an edit has changed what belongs to the library.
    regroup: bool,
    /// What has changed since somebody asked; none where everything was read anew.
    edits: Option<Vec<Edited>>,
}

/// What came of a look at a declaration.
#[derive(Debug)]
struct Kept {
    look: LookNumber,
    found: Found,
    /// What each name meant that it mentions.
    meanings: Box<[Meaning]>,
}

/// What a name means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Meaning {
    /// A declaration in this state.
    Decl(Stamp),
    /// A declaration of the catalogue, which never changes.
    Shipped(DeclId),
    /// Something that is broken.
    Broken,
    /// Nothing, as most words that are no names of declarations.
    Nothing,
}

impl Session {
    /// Reads the files and all that they use; also what could not be read.
    pub fn open(io: &dyn Io, places: Places, asked: Vec<PathBuf>) -> (Self, Vec<Unreadable>) {
        let mut session = Self {
            places,
            asked,
            loaded: Arc::default(),
            ids: BTreeMap::new(),
            stamps: Vec::new(),
            last_stamp: 0,
            kept: BTreeMap::new(),
            shapes: BTreeMap::new(),
            regroup: false,
            edits: None,
        };
        let unreadable = session.reload(io);
        (session, unreadable)
    }

    /// All texts as they are now. It costs little to hold on to it while edits go on.
    pub fn loaded(&self) -> &Arc<Loaded> {
        &self.loaded
    }

    /// Reads everything anew.
    pub fn reload(&mut self, io: &dyn Io) -> Vec<Unreadable> {
        let (loaded, unreadable) = load(io, &self.places, &self.asked, None);
        self.ids = loaded.paths.iter().map(|(id, path)| (path.clone(), *id)).collect();
        self.kept.clear();
        self.shapes.clear();
        self.stamps.clear();
        for parsed in &loaded.parsed {
            let stamps = fresh(&mut self.last_stamp, parsed.tree.entries.len());
            self.stamps.push(stamps);
        }
        self.loaded = Arc::new(loaded);
        self.regroup = false;
        self.edits = None;
        unreadable
    }

    /// Where each file is.
    pub fn files(&self) -> &BTreeMap<PathBuf, FileId> {
        &self.ids
    }

    /// A file has this text now. Nothing is checked yet.
    pub fn edit(&mut self, path: &Path, text: &str) {
        let Some(file) = self.ids.get(path).copied() else { return };
        if path.file_name().is_some_and(|name| name == SETTINGS) {
            self.regroup = true;
            return;
        }
        let Some(lines) = ChangedLines::between(self.loaded.files.get(file).text(), text) else { return };
        let loaded = Arc::make_mut(&mut self.loaded);
        let (Some(parsed), Some(stamps)) =
            (loaded.parsed.get_mut(file.0 as usize), self.stamps.get_mut(file.0 as usize))
        else {
            return;
        };
        let parsed = Arc::make_mut(parsed);
        let kept = parsed.renew(loaded.files.get(file).text(), text, &lines);
        let count = parsed.tree.entries.len() - kept.before - kept.behind;
        let behind = stamps.len() - kept.behind;
        stamps.splice(kept.before..behind, fresh(&mut self.last_stamp, count));
        let (used, faults) = use_lines(&parsed.tree, text);
        let name = loaded.files.get(file).path().to_owned();
        loaded.files.replace(file, SourceFile::new(name, text));
        let before = loaded.uses.remove(&file).unwrap_or_default();
        let same = faults.is_empty()
            && before.len() == used.len()
            && before.iter().zip(&used).all(|(old, new)| old.file.is_some() && old.line.path == new.path);
        // Faults of `use` are found where files are read.
        self.regroup |= !same || loaded.faults.iter().any(|fault| fault.primary().file == file);
        let targets = before.into_iter().zip(used).map(|(old, line)| UseTarget { line, file: old.file });
        loaded.uses.insert(file, targets.collect());
        self.kept.retain(|_, kept| kept.found.follow(file, &lines));
        if let Some(edits) = &mut self.edits {
            edits.push(Edited::Lines(file, lines));
        }
    }

    /// What has changed since this was last asked; none where everything was read anew.
    pub fn take_edits(&mut self) -> Option<Vec<Edited>> {
        self.edits.replace(Vec::new())
    }

    /// The last look at each declaration, as of the last check.
    pub fn looks(&self) -> Looks {
        let files = self.stamps.iter().zip(0..);
        let entries = files.flat_map(|(stamps, file)| {
            stamps.iter().enumerate().map(move |(place, stamp)| ((FileId(file), place), stamp))
        });
        Looks(entries.filter_map(|(at, stamp)| Some((at, self.kept.get(stamp)?.look))).collect())
    }

    /// What syntax, names, units and types have against the texts as they are now: the same as a fresh check of that
    /// depth would find, in the same order.
    pub fn check(&mut self, io: &dyn Io) -> Vec<Diagnostic> {
        if self.regroup {
            self.reload(io);
        }
        let loaded = Arc::clone(&self.loaded);
        let files = &loaded.files;
        let sources = loaded.sources();
        let (names, faults) = resolve(&sources, files);
        let (common, found) = Common::new(files, &names);
        let decls: Vec<&Decl<'_>> = names.decls().iter().filter(|decl| !decl.catalogue).collect();
        let open = self.open_declarations(&names, &loaded);
        let library = Library { loaded: &loaded, names: &names, common: &common };
        let (looks, _) = look_at_all(library, &open, Depth::Types);
        for (decl, look) in open.into_iter().zip(looks) {
            let meanings = self.meanings(decl, &names, &loaded);
            if let Some(stamp) = self.stamp(decl) {
                self.last_stamp += 1;
                self.kept.insert(stamp, Kept { look: self.last_stamp, found: look.found, meanings });
            }
        }
        let alive: BTreeSet<Stamp> = decls.iter().filter_map(|decl| self.stamp(decl)).collect();
        self.kept.retain(|stamp, _| alive.contains(stamp));

        let mut errors = errors_of_files(&loaded, faults);
        let mut missing = Missing::default();
        let kept = decls.iter().filter_map(|decl| self.kept.get(&self.stamp(decl)?)).map(|kept| &kept.found);
        for found in std::iter::once(&found).chain(kept) {
            errors.extend(found.faults.iter().cloned());
            for used in &found.missing {
                missing.add(used.clone());
            }
        }
        errors.extend(missing.into_faults(&names));
        sorted(errors, files)
    }

    fn stamp(&self, decl: &Decl<'_>) -> Option<Stamp> {
        self.stamps.get(decl.file.0 as usize)?.get(decl.place).copied()
    }

    /// The declarations that have to be looked at: those that are new, and all that hang on them.
    fn open_declarations<'n, 't>(&mut self, names: &'n Names<'t>, loaded: &Loaded) -> Vec<&'n Decl<'t>> {
        let shapes: BTreeMap<FileId, Shape> =
            loaded.files.iter().filter_map(|(file, _)| Some((file, names.shape(file)?))).collect();
        let other = |file: &FileId| self.shapes.get(file) != shapes.get(file);
        let prefixed = |shape: &Shape| shape.files_by_prefix().any(|file| other(&file));
        let changed: BTreeSet<FileId> =
            shapes.iter().filter(|(file, shape)| other(file) || prefixed(shape)).map(|(file, _)| *file).collect();
        if let Some(edits) = self.edits.as_mut().filter(|_| !changed.is_empty()) {
            edits.push(Edited::Names);
        }
        let decls: Vec<&Decl<'t>> = names.decls().iter().filter(|decl| !decl.catalogue).collect();
        let alive: BTreeSet<Stamp> = decls.iter().filter_map(|decl| self.stamp(decl)).collect();
        let mut users: Vec<(Stamp, &Decl<'t>)> = Vec::new();
        let mut open: BTreeSet<DeclId> = BTreeSet::new();
        let mut queue: Vec<&Decl<'t>> = Vec::new();
        for decl in &decls {
            let kept = self.stamp(decl).and_then(|stamp| self.kept.get(&stamp));
            users.extend(kept.iter().flat_map(|kept| kept.needs()).map(|need| (need, *decl)));
            let holds = kept.is_some_and(|kept| {
                // What is wrong may be told with the names that there are.
                (changed.is_empty() || kept.found.is_empty())
                    && kept.needs().all(|need| alive.contains(&need))
                    && (!changed.contains(&decl.file) || self.meanings(decl, names, loaded) == kept.meanings)
            });
            if !holds && open.insert(decl.id) {
                queue.push(decl);
            }
        }
        users.sort_unstable_by_key(|(need, user)| (*need, user.id));
        while let Some(decl) = queue.pop() {
            let Some(stamp) = self.stamp(decl) else { continue };
            let first = users.partition_point(|(need, _)| *need < stamp);
            let hang_on_it = users[first..].iter().take_while(|(need, _)| *need == stamp).map(|(_, user)| *user);
            queue.extend(hang_on_it.filter(|user| open.insert(user.id)));
        }
        self.shapes = shapes;
        decls.into_iter().filter(|decl| open.contains(&decl.id)).collect()
    }

    /// What the names mean that a declaration mentions, in the order of the text.
    fn meanings(&self, decl: &Decl<'_>, names: &Names<'_>, loaded: &Loaded) -> Box<[Meaning]> {
        let mut meanings = Vec::new();
        mentions(decl.entry, &mut |words: &[Span]| {
            let words: Vec<&str> = words.iter().map(|word| loaded.files.slice(*word)).collect();
            meanings.push(match names.find(decl.file, &words) {
                names::Found::Decl(id) if names.decl(id).catalogue => Meaning::Shipped(id),
                names::Found::Decl(id) => self.stamp(names.decl(id)).map_or(Meaning::Broken, Meaning::Decl),
                names::Found::Broken => Meaning::Broken,
                names::Found::Missing => Meaning::Nothing,
            });
        });
        meanings.into()
    }
}

impl Kept {
    /// The declarations that it names.
    fn needs(&self) -> impl Iterator<Item = Stamp> {
        self.meanings.iter().filter_map(|meaning| match meaning {
            Meaning::Decl(stamp) => Some(*stamp),
            Meaning::Shipped(_) | Meaning::Broken | Meaning::Nothing => None,
        })
    }
}

fn fresh(last: &mut Stamp, count: usize) -> Vec<Stamp> {
    let mut next = || {
        *last += 1;
        *last
    };
    (0..count).map(|_| next()).collect()
}
