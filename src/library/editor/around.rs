//! Which entries a place lies in, and what may stand in them by the schema.

use crate::library::editor::view::{View, touches};
use crate::names::{Decl, DeclKind};
use crate::syntax::{Entry, TokenTable};
use crate::text::FileId;
use crate::types::schema::{BlockSchema, EntrySchema, declaration};

/// An entry around a place.
#[derive(Clone, Copy, Debug)]
pub struct Level<'a> {
    /// Its syntax.
    pub entry: &'a Entry,
    /// What kind of entry it is; none for a declaration and for what is unknown.
    pub schema: Option<&'static EntrySchema>,
    /// What may stand in its block.
    pub inside: Option<&'static BlockSchema>,
}

/// The entries around a place, from the declaration inwards.
#[derive(Debug)]
pub struct Around<'v, 'a> {
    /// The declaration; none outside any, and where its name cannot be told.
    pub decl: Option<&'v Decl<'a>>,
    /// The word of the outermost entry means this kind.
    pub kind: Option<DeclKind>,
    /// From the outermost entry inwards.
    pub levels: Vec<Level<'a>>,
    /// Whether the place lies in the block of the innermost entry, between its entries.
    pub in_block: bool,
}

impl<'a> Around<'_, 'a> {
    /// The innermost entry.
    pub fn innermost(&self) -> Option<&Level<'a>> {
        self.levels.last()
    }

    /// What may stand in the innermost block that the byte `at` lies in: in that of no entry, declarations.
    pub fn block_at(&self, at: u32) -> Option<&Level<'a>> {
        let mut levels = self.levels.iter().rev();
        levels.find(|level| {
            let block = level.entry.block();
            block.is_some_and(|block| block.span.start < at && (at < block.span.end || !block.closed))
        })
    }
}

/// What lies around the byte `at` of a file.
pub fn around<'v, 'a>(view: &'v View<'a>, file: FileId, at: u32) -> Around<'v, 'a> {
    let mut found = Around { decl: None, kind: None, levels: Vec::new(), in_block: false };
    let Some(tree) = view.tree(file) else { return found };
    let Some(top) = innermost(&tree.entries, at) else { return found };
    found.kind = top.head().and_then(|head| DeclKind::from_word(view.slice(head)));
    found.decl = view.decls(file).find(|decl| decl.entry.span() == top.span());
    let mut level = Level { entry: top, schema: None, inside: found.kind.and_then(declaration) };
    loop {
        found.levels.push(level);
        let Some(block) = level.entry.block() else { break };
        if at <= block.span.start || (block.closed && at >= block.span.end) {
            break;
        }
        let Some(entry) = innermost(&block.entries, at) else {
            found.in_block = true;
            break;
        };
        let word = entry.head().map_or("", |head| view.slice(head));
        let schema = level.inside.and_then(|block| block.entry(word));
        level = Level { entry, schema, inside: schema.and_then(|schema| schema.block) };
    }
    found
}

/// The entry at a place; of two that touch there, the later one.
fn innermost(entries: &[Entry], at: u32) -> Option<&Entry> {
    let after = entries.partition_point(|entry| entry.span().start <= at);
    entries.get(..after)?.last().filter(|entry| {
        // A block that is not closed goes on to where the next entry begins.
        touches(entry.span(), at) || entry.block().is_some_and(|block| !block.closed)
    })
}

/// How many tokens of a text end at or before the byte `at`.
pub fn tokens_before(table: &TokenTable, at: u32) -> usize {
    let (mut low, mut high) = (0, table.len());
    while low < high {
        let middle = low + (high - low) / 2;
        if table.span(middle).end <= at {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}
