use std::ops::Range;
use std::sync::OnceLock;

use chumsky::Parser;
use chumsky::inspector::SimpleState;

use crate::report::Diagnostic;
use crate::syntax::descent::Descent;
use crate::syntax::grammar::{self, Form, Place};
use crate::syntax::moved::Moves;
use crate::syntax::slice::{Chunk, Chunks, Slice, SliceBlock};
use crate::syntax::tree::More;
use crate::syntax::{Arg, Block, Entry, Expr, Kind, TokenTable, Tree, fault, slip};
use crate::text::{ChangedLines, FileId, Span};

/// More operators than this in one entry are no recipe, and would cost stack.
const MOST_OPERATORS: usize = 256;
const DEEPEST_BRACKETS: usize = 32;

/// What came of a text: always a tree and a table, and what is wrong with the syntax.
#[derive(Clone, Debug)]
pub struct Parsed {
    file: FileId,
    /// Declarations and entries.
    pub tree: Tree,
    /// Every token and comment, while they are kept.
    table: OnceLock<Box<TokenTable>>,
    /// Faults of syntax, in the order of the text.
    pub faults: Vec<Diagnostic>,
    /// The tokens of the stretches (a declaration, mostly) whose braces do not match: what belongs to which block
    /// there is a guess.
    pub unmatched: Vec<Range<usize>>,
    /// What each stretch has added, in order.
    stretches: Vec<Stretch>,
}

/// How much of everything came of one stretch of a text. Each stretch is read by itself.
#[derive(Clone, Copy, Debug, Default)]
struct Stretch {
    tokens: usize,
    entries: usize,
    idle_docs: usize,
    faults: usize,
    unmatched: bool,
}

impl std::ops::Add for Stretch {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            tokens: self.tokens + other.tokens,
            entries: self.entries + other.entries,
            idle_docs: self.idle_docs + other.idle_docs,
            faults: self.faults + other.faults,
            unmatched: false,
        }
    }
}

/// How many of the declarations and other entries at the top of a file were not read anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    /// At the beginning.
    pub before: usize,
    /// At the end.
    pub behind: usize,
}

/// Reads a text. Every text gives a tree; a fault in one entry leaves the others alone.
pub fn parse(file: FileId, text: &str) -> Parsed {
    let table = TokenTable::new(file, text);
    let mut piece = Piece::default();
    let mut reader = Reader::new(&table, text);
    for chunk in Chunks::from(&table, text, 0) {
        reader.stretch(&chunk, &mut piece);
    }
    let Piece { mut entries, idle_docs, faults, mut stretches } = piece;
    entries.shrink_to_fit();
    stretches.shrink_to_fit();
    let (tree, table) = (Tree { entries, idle_docs }, OnceLock::from(Box::new(table)));
    let mut parsed = Parsed { file, tree, table, faults, unmatched: Vec::new(), stretches };
    parsed.find_unmatched();
    parsed
}

/// What came of some stretches.
#[derive(Default)]
struct Piece {
    entries: Vec<Entry>,
    idle_docs: Vec<Span>,
    faults: Vec<Diagnostic>,
    stretches: Vec<Stretch>,
}

impl Parsed {
    /// Every token and comment of `text`, which is what all of this came of. Where they were forgotten, the text is cut
    /// again, once.
    pub fn table(&self, text: &str) -> &TokenTable {
        self.table.get_or_init(|| Box::new(TokenTable::new(self.file, text)))
    }

    /// Lets go of the tokens: they take more memory than the text, and of most files in a library nobody asks for them.
    pub fn forget_tokens(&mut self) {
        self.table.take();
    }

    /// Reads a text of which some lines have changed since it was `old`; only the stretches that they touch are read
    /// anew. The result is the same as that of [`parse`].
    pub fn renew(&mut self, old: &str, text: &str, lines: &ChangedLines) -> Kept {
        let mut table = self.table.take().unwrap_or_else(|| Box::new(TokenTable::new(self.file, old)));
        // The stretch in which the change begins; those before it end before these lines.
        let (mut front, mut at) = (Stretch::default(), 0);
        while let Some(next) = self.stretches.get(at)
            && at + 1 < self.stretches.len()
            && table.span(front.tokens + next.tokens).start < lines.start
        {
            front = front + *next;
            at += 1;
        }
        let first = at;
        // The first stretch that lies behind the lines, with what stands above it.
        let mut back = front;
        while let Some(next) = self.stretches.get(at)
            && (at == first || table.head(back.tokens) < lines.old_end)
        {
            back = back + *next;
            at += 1;
        }
        let tokens_before = table.len();
        table.renew(text, lines);
        let moved = |token: usize| token + table.len() - tokens_before;

        let mut piece = Piece::default();
        let mut reader = Reader::new(&table, text);
        for chunk in Chunks::from(&table, text, front.tokens) {
            while moved(back.tokens) < chunk.tokens.start
                && let Some(next) = self.stretches.get(at)
            {
                back = back + *next;
                at += 1;
            }
            // A new comment above it may be its own.
            let untouched = table.head(chunk.tokens.start) >= lines.new_end;
            if at < self.stretches.len() && moved(back.tokens) == chunk.tokens.start && untouched {
                break;
            }
            reader.stretch(&chunk, &mut piece);
            // What is left of the old stretches is gone if the new ones reach to the end.
            if chunk.tokens.end == table.len() {
                at = self.stretches.len();
                back = self.stretches.iter().fold(Stretch::default(), |sum, next| sum + *next);
            }
        }
        self.table = OnceLock::from(table);
        self.put(piece, (first, front), (at, back), lines)
    }

    /// Puts what was read anew in the place of the stretches from the `first` to before the `last`.
    fn put(
        &mut self,
        piece: Piece,
        (first, front): (usize, Stretch),
        (last, back): (usize, Stretch),
        lines: &ChangedLines,
    ) -> Kept {
        let behind = self.tree.entries.len() - back.entries;
        self.tree.entries[back.entries..].move_by(lines);
        self.tree.idle_docs[back.idle_docs..].move_by(lines);
        self.faults[back.faults..].move_by(lines);
        self.tree.entries.splice(front.entries..back.entries, piece.entries);
        self.tree.idle_docs.splice(front.idle_docs..back.idle_docs, piece.idle_docs);
        self.faults.splice(front.faults..back.faults, piece.faults);
        self.stretches.splice(first..last, piece.stretches);
        self.find_unmatched();
        Kept { before: front.entries, behind }
    }

    fn find_unmatched(&mut self) {
        let mut token = 0;
        self.unmatched.clear();
        for stretch in &self.stretches {
            if stretch.unmatched {
                self.unmatched.push(token..token + stretch.tokens);
            }
            token += stretch.tokens;
        }
    }
}

struct Reader<'a> {
    table: &'a TokenTable,
    text: &'a str,
    faults: Vec<Diagnostic>,
    /// The arguments that are being read; a place of their own, so that each entry keeps no more memory than it needs.
    args: Vec<Arg>,
    /// Doc comments of the stretch: the token below, the span, and whether an entry has taken it or none can.
    docs: Vec<(usize, Span, bool)>,
}

impl<'a> Reader<'a> {
    fn new(table: &'a TokenTable, text: &'a str) -> Self {
        Self { table, text, faults: Vec::new(), args: Vec::new(), docs: Vec::new() }
    }

    /// Reads a stretch from one declaration to the next.
    fn stretch(&mut self, chunk: &Chunk, piece: &mut Piece) {
        self.docs.clear();
        // Those above commas right before the next stretch are its own.
        let Range { start, end } = chunk.tokens;
        let from = self.table.before_commas(start);
        let to = if end < self.table.len() { self.table.before_commas(end) } else { end };
        let own = self.table.comments_of(&(from..end)).iter().filter(|comment| comment.doc).filter(|comment| {
            let before = comment.before as usize;
            (before >= start || comment.alone) && (before < to.max(start) || before >= end || !comment.alone)
        });
        self.docs.extend(own.map(|comment| (comment.before as usize, comment.span, !comment.alone)));
        let alone: Vec<bool> = self.docs.iter().map(|doc| !doc.2).collect();
        let (slices, braces) = chunk.slices(self.table, self.text);
        self.faults.extend(braces.iter().map(|brace| fault::brace(self.table, *brace)));
        let entries = self.entries(slices);
        // What none can take, and what none has taken.
        let idle = self.docs.iter().zip(alone).filter(|(doc, alone)| !alone || !doc.2).map(|(doc, _)| doc.1);
        let known = piece.idle_docs.len();
        piece.idle_docs.extend(idle);
        self.faults.sort_by_key(|fault| (fault.primary().start, fault.primary().end));
        piece.stretches.push(Stretch {
            tokens: chunk.tokens.len(),
            entries: entries.len(),
            idle_docs: piece.idle_docs.len() - known,
            faults: self.faults.len(),
            unmatched: !braces.is_empty(),
        });
        piece.entries.extend(entries);
        piece.faults.append(&mut self.faults);
    }

    /// The entries of a block or a file. Numbers after a bare comma belong to the entry before them: one fault for
    /// the whole list.
    fn entries(&mut self, slices: Vec<Slice>) -> Vec<Entry> {
        let mut entries: Vec<Entry> = Vec::with_capacity(slices.len());
        let mut slices = slices.into_iter().peekable();
        while let Some(slice) = slices.next() {
            let (start, found) = (slice.tokens.start, self.faults.len());
            let mut end = slice.tokens.end;
            let mut entry = self.entry(slice);
            let single = end;
            while let Some(item) = slices.next_if(|next| start + 1 < single && self.is_list_item(next, end)) {
                end = item.tokens.end;
            }
            if end > single {
                self.faults.truncate(found);
                self.faults.push(fault::list_without_brackets(self.table, self.text, start + 1..end));
                let line = self.table.cover(start..end);
                let more = More { doc: entry.doc(), block: None, broken: true };
                entry = Entry::new(entry.head(), line, self.salvage(start + 1..end), more);
            }
            entries.push(entry);
        }
        entries
    }

    /// Whether a slice is a lone value on the line of the entry that a comma, or more of them, has ended before it.
    fn is_list_item(&self, slice: &Slice, end: usize) -> bool {
        let kinds = self.table.kinds();
        let begins = kinds.get(slice.tokens.start).is_some_and(|kind| matches!(kind, Kind::Number | Kind::Fraction));
        let same_line = (end..=slice.tokens.start).all(|token| self.table.indent(token).is_none());
        let commas = kinds.get(end..slice.tokens.start).unwrap_or(&[]);
        let divided = !commas.is_empty() && commas.iter().all(|kind| *kind == Kind::Comma);
        begins && same_line && slice.block.is_none() && divided
    }

    fn entry(&mut self, slice: Slice) -> Entry {
        let tokens = slice.tokens.clone();
        let line = self.table.cover(tokens.clone());
        let doc = self.doc(tokens.start);
        let head = self.table.kinds().get(tokens.start).filter(|kind| kind.is_word() && !tokens.is_empty());
        let head = head.map(|_| self.table.span(tokens.start));
        let rest = tokens.start + usize::from(head.is_some())..tokens.end;
        let parsed = if slice.muddled { None } else { self.arguments(&slice, head, rest.clone()) };
        let broken = parsed.is_none();
        let args = parsed.unwrap_or_else(|| self.salvage(rest));
        let block = slice.block.map(|block| self.block(block));
        Entry::new(head, line, args, More { doc, block, broken })
    }

    fn block(&mut self, block: SliceBlock) -> Block {
        let entries = self.entries(block.entries);
        let open = self.table.span(block.open);
        let end = match block.close {
            Some(close) => self.table.span(close),
            None => entries.last().map_or(open, Entry::span),
        };
        let closed = block.close.is_some() && self.table.kinds().get(block.open) == Some(&Kind::OpenBrace);
        Block { entries: entries.into(), span: open.to(end), closed }
    }

    /// The arguments of an entry; none where a fault was reported.
    fn arguments(&mut self, slice: &Slice, head: Option<Span>, rest: Range<usize>) -> Option<Vec<Arg>> {
        let found = self.faults.len();
        let Some(head) = head else {
            self.wrong_tokens(slice.tokens.clone());
            if self.faults.len() == found {
                let at = slice.block.as_ref().filter(|_| slice.tokens.is_empty()).map(|block| block.open);
                if at.is_some_and(|at| self.table.kinds()[at] != Kind::OpenBrace) {
                    // The line that is missing is reported with the braces.
                    return None;
                }
                let fault = at.and_then(|open| self.block_apart(open));
                let at = self.table.span(at.unwrap_or(slice.tokens.start));
                self.faults.push(fault.unwrap_or_else(|| fault::headless(at, self.text)));
            }
            return None;
        };
        if self.text.get(head.range()) == Some("use")
            && let Some(fault) = slip::bare_path(self.table, self.text, rest.clone())
        {
            let args = self.plain_arguments(slice, head, rest);
            if self.faults.len() > found {
                self.faults.truncate(found);
                self.faults.push(fault);
            }
            return args;
        }
        self.plain_arguments(slice, head, rest)
    }

    fn plain_arguments(&mut self, slice: &Slice, head: Span, rest: Range<usize>) -> Option<Vec<Arg>> {
        let found = self.faults.len();
        self.faults.extend(slip::after_head(self.table, head, rest.clone()));
        self.wrong_tokens(rest.clone());
        self.faults.extend(slip::within(
            self.table,
            self.text,
            rest.clone(),
            self.text.get(head.range()) == Some("expect"),
        ));
        if self.faults.len() == found
            && let Some(open) = slice.open_bracket
        {
            self.faults.push(fault::bracket(self.table, open));
        }
        if self.faults.len() == found && self.is_too_long(rest.clone()) {
            self.faults.push(fault::too_long(self.table.cover(slice.tokens.clone())));
        }
        if self.faults.len() > found {
            return None;
        }
        let form = self.form(head);
        self.fast(form, rest.clone()).or_else(|| self.slow(form, rest))
    }

    /// How the arguments of an entry with this head read.
    fn form(&self, head: Span) -> Form {
        match self.text.get(head.range()) {
            Some("accept") => Form::Rule,
            Some("expect") => Form::Figures,
            _ => Form::Plain,
        }
    }

    /// What is wrong with a block that has no entry, if all that is wrong is a line break.
    fn block_apart(&self, open: usize) -> Option<Diagnostic> {
        let before = open.checked_sub(1).filter(|_| self.table.indent(open).is_some())?;
        let (last, span) = (self.table.kinds()[before], self.table.span(open));
        let comments = self.table.comments();
        let next = comments.partition_point(|comment| (comment.before as usize) < open);
        let comment = comments.get(next).is_some_and(|comment| comment.before as usize == open);
        let entry = !comment && !matches!(last, Kind::OpenBrace | Kind::CloseBrace | Kind::Comma | Kind::OpenText);
        entry.then(|| fault::block_apart(self.table.span(before), span))
    }

    /// The arguments, if nothing is wrong with them.
    fn fast(&mut self, form: Form, tokens: Range<usize>) -> Option<Vec<Arg>> {
        let kinds = &self.table.kinds()[tokens.clone()];
        let place = Place { table: self.table, first: tokens.start };
        self.args.clear();
        Descent::new(kinds, place, form).arguments(form, &mut self.args)?;
        Some(self.args.drain(..).collect())
    }

    /// The same, and what is wrong.
    fn slow(&mut self, form: Form, tokens: Range<usize>) -> Option<Vec<Arg>> {
        let kinds = &self.table.kinds()[tokens.clone()];
        let mut place = SimpleState(Place { table: self.table, first: tokens.start });
        let parser = grammar::arguments(form);
        let (args, errors) = parser.parse_with_state(kinds, &mut place).into_output_errors();
        let Some(error) = errors.first() else { return args };
        self.faults.push(fault::malformed(self.table, tokens.start, tokens.len(), error, self.text));
        None
    }

    fn wrong_tokens(&mut self, tokens: Range<usize>) {
        for index in tokens.clone() {
            let (kind, span) = (self.table.kinds()[index], self.table.span(index));
            let text = self.text.get(span.range()).unwrap_or("");
            let last = index + 1 == tokens.end && !self.stays_on_line(index);
            self.faults.extend(fault::wrong_token(kind, span, text, last));
            if kind == Kind::Text {
                self.faults.extend(wrong_escape(span, text));
            }
        }
    }

    /// Whether another token follows on the same line that begins something.
    fn stays_on_line(&self, index: usize) -> bool {
        let next = self.table.kinds().get(index + 1);
        next.is_some_and(|kind| *kind != Kind::CloseBrace) && self.table.indent(index + 1).is_none()
    }

    fn is_too_long(&self, tokens: Range<usize>) -> bool {
        let (mut depth, mut deepest, mut operators) = (0_usize, 0, 0);
        for kind in &self.table.kinds()[tokens] {
            match kind {
                Kind::OpenParen | Kind::CallParen | Kind::OpenBracket | Kind::IndexBracket => depth += 1,
                Kind::CloseParen | Kind::CloseBracket => depth = depth.saturating_sub(1),
                kind if kind.wants_more() || *kind == Kind::If => operators += 1,
                _ => {}
            }
            deepest = deepest.max(depth);
        }
        deepest > DEEPEST_BRACKETS || operators > MOST_OPERATORS
    }

    /// The words of an entry that could not be read: enough to know what it names.
    fn salvage(&self, tokens: Range<usize>) -> Vec<Arg> {
        let words = tokens.filter(|index| self.table.kinds()[*index].is_word());
        words
            .map(|index| {
                let span = self.table.span(index);
                if self.table.kinds()[index].is_reserved() {
                    return Arg::Word(span);
                }
                Arg::Expr(Expr::word(span))
            })
            .collect()
    }

    /// Takes the doc comment that stands above the token.
    fn doc(&mut self, token: usize) -> Option<Span> {
        let lowest = self.table.before_commas(token);
        let from = self.docs.partition_point(|doc| doc.0 < lowest);
        let above = self.docs[from..].iter_mut().take_while(|doc| doc.0 <= token).filter(|doc| !doc.2);
        above.fold(None, |all: Option<Span>, doc| {
            doc.2 = true;
            Some(all.map_or(doc.1, |all| all.to(doc.1)))
        })
    }
}

fn wrong_escape(span: Span, text: &str) -> Option<Diagnostic> {
    let mut escaped = false;
    for (at, character) in text.char_indices() {
        if escaped && !matches!(character, '"' | '\\') {
            let start = span.start + u32::try_from(at).unwrap_or(0) - 1;
            let end = start + 1 + u32::try_from(character.len_utf8()).unwrap_or(1);
            return Some(fault::escape(Span::new(span.file, start, end)));
        }
        escaped = !escaped && character == '\\';
    }
    None
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{prop_assert_eq, proptest};
    use proptest::sample::select;

    use super::{Form, Parsed, Reader, parse};
    use crate::syntax::{Entry, TokenTable};
    use crate::text::FileId;

    fn read(text: &str) -> Parsed {
        parse(FileId(0), text)
    }

    fn names(text: &str) -> Vec<String> {
        read(text).faults.iter().map(|fault| format!("{:?}", fault.subject)).collect()
    }

    /// What each of the two grammars makes of a text as the arguments of an entry.
    fn both(text: &str, form: Form) -> (String, String, usize) {
        let table = TokenTable::new(FileId(0), text);
        let mut reader = Reader::new(&table, text);
        let fast = reader.fast(form, 0..table.len());
        let slow = reader.slow(form, 0..table.len());
        let faults = reader.faults.len();
        (format!("{fast:?}"), format!("{slow:?}"), faults)
    }

    const TOKENS: [&str; 40] = [
        "3",
        "3 mm",
        "1/8",
        "1 1/2 in",
        "W",
        "/",
        "(m K)",
        "%",
        "+1/-2",
        "-",
        "+",
        "*",
        "^",
        "±",
        "..",
        "<",
        "==",
        "=",
        "if",
        "then",
        "else",
        "x",
        "x(",
        "x[",
        "(",
        ")",
        "[",
        "]",
        ",",
        ":",
        ".",
        "\"a\"",
        "2027-06-30",
        "within",
        "none",
        "a.b",
        "x[1].y",
        "2.tolerance",
        "-3",
        "°C",
    ];

    proptest! {
        /// Reporting what is wrong must not change what is right.
        #[test]
        fn both_grammars_read_alike(
            tokens in proptest::collection::vec(select(TOKENS.to_vec()), 0..9),
            form in select(vec![Form::Plain, Form::Rule, Form::Figures]),
        ) {
            let (fast, slow, faults) = both(&tokens.join(" "), form);
            prop_assert_eq!(&fast, &slow);
            prop_assert_eq!(fast == "None", faults > 0);
        }
    }

    #[test]
    fn both_grammars_read_real_entries_alike() {
        let entries = [
            ("0..120 deg", Form::Plain),
            ("[2.86 mm, 2.88 mm,]", Form::Plain),
            ("up 90 deg within 1 deg radius 6 mm as front", Form::Plain),
            ("tall = (height - 2 * sin(30 deg)) ^ 2 / 3", Form::Plain),
            ("uncalibrated-heater because \"trial strips\" until 2027-06-30", Form::Rule),
            ("if bend lip.window.low <= 3 s then leg 2.tolerance else rib[2].crest", Form::Figures),
        ];
        for (text, form) in entries {
            let (fast, slow, faults) = both(text, form);
            assert_eq!((fast.as_str(), faults), (slow.as_str(), 0), "{text}");
            assert!(fast.starts_with("Some("), "{text}");
        }
    }

    #[test]
    fn a_fault_in_one_entry_leaves_the_others_alone() {
        let text = "sheet a {\n  size [1 mm\n  gap 3\"\n  name \"x\n  colour clear\n}\nlet b = 1 +\nlet c = 2\n";
        let errors = ["unclosed-bracket", "drawing-mark", "unclosed-text", "unfinished-entry"];
        assert_eq!(names(text), errors.map(|name| format!("Error({name:?})")));
        let tree = read(text).tree;
        assert_eq!(tree.entries.len(), 3);
        let broken: Vec<bool> = tree.entries[0].inner().iter().map(Entry::broken).collect();
        assert_eq!(broken, [true, true, true, false]);
    }

    #[test]
    fn a_block_on_the_next_line_is_put_where_it_belongs() {
        let text = "bench north\n{\n}\n";
        let parsed = read(text);
        assert_eq!(names(text), ["Error(\"block-apart\")"]);
        let change = &parsed.faults[0].edits[0].changes[0];
        let mended =
            format!("{}{}{}", &text[..change.span.start as usize], change.text, &text[change.span.end as usize..]);
        assert_eq!(mended, "bench north {\n}\n");
        assert_eq!(names("bench north # note\n{\n}\n"), ["Error(\"headless-entry\")"]);
    }

    #[test]
    fn a_doc_comment_belongs_to_the_entry_below() {
        let docs = |text: &str| {
            let parsed = read(text);
            let doc = parsed.tree.entries.last().and_then(Entry::doc);
            (doc.map(|doc| text[doc.range()].to_owned()), parsed.tree.idle_docs.len())
        };
        assert_eq!(docs("## a\n## b\nx 1\n"), (Some("## a\n## b".to_owned()), 0));
        assert_eq!(docs("y 2,\n## a\n, x 1\n"), (Some("## a".to_owned()), 0));
        assert_eq!(docs("y 2 ## a\nx 1\n"), (None, 1));
        assert_eq!(docs("x 1\n## a\n"), (None, 1));
    }
}
