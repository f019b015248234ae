//! What a full check of an edited library has found, kept from one state of its texts to the next: only what an edit
//! touches, and what hangs on it, is planned again. `tests/session.rs` holds it against a fresh check.

use std::collections::BTreeMap;

use crate::library::check::{Aid, Checked, Depth, Taker};
use crate::library::load::Loaded;
use crate::library::outcome::{Library, outcomes};
use crate::library::whole::{Taken, Whole, errors_of_files};
use crate::model::Acceptance;
use crate::names::{Decl, DeclId, resolve};
use crate::report::Kept;
use crate::text::{ChangedLines, FileId, Follows};
use crate::types::{Common, Date, Found};

/// The number of one look at one declaration: it gets another whenever it has changed, or something that it hangs on.
pub(super) type LookNumber = u64;

/// The last look at each declaration, by its file and which of that file's entries it is.
#[derive(Clone, Debug, Default)]
pub struct Looks(pub(super) BTreeMap<(FileId, usize), LookNumber>);

impl Looks {
    fn of(&self, decl: &Decl<'_>) -> Option<LookNumber> {
        self.0.get(&(decl.file, decl.place)).copied()
    }
}

/// What has changed between two states of the texts.
#[derive(Clone, Copy, Debug)]
pub enum Edited {
    /// Lines of a file.
    Lines(FileId, ChangedLines),
    /// Which names there are: what is wrong may be told with them.
    Names,
}

/// What came of each declaration when it was last looked at.
#[derive(Debug)]
pub struct Renewed<F, M> {
    known: BTreeMap<LookNumber, Known<F, M>>,
}

/// None where nothing came of it, as of most. Numbers of declarations are of the state in which it was found.
type Known<F, M> = Option<Box<Taken<F, M, LookNumber>>>;

impl<F, M> Default for Renewed<F, M> {
    fn default() -> Self {
        Self { known: BTreeMap::new() }
    }
}

impl<F: Kept + Follows + Clone, M: Follows + Clone> Renewed<F, M> {
    /// Follows the texts to the state in which they are to be checked next. No change may be left out.
    pub fn follow(&mut self, edits: &[Edited]) {
        for edited in edits {
            match edited {
                Edited::Lines(file, lines) => self.known.retain(|_, known| known.follow(*file, lines)),
                Edited::Names => {
                    self.known.retain(|_, known| known.as_ref().is_none_or(|known| known.found.is_empty()));
                }
            }
        }
    }

    /// The same as a fresh check that goes to the end. Where nobody wants it any more there is nothing, but what was found
    /// up to there is still known next time.
    pub fn check<T: Taker<Finding = F, Made = M>>(
        &mut self,
        loaded: &Loaded,
        looks: &Looks,
        today: Option<Date>,
        aid: &Aid<'_>,
        taker: &mut T,
    ) -> Checked<F, M> {
        let sources = loaded.sources();
        let (names, faults) = resolve(&sources, &loaded.files);
        let (common, found) = Common::new(&loaded.files, &names);
        let library = Library { loaded, names: &names, common: &common };
        let decls: Vec<&Decl<'_>> = names.decls().iter().filter(|decl| !decl.catalogue).collect();
        let numbers: BTreeMap<LookNumber, DeclId> =
            decls.iter().filter_map(|decl| Some((looks.of(decl)?, decl.id))).collect();
        self.known.retain(|look, _| numbers.contains_key(look));
        let is_known = |look: LookNumber| self.known.contains_key(&look);
        let open: Vec<&Decl<'_>> = decls.iter().filter(|decl| !looks.of(decl).is_some_and(is_known)).copied().collect();
        let levels = &loaded.settings.levels;
        outcomes(library, &open, Depth::Full, aid, &mut |decl, outcome| {
            let Some(look) = looks.of(decl) else { return };
            let Taken { found, findings, acceptances, uses, made } = Taken::of(outcome, levels, taker);
            let uses = uses.iter().filter_map(|id| looks.of(names.decl(*id))).collect();
            let taken = Taken { found, findings, acceptances, uses, made };
            self.known.insert(look, (!taken.is_empty()).then(|| Box::new(taken)));
        });
        if !aid.progress.is_wanted() {
            return Checked { findings: Vec::new(), made: Vec::new() };
        }

        let mut whole = Whole::new(library, &sources, taker);
        whole.found(Found { faults: errors_of_files(loaded, faults), missing: Vec::new() });
        whole.found(found);
        for decl in decls {
            if let Some(Some(known)) = looks.of(decl).and_then(|look| self.known.get(&look)) {
                whole.add(decl, now(known, decl.id, &numbers));
            }
        }
        whole.conclude(Depth::Full, today, aid)
    }
}

/// What is known of a declaration, with the numbers that declarations have now.
fn now<F: Clone, M: Clone>(
    known: &Taken<F, M, LookNumber>,
    own: DeclId,
    numbers: &BTreeMap<LookNumber, DeclId>,
) -> Taken<F, M> {
    let Taken { found, findings, acceptances, uses, made } = known.clone();
    let acceptances = acceptances.into_iter().map(|acceptance| Acceptance { owner: own, ..acceptance }).collect();
    let uses = uses.iter().filter_map(|look| numbers.get(look)).copied().collect();
    Taken { found, findings, acceptances, uses, made }
}
