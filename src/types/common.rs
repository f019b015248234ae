//! What every declaration may ask for, computed once before any of them is checked.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::names::{DeclId, DeclKind, Names};
use crate::text::{Files, Span};
use crate::types::check::{Checker, Env, Found};
use crate::types::eval::Value;
use crate::types::header::let_expression;
use crate::types::wording;
use crate::units::SourceId;

/// The most steps from `let` to `let`; more would cost stack.
const LONGEST_CHAIN: usize = 64;

/// What checkers have in common.
#[derive(Debug, Default)]
pub struct Common {
    /// The value of every `let`; none where it has none, which was reported.
    lets: BTreeMap<DeclId, Option<Value>>,
    /// Where each unknown comes from.
    sources: BTreeMap<SourceId, Span>,
}

impl Common {
    /// Computes every `let` in the order of files and text, so that whoever asks later finds the same value; and what
    /// is wrong with them.
    pub fn new(files: &Files, names: &Names<'_>) -> (Arc<Self>, Found) {
        let mut checker = Checker::new(files, names);
        for decl in names.decls().iter().filter(|decl| decl.kind == DeclKind::Let) {
            checker.header(decl);
            checker.let_value(decl.id);
        }
        let found = checker.begin();
        let common = Self { lets: std::mem::take(&mut checker.lets), sources: std::mem::take(&mut checker.sources) };
        (Arc::new(common), found)
    }

    /// The same, with more places of unknowns.
    #[must_use]
    pub fn with_sources(&self, more: BTreeMap<SourceId, Span>) -> Self {
        let mut sources = self.sources.clone();
        sources.extend(more);
        Self { lets: self.lets.clone(), sources }
    }
}

impl Checker<'_, '_> {
    /// Where an unknown comes from.
    pub fn source_place(&self, source: SourceId) -> Option<Span> {
        self.sources.get(&source).or_else(|| self.common.sources.get(&source)).copied()
    }

    /// The value of a `let`, once.
    pub fn let_value(&mut self, id: DeclId) -> Option<Value> {
        if let Some(value) = self.common.lets.get(&id).or_else(|| self.lets.get(&id)) {
            return value.clone();
        }
        if let Some(from) = self.visiting.iter().position(|step| *step == id) {
            let fault = wording::circular_let(&self.visiting[from..], self.names);
            self.faults.push(fault);
            return None;
        }
        let decl = self.names.decl(id);
        if self.visiting.len() >= LONGEST_CHAIN {
            self.faults.push(wording::long_chain(decl));
            return None;
        }
        let value = let_expression(decl.entry).and_then(|expr| {
            self.visiting.push(id);
            let value = self.value(Env::of(decl), expr, None);
            self.visiting.pop();
            value
        });
        self.lets.insert(id, value.clone());
        value
    }
}
