use lsp_types::{OneOf, WorkspaceSymbol, WorkspaceSymbolParams, WorkspaceSymbolResponse};

use crate::library::editor::{View, symbols};
use crate::server::requests::symbols::kind;
use crate::server::requests::{Refused, Snapshot};

/// `workspace/symbol`
#[expect(clippy::unnecessary_wraps, reason = "all requests are answered in one way")]
pub fn answer(params: &WorkspaceSymbolParams, snapshot: &Snapshot) -> Result<WorkspaceSymbolResponse, Refused> {
    let mut found: Vec<WorkspaceSymbol> = Vec::new();
    for loaded in &snapshot.others {
        let own = Snapshot { loaded: loaded.clone(), ..snapshot.clone() };
        for item in symbols(&View::new(loaded), &params.query) {
            let Some(location) = own.location(item.name_span) else { continue };
            let symbol = WorkspaceSymbol {
                name: item.name,
                kind: kind(item.kind),
                tags: None,
                container_name: Some(item.detail),
                location: OneOf::Left(location),
                data: None,
            };
            // Two files that are looked at alone can use the same third one.
            if !found.contains(&symbol) {
                found.push(symbol);
            }
        }
    }
    Ok(WorkspaceSymbolResponse::Nested(found))
}
