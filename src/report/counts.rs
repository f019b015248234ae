//! How many findings of each kind there are.

use serde::Serialize;

use crate::report::{Class, Diagnostic};

/// Findings by signal word. An accepted finding is counted under `accepted` only, one that a
/// baseline knows under `known` only.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Faults of syntax, names, types or input.
    pub error: usize,
    /// Findings of the class danger.
    pub danger: usize,
    /// Findings of the class warning.
    pub warning: usize,
    /// Findings of the class caution.
    pub caution: usize,
    /// Findings of the class notice.
    pub notice: usize,
    /// Findings of the class hint.
    pub hint: usize,
    /// Findings that the source accepts with a reason.
    pub accepted: usize,
    /// Findings that a baseline knows.
    pub known: usize,
}

impl Counts {
    /// Counts `diagnostics`.
    pub fn of(diagnostics: &[Diagnostic]) -> Self {
        let mut counts = Self::default();
        for diagnostic in diagnostics {
            *counts.slot(diagnostic) += 1;
        }
        counts
    }

    fn slot(&mut self, diagnostic: &Diagnostic) -> &mut usize {
        if diagnostic.accepted.is_some() {
            return &mut self.accepted;
        }
        if diagnostic.known {
            return &mut self.known;
        }
        match diagnostic.class() {
            None => &mut self.error,
            Some(Class::Danger) => &mut self.danger,
            Some(Class::Warning) => &mut self.warning,
            Some(Class::Caution) => &mut self.caution,
            Some(Class::Notice) => &mut self.notice,
            Some(Class::Hint) => &mut self.hint,
        }
    }
}
