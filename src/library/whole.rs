use std::collections::{BTreeMap, BTreeSet};

use crate::library::check::{Aid, Checked, Depth, Taker};
use crate::library::load::Loaded;
use crate::library::offer::offer_uses;
use crate::library::outcome::{Library, Outcome};
use crate::lint::{self, Finding, Levels, LibraryView};
use crate::model::Acceptance;
use crate::names::{Decl, DeclId, DeclKind, Source, cycles};
use crate::report::{Class, Diagnostic, Kept, Subject, sorted};
use crate::text::{ChangedLines, FileId, Follows, Span};
use crate::types::{Date, Found, Missing};

/// What was kept of what came of a declaration. In an editor all of it stays in memory, so there is no room to grow in.
#[derive(Clone, Debug)]
pub(super) struct Taken<F, M, U = DeclId> {
    /// Errors, and names that mean nothing.
    pub found: Found,
    /// What the rules find in it.
    pub findings: Box<[F]>,
    /// What it accepts.
    pub acceptances: Box<[Acceptance]>,
    /// A recipe or batch itself, and what it is made with.
    pub uses: Box<[U]>,
    /// A recipe or batch.
    pub made: Option<M>,
}

impl<F, M> Taken<F, M> {
    /// What a taker keeps of an outcome.
    pub fn of(outcome: Outcome, levels: &Levels, taker: &mut impl Taker<Finding = F, Made = M>) -> Self {
        let Outcome { found, findings, acceptances, uses, made } = outcome;
        let findings = findings.into_iter().filter_map(|finding| levels.apply(finding));
        // Collected at once, they would stay where the findings stood, which takes several times the room.
        let mut kept = Vec::new();
        kept.extend(findings.map(|finding| taker.finding(finding)));
        Self {
            found,
            findings: kept.into(),
            acceptances: acceptances.into(),
            uses: uses.into(),
            made: made.map(|made| taker.made(made)),
        }
    }
}

impl<F, M, U> Taken<F, M, U> {
    /// Whether nothing came of it.
    pub fn is_empty(&self) -> bool {
        self.found.is_empty() && self.findings.is_empty() && self.acceptances.is_empty() && self.made.is_none()
    }
}

impl<F: Follows, M: Follows, U> Follows for Taken<F, M, U> {
    fn follow(&mut self, file: FileId, lines: &ChangedLines) -> bool {
        self.found.follow(file, lines)
            && self.findings.follow(file, lines)
            && self.acceptances.follow(file, lines)
            && self.made.follow(file, lines)
    }
}

/// What came of all declarations, and what follows from them together.
pub(super) struct Whole<'a, 't, T: Taker> {
    library: Library<'a, 't>,
    sources: &'a [Source<'t>],
    taker: &'a mut T,
    errors: Vec<T::Finding>,
    missing: Missing,
    findings: Vec<Finding<T::Finding>>,
    acceptances: Vec<Acceptance>,
    /// The recipes that use a declaration.
    users: BTreeMap<DeclId, Vec<DeclId>>,
    /// Recipes and batches, with what they use.
    made: Vec<(DeclId, Box<[DeclId]>, T::Made)>,
    /// Declarations with a finding of danger.
    danger: BTreeSet<DeclId>,
}

impl<'a, 't, T: Taker> Whole<'a, 't, T> {
    /// Nothing yet.
    pub fn new(library: Library<'a, 't>, sources: &'a [Source<'t>], taker: &'a mut T) -> Self {
        Self {
            library,
            sources,
            taker,
            errors: Vec::new(),
            missing: Missing::default(),
            findings: Vec::new(),
            acceptances: Vec::new(),
            users: BTreeMap::new(),
            made: Vec::new(),
            danger: BTreeSet::new(),
        }
    }

    /// Takes in what belongs to no declaration.
    pub fn found(&mut self, found: Found) {
        self.errors.extend(found.faults.into_iter().map(|fault| self.taker.finding(fault)));
        for used in found.missing {
            self.missing.add(used);
        }
    }

    /// Takes in what came of a declaration.
    pub fn take(&mut self, decl: &Decl<'t>, outcome: Outcome) {
        let taken = Taken::of(outcome, &self.library.loaded.settings.levels, self.taker);
        self.add(decl, taken);
    }

    /// Takes in what was kept of a declaration.
    pub fn add(&mut self, decl: &Decl<'t>, taken: Taken<T::Finding, T::Made>) {
        self.found(taken.found);
        for kept in taken.findings {
            self.finding(Finding { kept, owner: decl.id });
        }
        self.acceptances.extend(taken.acceptances);
        if decl.kind == DeclKind::Recipe {
            for used in taken.uses.iter().filter(|used| **used != decl.id) {
                self.users.entry(*used).or_default().push(decl.id);
            }
        }
        self.made.extend(taken.made.map(|made| (decl.id, taken.uses, made)));
    }

    fn finding(&mut self, finding: Finding<T::Finding>) {
        if finding.kept.subject().class() == Some(Class::Danger) {
            self.danger.insert(finding.owner);
        }
        self.findings.push(finding);
    }

    /// What all of it comes to. A check of the types alone has no findings of rules, and cannot tell what an acceptance
    /// silences.
    pub fn conclude(mut self, depth: Depth, today: Option<Date>, aid: &Aid<'_>) -> Checked<T::Finding, T::Made> {
        let Library { loaded, names, .. } = self.library;
        let missing = std::mem::take(&mut self.missing);
        let unknown = missing.names();
        let mut faults = missing.into_faults(names);
        if let Some(shelf) = aid.shelf {
            offer_uses(shelf, loaded, &unknown, &mut faults);
        }
        self.found(Found { faults, missing: Vec::new() });
        let levels = &loaded.settings.levels;
        if depth == Depth::Full {
            self.judge_library(levels);
        }
        let Self { errors: mut all, findings, acceptances, users, made, danger, taker, .. } = self;
        if depth == Depth::Full {
            let users = |id| users.get(&id).cloned().unwrap_or_default();
            let (marked, wrong) = lint::apply(findings, &acceptances, users, today, levels);
            // There are many more of these than of errors.
            let errors = std::mem::replace(&mut all, marked);
            all.extend(errors);
            all.extend(wrong.into_iter().map(|fault| taker.finding(fault)));
        }
        let findings = sorted(all, &loaded.files);
        let errors = findings.iter().filter(|finding| matches!(finding.subject(), Subject::Error(_)));
        let errors: Vec<Span> = errors.filter_map(|error| error.places().next()).collect();
        let made = made.into_iter().map(|(id, uses, made)| {
            let whole = names.decl(id).entry.span();
            let blocked = errors.iter().any(|error| within(*error, whole)) || uses.iter().any(|id| danger.contains(id));
            taker.ended(made, id, blocked)
        });
        let made = made.collect();
        Checked { findings, made }
    }

    fn judge_library(&mut self, levels: &Levels) {
        let broken = self.errors.iter().filter_map(|error| error.places().next()).map(|place| place.file).collect();
        let Library { loaded, names, .. } = self.library;
        let view = LibraryView { files: &loaded.files, names, sources: self.sources, broken: &broken };
        for (owner, finding) in lint::check_library(view) {
            let Some(finding) = levels.apply(finding) else { continue };
            let kept = self.taker.finding(finding);
            match owner {
                Some(owner) => self.finding(Finding { kept, owner }),
                None => self.errors.push(kept),
            }
        }
    }
}

fn within(inner: Span, outer: Span) -> bool {
    inner.file == outer.file && inner.start >= outer.start && inner.end <= outer.end
}

/// What there is against files as a whole: their reading, their syntax, and `faults` of their names.
pub(super) fn errors_of_files(loaded: &Loaded, faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut errors = loaded.faults.clone();
    errors.extend(loaded.parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()));
    errors.extend(faults);
    errors.extend(cycles(&loaded.uses, &loaded.files));
    let idle_docs = loaded.parsed.iter().flat_map(|parsed| lint::idle_docs(&parsed.tree));
    errors.extend(idle_docs.filter_map(|finding| loaded.settings.levels.apply(finding)));
    errors
}
