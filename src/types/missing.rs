use std::collections::BTreeMap;

use crate::names::{DeclKind, Names};
use crate::report::Diagnostic;
use crate::text::{FileId, Span};
use crate::types::wording;

/// Names that were looked for and mean nothing: each is reported once, with all its uses.
#[derive(Debug, Default)]
pub struct Missing {
    names: BTreeMap<(FileId, String), MissingName>,
}

/// One use of a name that means nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingUse {
    /// The file whose names were looked through.
    pub file: FileId,
    /// The name.
    pub name: String,
    /// Where it is used.
    pub span: Span,
    /// What is wanted there.
    pub kinds: Vec<DeclKind>,
}

/// A name that means nothing where it is used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingName {
    /// The file that uses it.
    pub file: FileId,
    /// The name.
    pub name: String,
    /// Where it is used, in the order of the text.
    pub spans: Vec<Span>,
    /// What it may be.
    pub kinds: Vec<DeclKind>,
}

impl Missing {
    /// Takes a use in.
    pub fn add(&mut self, used: MissingUse) {
        let MissingUse { file, name, span, kinds } = used;
        let new = || MissingName { file, name: name.clone(), spans: Vec::new(), kinds: Vec::new() };
        let missing = self.names.entry((file, name.clone())).or_insert_with(new);
        if let Err(place) = missing.spans.binary_search(&span) {
            missing.spans.insert(place, span);
        }
        for kind in kinds {
            if !missing.kinds.contains(&kind) {
                missing.kinds.push(kind);
            }
        }
    }

    /// All names, by file.
    pub fn names(&self) -> Vec<MissingName> {
        self.names.values().cloned().collect()
    }

    /// One error for each name.
    pub fn into_faults(self, names: &Names<'_>) -> Vec<Diagnostic> {
        let fault = |missing: MissingName| {
            let near = names.suggest(missing.file, &missing.name, |kind| missing.kinds.contains(&kind));
            let near = near.map(|decl| decl.name.as_str());
            let others = names.fitting(missing.file, |kind| missing.kinds.contains(&kind));
            wording::unknown_name(&missing.name, &missing.spans, &missing.kinds, near, &others)
        };
        self.names().into_iter().map(fault).collect()
    }
}
