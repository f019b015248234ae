use lsp_types::{
    Documentation, ParameterInformation, ParameterLabel, SignatureHelp, SignatureHelpParams, SignatureInformation,
};

use crate::library::editor::signature;
use crate::server::requests::{Refused, Snapshot};

/// `textDocument/signatureHelp`
pub fn answer(params: &SignatureHelpParams, snapshot: &Snapshot) -> Result<Option<SignatureHelp>, Refused> {
    let at = &params.text_document_position_params;
    let document = snapshot.document(&at.text_document.uri)?;
    let Some(found) = signature(&document.view, document.file, document.byte(at.position)) else { return Ok(None) };
    let label = |place: &(u32, u32)| {
        let text = found.text.get(place.0 as usize..place.1 as usize).unwrap_or("").to_owned();
        ParameterInformation { label: ParameterLabel::Simple(text), documentation: None }
    };
    let information = SignatureInformation {
        label: found.text.clone(),
        documentation: (!found.about.is_empty()).then(|| Documentation::String(found.about.clone())),
        parameters: Some(found.parameters.iter().map(label).collect()),
        active_parameter: found.active,
    };
    Ok(Some(SignatureHelp { signatures: vec![information], active_signature: Some(0), active_parameter: found.active }))
}
