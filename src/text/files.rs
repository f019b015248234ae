use std::sync::{Arc, OnceLock};

use crate::text::{LineIndex, Position, Span};

/// A file of one compilation; ids are handed out in loading order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(pub u32);

/// One source text and the name it is reported under.
#[derive(Debug)]
pub struct SourceFile {
    path: String,
    text: String,
    lines: OnceLock<LineIndex>,
}

impl SourceFile {
    /// A file called `path` (with `/` between folders, relative to the library's root).
    pub fn new(path: impl Into<String>, text: impl Into<String>) -> Self {
        Self { path: path.into(), text: text.into(), lines: OnceLock::new() }
    }

    /// The name in reports.
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where the lines begin; made at the first use.
    pub fn lines(&self) -> &LineIndex {
        self.lines.get_or_init(|| LineIndex::new(&self.text))
    }
}

/// All source texts of one compilation. A clone shares them.
#[derive(Clone, Debug, Default)]
pub struct Files {
    files: Vec<Arc<SourceFile>>,
}

impl Files {
    /// No files yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes a file in and returns its id.
    pub fn add(&mut self, file: SourceFile) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(Arc::new(file));
        id
    }

    /// Puts another version of a file in its place.
    pub fn replace(&mut self, id: FileId, file: SourceFile) {
        if let Some(place) = self.files.get_mut(id.0 as usize) {
            *place = Arc::new(file);
        }
    }

    /// The file behind an id handed out by [`Files::add`] of this set.
    pub fn get(&self, id: FileId) -> &SourceFile {
        &self.files[id.0 as usize]
    }

    /// Files in the order in which they were added.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        self.files.iter().enumerate().map(|(index, file)| (FileId(u32::try_from(index).unwrap_or(u32::MAX)), &**file))
    }

    /// The text a span covers; empty where the span does not lie on character borders of its file.
    pub fn slice(&self, span: Span) -> &str {
        self.get(span.file).text().get(span.range()).unwrap_or("")
    }

    /// The same files under other names; a file without another name keeps its own.
    #[must_use]
    pub fn renamed(&self, name: impl Fn(FileId) -> Option<String>) -> Self {
        let renamed = |(id, file): (FileId, &SourceFile)| {
            SourceFile::new(name(id).unwrap_or_else(|| file.path().to_owned()), file.text())
        };
        Self { files: self.iter().map(renamed).map(Arc::new).collect() }
    }

    /// Line and column of a span's start, from 1, the column in characters.
    pub fn position(&self, span: Span) -> Position {
        let file = self.get(span.file);
        file.lines().position(file.text(), span.start)
    }
}
