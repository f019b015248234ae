//! Cuts the tokens of a file into declarations and entries before anything is parsed, so that a fault in
//! one entry never hides another.
//!
//! Braces decide where blocks begin and end. Only in a declaration whose braces do not match does
//! indentation decide, since there it is the best witness of what the author meant.

use std::ops::Range;

use crate::syntax::{Kind, TokenTable, slip};

/// The words that begin a declaration.
pub const DECLARATIONS: [&str; 15] = [
    "alloy",
    "batch",
    "bench",
    "controller",
    "heater",
    "let",
    "lot",
    "material",
    "metal",
    "part",
    "recipe",
    "sheet",
    "supply",
    "use",
    "wire",
];

/// Blocks nested deeper than this are a mistake, and would cost stack.
const DEEPEST: usize = 32;

/// The tokens of one entry and its block.
#[derive(Debug, Default)]
pub struct Slice {
    /// From the head to the last token before the block.
    pub tokens: Range<usize>,
    /// `{ … }`
    pub block: Option<SliceBlock>,
    /// The bracket that is still open where the entry ends.
    pub open_bracket: Option<usize>,
    /// Whether these are several entries in one, since what belongs to what cannot be told; a fault says so.
    pub muddled: bool,
}

/// The entries between two braces.
#[derive(Debug)]
pub struct SliceBlock {
    /// The `{`; where it is missing, the token after which it is missed; where the whole line is, the block's first.
    pub open: usize,
    /// The `}`.
    pub close: Option<usize>,
    /// What stands between.
    pub entries: Vec<Slice>,
}

/// A fault of the braces, by the number of a token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BraceFault {
    /// This `{` is never closed.
    Unclosed(usize),
    /// After this token a `{` is missing.
    Unopened(usize),
    /// On the line that begins with this token a `{` is missing.
    UnopenedLine(usize),
    /// Before this token the line is missing that begins the declaration of what follows.
    Headless(usize),
    /// This `}` closes nothing.
    Stray(usize),
    /// This `{` stands too deep.
    TooDeep(usize),
}

/// A stretch from one declaration to the next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chunk {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// Whether each of its braces has its other one.
    balanced: bool,
}

impl Chunk {
    /// All entries of the stretch, and what is wrong with the braces.
    pub fn slices(&self, table: &TokenTable, text: &str) -> (Vec<Slice>, Vec<BraceFault>) {
        let mut faults = Vec::new();
        let entries = Slicer::new(table, text, self).run(&mut faults);
        (entries, faults)
    }
}

/// The stretches from one declaration to the next. Where one begins, nothing before it counts any more.
pub struct Chunks<'a> {
    table: &'a TokenTable,
    text: &'a str,
    /// Where the next one begins.
    next: Option<usize>,
}

impl<'a> Chunks<'a> {
    /// From the token `start` on, at which a stretch begins. A text without tokens is one stretch.
    pub fn from(table: &'a TokenTable, text: &'a str, start: usize) -> Self {
        Self { table, text, next: Some(start) }
    }
}

impl Iterator for Chunks<'_> {
    type Item = Chunk;

    fn next(&mut self) -> Option<Chunk> {
        let (table, text) = (self.table, self.text);
        let start = self.next.take()?;
        let limit = table.indent(start).unwrap_or(0);
        let mut chunk = Chunk { tokens: start..table.len(), balanced: true };
        let mut depth = 0_usize;
        for index in start..table.len() {
            if let Some(indent) = table.indent(index).filter(|_| index > start) {
                let loose = depth == 0 && indent <= limit && is_declaration_word(table, text, index);
                if loose || opens_declaration(table, text, index) {
                    chunk.tokens.end = index;
                    self.next = Some(index);
                    break;
                }
            }
            match table.kinds()[index] {
                Kind::OpenBrace => depth += 1,
                Kind::CloseBrace if depth == 0 => chunk.balanced = false,
                Kind::CloseBrace => depth -= 1,
                _ => {}
            }
        }
        chunk.balanced &= depth == 0;
        Some(chunk)
    }
}

/// Whether the token is a word that begins declarations.
pub fn is_declaration_word(table: &TokenTable, text: &str, index: usize) -> bool {
    table.kinds().get(index) == Some(&Kind::Word)
        && text.get(table.span(index).range()).is_some_and(|word| DECLARATIONS.binary_search(&word).is_ok())
}

/// Whether the token begins the shape that, at the start of a line, closes whatever is still open; no entry of a
/// block may ever have it. The shape lies on one line, so that what an entry is does not hang on the next one.
pub fn opens_declaration(table: &TokenTable, text: &str, index: usize) -> bool {
    if !is_declaration_word(table, text, index) {
        return false;
    }
    let kind = |step: usize| {
        let same_line = (1..=step).all(|step| table.indent(index + step).is_none());
        table.kinds().get(index + step).copied().filter(|_| same_line)
    };
    let opener = matches!(
        kind(2),
        Some(Kind::OpenBrace | Kind::OpenParen | Kind::CallParen | Kind::From | Kind::For | Kind::Equals)
    );
    kind(1) == Some(Kind::Text) || (kind(1) == Some(Kind::Word) && opener)
}

/// A block that is still open.
struct Open {
    owner: Slice,
    brace: usize,
    entries: Vec<Slice>,
    /// Indent of the line on which the block's entry begins.
    indent: u32,
    /// Indent of the block's own entries, once one has begun a line.
    inner: Option<u32>,
}

struct Slicer<'a> {
    table: &'a TokenTable,
    text: &'a str,
    tokens: Range<usize>,
    by_indent: bool,
    open: Vec<Open>,
    /// How many blocks are open beyond the deepest level; their entries are taken into the deepest block.
    beyond: usize,
    told_too_deep: bool,
    done: Vec<Slice>,
    /// First token of the entry that is being read.
    start: Option<usize>,
    brackets: Vec<usize>,
    /// First token and indent of the line that is being read, and the indent of the line on which the current entry
    /// began.
    line_first: usize,
    line: u32,
    entry_line: u32,
}

impl<'a> Slicer<'a> {
    fn new(table: &'a TokenTable, text: &'a str, chunk: &Chunk) -> Self {
        Self {
            table,
            text,
            tokens: chunk.tokens.clone(),
            by_indent: !chunk.balanced,
            open: Vec::new(),
            beyond: 0,
            told_too_deep: false,
            done: Vec::new(),
            start: None,
            brackets: Vec::new(),
            line_first: chunk.tokens.start,
            line: 0,
            entry_line: 0,
        }
    }

    fn run(&mut self, faults: &mut Vec<BraceFault>) -> Vec<Slice> {
        for index in self.tokens.clone() {
            let kind = self.table.kinds()[index];
            if let Some(indent) = self.table.indent(index) {
                if self.ends_before(index) {
                    self.finish(index);
                }
                (self.line_first, self.line) = (index, indent);
                if self.by_indent && self.start.is_none() {
                    self.follow_indent(index, indent, faults);
                }
            }
            match kind {
                Kind::Comma if self.brackets.is_empty() && !slip::is_decimal_comma(self.table, index) => {
                    self.finish(index);
                }
                Kind::OpenBrace => self.open_block(index, faults),
                Kind::CloseBrace => self.close_block(index, faults),
                _ => {
                    self.begin(index);
                    self.track_bracket(kind, index);
                }
            }
        }
        self.finish(self.tokens.end);
        while let Some(block) = self.open.pop() {
            if self.by_indent {
                faults.push(BraceFault::Unclosed(block.brace));
            }
            self.close(block, None);
        }
        std::mem::take(&mut self.done)
    }

    fn begin(&mut self, index: usize) {
        if self.start.is_none() {
            self.start = Some(index);
            self.entry_line = self.line;
            if self.table.indent(index).is_some()
                && let Some(block) = self.open.last_mut()
            {
                block.inner.get_or_insert(self.line);
            }
        }
    }

    fn track_bracket(&mut self, kind: Kind, index: usize) {
        match kind {
            Kind::OpenParen | Kind::CallParen | Kind::OpenBracket | Kind::IndexBracket => self.brackets.push(index),
            Kind::CloseParen | Kind::CloseBracket => {
                self.brackets.pop();
            }
            _ => {}
        }
    }

    /// Whether the entry that is being read ends before the token at the start of a new line.
    fn ends_before(&self, index: usize) -> bool {
        let Some(start) = self.start else { return false };
        let (before, next) = (self.table.kinds()[index - 1], self.table.kinds()[index]);
        if next.continues() || (before.wants_more() && index > start) {
            return false;
        }
        // Within brackets a line break between two operands can only be a missing bracket.
        self.brackets.is_empty() || (before.ends_operand() && next.begins_operand())
    }

    /// Ends the entry that is being read before the token `end`.
    fn finish(&mut self, end: usize) {
        let open_bracket = self.brackets.first().copied();
        self.brackets.clear();
        if let Some(start) = self.start.take() {
            self.entries().push(Slice { tokens: start..end, open_bracket, ..Slice::default() });
        }
    }

    fn entries(&mut self) -> &mut Vec<Slice> {
        match self.open.last_mut() {
            Some(block) => &mut block.entries,
            None => &mut self.done,
        }
    }

    fn open_block(&mut self, index: usize, faults: &mut Vec<BraceFault>) {
        if self.open.len() >= DEEPEST {
            if !std::mem::replace(&mut self.told_too_deep, true) {
                faults.push(BraceFault::TooDeep(index));
            }
            self.finish(index);
            self.beyond += 1;
            return;
        }
        self.begin(index);
        let start = self.start.take().unwrap_or(index);
        let open_bracket = self.brackets.first().copied();
        self.brackets.clear();
        let owner = Slice { tokens: start..index, open_bracket, ..Slice::default() };
        self.open.push(Open { owner, brace: index, entries: Vec::new(), indent: self.entry_line, inner: None });
    }

    fn close_block(&mut self, index: usize, faults: &mut Vec<BraceFault>) {
        self.finish(index);
        if self.beyond > 0 {
            self.beyond -= 1;
        } else if self.by_indent && self.is_stray(index) {
            faults.push(self.unopened_line(index).map_or(BraceFault::Stray(index), BraceFault::UnopenedLine));
        } else if let Some(block) = self.open.pop() {
            self.close(block, Some(index));
        } else {
            faults.push(BraceFault::Stray(index));
        }
    }

    fn close(&mut self, block: Open, close: Option<usize>) {
        let Open { mut owner, brace, entries, .. } = block;
        owner.block = Some(SliceBlock { open: brace, close, entries });
        self.entries().push(owner);
    }

    /// A `}` that would close a block of an earlier line while the next line still stands inside it, or closes it.
    fn is_stray(&self, index: usize) -> bool {
        let Some(block) = self.open.last() else { return true };
        let same_line = (block.brace + 1..=index).all(|token| self.table.indent(token).is_none());
        let next = || (index + 1..self.tokens.end).find_map(|token| Some((token, self.table.indent(token)?)));
        // Where it stands under its block and a gap follows, it closes that block: what follows lacks its own head.
        let closes = self.table.indent(index) == Some(block.indent) && self.is_gap_after(index);
        let closed_by = |(token, indent)| self.table.kinds()[token] == Kind::CloseBrace && indent == block.indent;
        let begins_line = self.table.indent(index).is_some();
        let inside = |next: (usize, u32)| next.1 > block.indent || (!begins_line && closed_by(next));
        !same_line && !closes && next().is_some_and(inside)
    }

    /// Whether an empty line or a comment follows the line that ends with this token.
    fn is_gap_after(&self, index: usize) -> bool {
        let between = self.table.span(index).range().end..self.table.span(index + 1).range().start;
        self.text.get(between).is_some_and(|between| between.matches('\n').count() > 1)
    }

    /// The first token of the line, if the line holds several entries before the `}` that closes none of its blocks:
    /// then the `{` is missing on this very line, and the entries are made one, since who owns them cannot be told.
    fn unopened_line(&mut self, close: usize) -> Option<usize> {
        let first = self.line_first;
        if self.table.indent(close).is_some() {
            return None;
        }
        let entries = self.entries();
        let on_line = entries.partition_point(|entry| entry.tokens.start < first);
        if entries.len() - on_line < 2 {
            return None;
        }
        entries.truncate(on_line);
        entries.push(Slice { tokens: first..close, muddled: true, ..Slice::default() });
        Some(first)
    }

    /// At the start of a line, opens and closes the blocks whose braces are missing.
    fn follow_indent(&mut self, index: usize, indent: u32, faults: &mut Vec<BraceFault>) {
        let closing = self.table.kinds()[index] == Kind::CloseBrace;
        while self.open.last().is_some_and(|block| block.indent > indent || (block.indent == indent && !closing)) {
            if let Some(block) = self.open.pop() {
                faults.push(BraceFault::Unclosed(block.brace));
                self.close(block, None);
                self.beyond = 0;
            }
        }
        let inner = match self.open.last() {
            Some(block) => block.inner,
            None if is_declaration_word(self.table, self.text, self.tokens.start) => {
                self.table.indent(self.tokens.start)
            }
            None => Some(0),
        };
        let deeper = !closing && inner.is_some_and(|inner| indent > inner);
        let room = self.open.len() < DEEPEST;
        let outside = self.open.is_empty();
        let owner = self.entries().last().filter(|entry| entry.block.is_none()).map(|entry| entry.tokens.start);
        let takes_block = owner.is_some_and(|owner| !self.is_lone_line(owner));
        if deeper && room && outside && !takes_block {
            faults.push(BraceFault::Headless(index));
            let owner = Slice { tokens: index..index, ..Slice::default() };
            self.open.push(Open { owner, brace: index, entries: Vec::new(), indent: inner.unwrap_or(0), inner: None });
        } else if deeper && room && owner.is_some() {
            let owner = self.entries().pop().unwrap_or_default();
            let open = owner.tokens.end.saturating_sub(1);
            faults.push(BraceFault::Unopened(open));
            self.open.push(Open { owner, brace: open, entries: Vec::new(), indent: inner.unwrap_or(0), inner: None });
        }
    }

    /// Whether the entry that begins with this token is one of the lines that never have a block.
    fn is_lone_line(&self, token: usize) -> bool {
        matches!(self.text.get(self.table.span(token).range()), Some("language" | "use" | "let"))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{Just, Strategy, any, prop_assert_eq, prop_oneof, proptest};

    use super::{BraceFault, Chunk, Chunks, Slice};
    use crate::syntax::TokenTable;
    use crate::text::FileId;

    /// The slices of a text if only its braces count, or if its indentation does.
    fn slices(text: &str, by_indent: bool) -> (String, Vec<BraceFault>) {
        let table = TokenTable::new(FileId(0), text);
        let mut faults = Vec::new();
        let mut all: Vec<Slice> = Vec::new();
        for chunk in Chunks::from(&table, text, 0) {
            assert!(chunk.balanced, "{text}");
            let (entries, found) = Chunk { balanced: !by_indent, ..chunk }.slices(&table, text);
            all.extend(entries);
            faults.extend(found);
        }
        (format!("{all:?}"), faults)
    }

    fn faults(text: &str) -> Vec<BraceFault> {
        let table = TokenTable::new(FileId(0), text);
        Chunks::from(&table, text, 0).flat_map(|chunk| chunk.slices(&table, text).1).collect()
    }

    /// A block of entries, well indented.
    fn block(depth: u32) -> impl Strategy<Value = Vec<String>> {
        let plain = prop_oneof![
            Just(vec!["gap 8 mm".to_owned()]),
            Just(vec!["a 1, b { c, d { e } }  # one line".to_owned()]),
            Just(vec!["order x then".to_owned(), "    y".to_owned(), "  then z".to_owned()]),
            Just(vec!["sizes [1 mm,".to_owned(), "  2 mm]".to_owned()]),
            Just(vec![String::new()]),
            Just(vec!["# note".to_owned()]),
        ];
        let entries = proptest::collection::vec(plain.clone(), 0..4).prop_map(|entries| entries.concat());
        entries.prop_recursive(depth, 40, 4, move |inner| {
            let nested = (inner, 1..5_usize, any::<bool>()).prop_map(|(inner, step, glued)| {
                let indent = " ".repeat(step);
                let lines =
                    inner.into_iter().map(|line| if line.is_empty() { line } else { format!("{indent}{line}") });
                let open = if glued { "line below{" } else { "line below {  # note" };
                [vec![open.to_owned()], lines.collect(), vec!["}".to_owned()]].concat()
            });
            proptest::collection::vec(prop_oneof![nested, plain.clone()], 0..4).prop_map(|entries| entries.concat())
        })
    }

    proptest! {
        #[test]
        fn braces_and_indentation_agree_where_both_are_right(block in block(5)) {
            let text = format!("heater x {{\n  {}\n}}\nwire y {{}}\n", block.join("\n  "));
            let by_braces = slices(&text, false);
            prop_assert_eq!(&by_braces.1, &Vec::new());
            prop_assert_eq!(by_braces, slices(&text, true));
        }
    }

    #[test]
    fn they_agree_on_the_samples() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/format/formatted");
        for entry in std::fs::read_dir(folder).unwrap() {
            let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
            if faults(&text).is_empty() {
                assert_eq!(slices(&text, false), slices(&text, true));
            }
        }
    }

    #[test]
    fn a_missing_brace_is_told_once_and_where_it_is_missed() {
        assert_eq!(faults("heater x {\n  line below {\n    gap 8 mm\n  length 20 in\n}\n"), [BraceFault::Unclosed(5)]);
        assert_eq!(faults("heater x\n  length 20 in\n}\nwire y {}"), [BraceFault::Unopened(1)]);
        assert_eq!(faults("heater x {\n  length 20 in\nwire y { size 22 AWG }\n"), [BraceFault::Unclosed(2)]);
        assert_eq!(faults("heater x {\n  }\n  length 20 in\n}\nwire y {}\n"), [BraceFault::Stray(3)]);
    }

    #[test]
    fn blocks_beyond_the_deepest_are_told_once_and_lose_no_entry() {
        for count in [33, 40, 2000] {
            let text = format!("{}x{}", "a {".repeat(count), "}".repeat(count));
            assert_eq!(faults(&text), [BraceFault::TooDeep(65)]);
            let table = TokenTable::new(FileId(0), &text);
            let slices: Vec<_> = Chunks::from(&table, &text, 0).map(|chunk| chunk.slices(&table, &text)).collect();
            assert!(format!("{slices:?}").contains(&format!("tokens: {}..{}", 2 * count, 2 * count + 1)));
        }
        assert_eq!(faults(&format!("{}x{}", "a {".repeat(32), "}".repeat(32))), []);
    }

    #[test]
    fn the_shape_of_a_declaration_lies_on_one_line() {
        assert_eq!(faults("heater x {\n  wire y\n  { a }\n}\n"), []);
        assert_eq!(faults("heater x {\n  wire y {\n    size 2 AWG\n  }\n"), [BraceFault::Unclosed(2)]);
    }
}
