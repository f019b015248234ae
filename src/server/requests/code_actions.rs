use lsp_types::{CodeAction, CodeActionKind, CodeActionOrCommand, CodeActionParams, Diagnostic};

use crate::library::editor::{Action, actions, mend_all};
use crate::report;
use crate::server::placed::Placed;
use crate::server::requests::diagnostics::converted;
use crate::server::requests::edit::workspace_edit;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/codeAction`
pub fn answer(params: &CodeActionParams, snapshot: &Snapshot) -> Result<Vec<CodeActionOrCommand>, Refused> {
    let document = snapshot.document(&params.text_document.uri)?;
    let range = document.lines.span(document.file, params.range);
    let wanted = |kind: &CodeActionKind| {
        let only = params.context.only.as_deref();
        only.is_none_or(|only| only.iter().any(|only| covers(only, kind)))
    };
    let here: Vec<&Placed> = snapshot
        .findings
        .values()
        .flat_map(|group| group.iter())
        .filter(|finding| finding.concerns(document.file))
        .collect();
    let findings: Vec<report::Diagnostic> = here.iter().map(|finding| finding.bare()).collect();
    let found = actions(&document.view, range, &findings, &snapshot.notes);
    let mut answers: Vec<CodeAction> = found.iter().filter_map(|action| one(snapshot, action, &here)).collect();
    if let Some(edit) = mend_all(&document.view, document.file, &findings) {
        answers.push(CodeAction {
            title: edit.title.clone(),
            kind: Some(CodeActionKind::SOURCE_FIX_ALL),
            edit: workspace_edit(snapshot, &edit.changes),
            ..CodeAction::default()
        });
    }
    answers.retain(|action| action.kind.as_ref().is_some_and(&wanted));
    Ok(answers.into_iter().map(CodeActionOrCommand::CodeAction).collect())
}

/// Whether a kind is the wanted one or below it: `refactor.rewrite` is below `refactor`.
fn covers(wanted: &CodeActionKind, kind: &CodeActionKind) -> bool {
    let (wanted, kind) = (wanted.as_str(), kind.as_str());
    wanted.is_empty() || kind == wanted || kind.strip_prefix(wanted).is_some_and(|rest| rest.starts_with('.'))
}

fn one(snapshot: &Snapshot, action: &Action, findings: &[&Placed]) -> Option<CodeAction> {
    let edit = workspace_edit(snapshot, &action.edit.changes)?;
    let finding = action.finding.and_then(|number| findings.get(number));
    let about = finding.and_then(|finding| {
        let shown = converted(snapshot, finding.primary()?.file, std::slice::from_ref(*finding));
        serde_json::from_value::<Vec<Diagnostic>>(serde_json::to_value(shown).ok()?).ok()
    });
    let control = if action.edit.changes_control && action.mends {
        " (changes a time, power, temperature or current)"
    } else {
        ""
    };
    Some(CodeAction {
        title: format!("{}{control}", action.edit.title),
        kind: Some(if finding.is_some() { CodeActionKind::QUICKFIX } else { CodeActionKind::REFACTOR_REWRITE }),
        diagnostics: about,
        edit: Some(edit),
        // What changes a control is never what an editor does by itself.
        is_preferred: (action.mends && !action.edit.changes_control).then_some(true),
        ..CodeAction::default()
    })
}
