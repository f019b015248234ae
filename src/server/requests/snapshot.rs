use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use lsp_server::ErrorCode;
use lsp_types::{Location, Position, Uri};

use crate::library::editor::View;
use crate::library::{Loaded, RecipeNote};
use crate::server::client::Client;
use crate::server::convert::{Lines, Pages, path_of, uri_of};
use crate::server::findings::ByFile;
use crate::server::placed::Placed;
use crate::server::requests::Refused;
use crate::text::{FileId, Span};

/// The texts as they are at one moment, and what is known of them: what a request is answered from.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// What the client can do and wants.
    pub client: Client,
    /// What is checked together with it.
    pub loaded: Arc<Loaded>,
    /// What was found in that.
    pub findings: Arc<ByFile>,
    /// Figures of its recipes.
    pub notes: Arc<Vec<Arc<RecipeNote>>>,
    /// Names the state of the texts, once everything is computed from them.
    pub state: Option<String>,
    /// Everything that is checked, this included.
    pub others: Vec<Arc<Loaded>>,
    /// Open files as the client calls them.
    pub uris: Arc<BTreeMap<PathBuf, Uri>>,
    /// The pages of rules.
    pub pages: Pages,
    /// Where texts without a file are taken to lie.
    pub folder: PathBuf,
}

/// The file that a request is about.
#[derive(Debug)]
pub struct Document<'s> {
    /// Its library.
    pub view: View<'s>,
    /// Its number there.
    pub file: FileId,
    /// Its lines.
    pub lines: Lines<'s>,
}

impl Snapshot {
    /// What was found in a file.
    pub fn findings_in(&self, file: FileId) -> &[Placed] {
        self.findings.get(&file).map_or(&[], |group| group.as_slice())
    }

    /// The document of a URI; a refusal if it is not known.
    pub fn document(&self, uri: &Uri) -> Result<Document<'_>, Refused> {
        let path = path_of(uri, &self.folder);
        let view = View::new(&self.loaded);
        let Some(file) = view.file(&path) else {
            let why = format!("`{}` is not open, nor used by what is", uri.as_str());
            return Err(Refused { code: ErrorCode::InvalidParams, why });
        };
        let lines = self.lines(&self.loaded, file);
        Ok(Document { view, file, lines })
    }

    /// The lines of a file.
    pub fn lines<'l>(&self, loaded: &'l Loaded, file: FileId) -> Lines<'l> {
        Lines::new(loaded.files.get(file).text(), self.client.encoding)
    }

    /// What the client calls a file.
    pub fn uri(&self, path: &Path) -> Option<Uri> {
        self.uris.get(path).cloned().or_else(|| uri_of(path))
    }

    /// Where a span lies; none for what has no file, such as the catalogue.
    pub fn location(&self, span: Span) -> Option<Location> {
        let uri = self.uri(self.loaded.paths.get(&span.file)?)?;
        Some(Location { uri, range: self.lines(&self.loaded, span.file).range(span) })
    }
}

impl Document<'_> {
    /// The byte at a position.
    pub fn byte(&self, position: Position) -> u32 {
        self.lines.byte(position)
    }
}
