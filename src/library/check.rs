use crate::library::load::Loaded;
use crate::names::{DeclKind, Source, cycles, resolve};
use crate::report::{Diagnostic, sorted};
use crate::text::FileId;
use crate::types::Checker;

/// What a check has found.
#[derive(Debug)]
pub struct Checked {
    /// Findings, in their fixed order.
    pub findings: Vec<Diagnostic>,
}

/// Checks everything that was loaded.
pub fn check(loaded: &Loaded) -> Checked {
    let files = &loaded.files;
    let sources: Vec<Source<'_>> = loaded
        .parsed
        .iter()
        .enumerate()
        .map(|(index, parsed)| {
            let file = FileId(u32::try_from(index).unwrap_or(u32::MAX));
            Source {
                file,
                tree: &parsed.tree,
                uses: loaded.uses.get(&file).map_or(&[], Vec::as_slice),
                catalogue: index < loaded.catalogue,
            }
        })
        .collect();
    let (names, faults) = resolve(&sources, files);
    let mut findings: Vec<Diagnostic> = loaded.faults.clone();
    findings.extend(loaded.parsed.iter().flat_map(|parsed| parsed.faults.iter().cloned()));
    findings.extend(faults);
    findings.extend(cycles(&loaded.uses, files));
    let mut checker = Checker::new(files, &names);
    for decl in names.decls() {
        checker.header(decl);
        match decl.kind {
            DeclKind::Part => {
                let parameters = checker.part_header(decl).unwrap_or_default();
                checker.declaration(decl.id, &parameters);
            }
            DeclKind::Let => {
                checker.let_value(decl.id);
            }
            DeclKind::Recipe => {
                checker.recipe_header(decl);
                checker.declaration(decl.id, &[]);
            }
            _ => {
                checker.declaration(decl.id, &[]);
            }
        }
    }
    findings.extend(checker.into_faults());
    Checked { findings: sorted(findings, files) }
}
