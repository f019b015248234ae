use std::collections::BTreeMap;

use crate::names::{DeclKind, Names};
use crate::report::Diagnostic;
use crate::text::{FileId, Span};
use crate::types::wording;

/// Names that were looked for and mean nothing: each is reported once, with all its uses.
#[derive(Debug, Default)]
pub struct Missing {
    names: BTreeMap<(FileId, String), (Vec<Span>, Vec<DeclKind>)>,
}

impl Missing {
    /// Remembers that `file` uses `name` at `span`, where something of one of the kinds is wanted.
    pub fn add(&mut self, file: FileId, name: &str, span: Span, kinds: &[DeclKind]) {
        let (spans, wanted) = self.names.entry((file, name.to_owned())).or_default();
        if !spans.contains(&span) {
            spans.push(span);
        }
        wanted.extend(kinds.iter().filter(|kind| !wanted.contains(kind)).copied().collect::<Vec<_>>());
    }

    /// One error for each name.
    pub fn into_faults(self, names: &Names<'_>) -> Vec<Diagnostic> {
        let fault = |((file, name), (mut spans, kinds)): ((FileId, String), (Vec<Span>, Vec<DeclKind>))| {
            spans.sort_unstable();
            let near = names.suggest(file, &name, |kind| kinds.contains(&kind)).map(|decl| decl.name.clone());
            wording::unknown_name(&name, &spans, &kinds, near.as_deref())
        };
        self.names.into_iter().map(fault).collect()
    }
}
