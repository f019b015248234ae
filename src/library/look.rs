//! One look at one declaration: what every check is made of. What it finds hangs on nothing but the declaration and
//! what it names, so that declarations can be looked at in any order, and on all cores.

use std::sync::Arc;

use crate::library::check::Depth;
use crate::lint::{self, Levels};
use crate::model::{Acceptance, Batch, Builder, Recipe};
use crate::names::{Decl, DeclKind};
use crate::plan::expectations_by_kind;
use crate::report::Diagnostic;
use crate::text::Files;
use crate::types::{CheckedBlock, Env, Found};

/// What a look at a declaration has found and made.
#[derive(Debug, Default)]
pub(super) struct Look<'t> {
    /// Errors, and names that mean nothing.
    pub found: Found,
    /// Findings of the rules that need no plan.
    pub findings: Vec<Diagnostic>,
    /// What it accepts; nothing where nobody looks at what that silences.
    pub acceptances: Vec<Acceptance>,
    /// What is to be planned.
    pub work: Option<Work<'t>>,
}

/// A recipe or batch that is still to be planned.
#[derive(Debug)]
pub(super) struct Work<'t> {
    /// The thing itself.
    pub subject: Subject,
    /// What stands in it.
    pub block: Option<Arc<CheckedBlock<'t>>>,
}

/// What is planned; none where something is missing or wrong, which was reported.
#[derive(Debug)]
pub(super) enum Subject {
    Recipe(Option<Box<Recipe>>),
    Batch(Option<Batch>),
}

/// Looks at a declaration, as far as `depth` says.
pub(super) fn look<'t>(
    builder: &mut Builder<'_, 't>,
    decl: &Decl<'t>,
    depth: Depth,
    files: &Files,
    levels: &Levels,
) -> Look<'t> {
    let before = builder.checker.begin();
    let (block, subject, mut findings) = read(builder, decl, depth);
    let mut acceptances = match &block {
        Some(block) => lint::acceptances(decl.id, block, decl.entry.span(), files),
        None => Vec::new(),
    };
    let mut work = None;
    if depth == Depth::Types {
        if subject.is_some()
            && let Some(block) = &block
        {
            expectations_by_kind(&mut builder.checker, Env::of(decl), block);
        }
        // Without the rules' findings nobody can tell what an acceptance silences.
        builder.checker.faults.extend(lint::misnamed(&acceptances, levels));
        acceptances = Vec::new();
    } else {
        findings.extend(lint::check_declaration(decl));
        work = subject.map(|subject| Work { subject, block });
    }
    builder.checker.end(decl.id, before);
    Look { found: builder.checker.found(decl.id), findings, acceptances, work }
}

type Read<'t> = (Option<Arc<CheckedBlock<'t>>>, Option<Subject>, Vec<Diagnostic>);

/// Checks header and block, and builds what they mean.
fn read<'t>(builder: &mut Builder<'_, 't>, decl: &Decl<'t>, depth: Depth) -> Read<'t> {
    let id = decl.id;
    let mut findings = Vec::new();
    match decl.kind {
        DeclKind::Recipe => {
            let recipe = builder.recipe(id).map(Box::new);
            return (builder.block(id), Some(Subject::Recipe(recipe)), findings);
        }
        DeclKind::Batch => {
            builder.checker.header(decl);
            let batch = builder.batch(id);
            return (builder.block(id), Some(Subject::Batch(batch)), findings);
        }
        DeclKind::Part => return (builder.check_part(id), None, findings),
        // It has its value already, and what is wrong with it was told with that.
        DeclKind::Let => return (None, None, findings),
        _ => builder.checker.header(decl),
    }
    match decl.kind {
        DeclKind::Material => drop(builder.material(id)),
        DeclKind::Sheet => drop(builder.sheet(id)),
        DeclKind::Lot => drop(builder.lot(id)),
        DeclKind::Wire => drop(builder.wire(id)),
        DeclKind::Supply => drop(builder.supply(id)),
        DeclKind::Heater => drop(builder.heater(id)),
        DeclKind::Controller => drop(builder.controller(id)),
        DeclKind::Bench => {
            if let Some(bench) = builder.bench(id)
                && depth == Depth::Full
            {
                findings = lint::check_bench(&bench);
            }
        }
        DeclKind::Alloy | DeclKind::Metal => drop(builder.block(id)),
        DeclKind::Let | DeclKind::Part | DeclKind::Recipe | DeclKind::Batch => {}
    }
    (builder.block(id), None, findings)
}
